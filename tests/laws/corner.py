"""A corner kitchen for the laws over weeks: two to four recipes, what they are made of, a site and what it sells.

Responsible for the body of its import, small enough that a failing week can be read. Refuses to know what happens there.
"""

from dataclasses import dataclass
from decimal import Decimal

from tests.laws.dice import Dice
from tests.laws.measures import Document

SITE = "corner"
RECIPES = ("plate", "soup", "stock", "base")
KEEPS = ("P0D", "P1D", "P2D", "P3D", "PT20H", "PT30H")
PERIODS = ({"code": "lunch", "name": "Lunch", "ready_by": "12:00"}, {"code": "supper", "name": "Supper", "ready_by": "00:30"})
UNITS = {"mass": "kg", "volume": "L", "count": "each"}


@dataclass(frozen=True)
class Corner:
    """The body of its import, what can be counted there with the unit of each, and the codes of its dishes and periods."""

    body: Document
    countable: tuple[tuple[Document, str], ...]
    dishes: tuple[str, ...]
    periods: tuple[str, ...]


def open_corner(dice: Dice) -> Corner:
    """A kitchen whose recipes call only those after them."""
    ingredients = [_onion(dice), _hen(dice), *({"code": code, "name": code.title(), "kind": "mass"} for code in ("peel", "fat"))]
    for gift in ingredients[2:]:
        gift["keeps"] = dice.pick(None, "P0D", "P1D", "PT30H")
    kinds = {code: dice.pick("volume", "volume", "count") for code in RECIPES[: dice.number(2, 4)]}
    recipes = [_recipe(dice, code, kinds) for code in kinds]
    sold = list(kinds)[:2]
    periods = PERIODS[: dice.number(1, 2)]
    things: list[tuple[Document, str]] = [({"recipe": code}, UNITS[kind]) for code, kind in kinds.items()]
    things += [({"ingredient": each["code"]}, "kg") for each in ingredients]
    things += [({"ingredient": each["code"], "form": form["code"]}, "kg") for each in ingredients[:2] for form in each["forms"]]
    body: Document = {
        "stations": [{"code": code, "name": code.title(), "position": place} for place, code in enumerate(("hot", "veg"))],
        "ingredients": ingredients,
        "recipes": recipes,
        "menu_items": [
            {
                "code": f"dish-{code}",
                "name": f"Dish of {code}",
                "components": [{"recipe": code, "quantity": _portion(kinds[code]), "uptake": dice.pick(1, Decimal("0.5"))}],
            }
            for code in sold
        ],
        "sites": [
            {
                "code": SITE,
                "name": "Corner",
                "time_zone": dice.pick("UTC", "America/New_York"),
                "periods": list(periods),
                "buffer": dice.pick(0, Decimal("0.1")),
                "pars": [_par(dice, kinds) for _ in range(dice.pick(0, 0, 1))],
            }
        ],
    }
    return Corner(body, tuple(things), tuple(f"dish-{code}" for code in sold), tuple(str(each["code"]) for each in periods))


def _onion(dice: Dice) -> Document:
    """An ingredient with one form, and perhaps trimmings; it may come frozen."""
    dice_form = {
        "code": "dice",
        "name": "dice",
        "station": "veg",
        "trim_yield": Decimal("0.8"),
        "keeps": dice.pick(*KEEPS),
        "makes_for": dice.pick(1, 2),
        "lead": dice.pick("PT1H", "PT12H"),
        "by_products": [{"ingredient": "peel", "fraction": Decimal("0.1")}] if dice.chance(40) else [],
    }
    onion: Document = {"code": "onion", "name": "Onion", "kind": "mass", "forms": [dice_form]}
    return onion | {"keeps": dice.pick(None, "P0D", "P2D"), "thaw": dice.pick(None, None, "PT8H", "P1D")}


def _hen(dice: Dice) -> Document:
    """Two forms of one cut, perhaps in whole pieces."""
    whole, makes_for = dice.chance(50), dice.pick(1, 2)
    forms = [
        {
            "code": code,
            "name": code,
            "station": "veg",
            "trim_yield": trim_yield,
            "cut": "joint",
            "whole": whole,
            "keeps": dice.pick(*KEEPS),
            "makes_for": makes_for,
        }
        for code, trim_yield in (("breast", Decimal("0.3")), ("leg", Decimal("0.4")))
    ]
    return {"code": "hen", "name": "Hen", "kind": "mass", "piece": {"amount": 2, "unit": "kg"}, "forms": forms}


def _recipe(dice: Dice, code: str, kinds: dict[str, str]) -> Document:
    """A recipe of 10 of its units: of some of the larder, and of recipes after it."""
    later = list(kinds)[list(kinds).index(code) + 1 :]
    steps = [{"text": "Begin.", "active": "PT10M", "passive": dice.pick("PT50M", "PT14H", "P1D")}]
    if dice.chance(50):
        steps.append({"text": "End.", "active": "PT20M", "station": "veg"})
    larder = dice.some(
        [
            {"ingredient": "onion", "form": "dice"},
            {"ingredient": "onion"},
            {"ingredient": "hen", "form": "breast"},
            {"ingredient": "hen", "form": "leg"},
            {"ingredient": "peel"},
            {"ingredient": "fat"},
        ],
        1,
        2,
    )
    lines: list[Document] = [{"item": item, "quantity": {"amount": dice.pick(1, 2), "unit": "kg"}} for item in larder]
    lines += [
        {"item": {"recipe": other}, "quantity": {"amount": dice.pick(4, 8), "unit": UNITS[kinds[other]]}}
        for other in dice.some(later, min(1, len(later)), 2)
    ]
    unit = UNITS[kinds[code]]
    return {
        "code": code,
        "title": code.title(),
        "station": "hot",
        "yield": {"amount": 10, "unit": unit},
        "portion": _portion(kinds[code]),
        "gains_water": True,
        "keeps": dice.pick(*KEEPS),
        "makes_for": dice.pick(1, 1, 2),
        "batch": dice.pick({}, {"smallest": {"amount": 10, "unit": unit}}, {"multiple": {"amount": 4, "unit": unit}}),
        "lines": [{**line, "step": dice.number(1, len(steps))} for line in lines],
        "steps": steps,
        "by_products": [{"ingredient": "fat", "quantity": {"amount": Decimal("0.5"), "unit": "kg"}}] if dice.chance(30) else [],
        "publish_from": "2026-01-01",
    }


def _portion(kind: str) -> Document:
    return {"amount": 1, "unit": "each"} if kind == "count" else {"amount": 250, "unit": "mL"}


def _par(dice: Dice, kinds: dict[str, str]) -> Document:
    code = dice.pick(*kinds)
    level = {"amount": dice.pick(2, 12), "unit": UNITS[kinds[code]]}
    return {
        "item": {"recipe": code},
        "level": level,
        "weekdays": dice.pick([1, 2, 3, 4, 5, 6, 7], [2, 4]),
        "by": dice.pick("09:00", "15:00"),
    }

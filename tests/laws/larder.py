"""The larder of a generated kitchen: ingredients with forms, cuts, trimmings and thaw times.

Responsible for ingredient documents and what recipes may call of them. Refuses to know recipes.
"""

from dataclasses import dataclass, field
from decimal import Decimal

from service.kitchen.measures.units import Kind
from tests.laws.dice import Dice
from tests.laws.measures import Document, Thing, equivalents, own_measure, quantity

STATIONS = ("veg", "butchery", "hot-line", "cold-line", "bakery")
KEEPS = (None, "P0D", "P1D", "P1D", "P2D", "P3D", "PT6H", "PT24H", "PT30H", "PT50H")
NAMES = ("leek", "rump", "hen", "egg", "cream", "meal", "plum")
PIECE: dict[Kind, float] = {"mass": 2900.0, "volume": 1500.0, "count": 1.0}
TRIM_YIELDS = (Decimal("0.88"), Decimal("0.9"), Decimal("0.75"), Decimal("0.62"), Decimal(1))
CUT_YIELDS = (Decimal("0.3"), Decimal("0.25"), Decimal("0.5"))


@dataclass
class Larder:
    """Ingredients by code; ``things`` are what lines may call, ``gifts`` what trimming and cooking give."""

    ingredients: dict[str, Document] = field(default_factory=dict)
    things: list[Thing] = field(default_factory=list)
    gifts: list[Thing] = field(default_factory=list)


def stock_larder(dice: Dice) -> Larder:
    """Two to four ingredients, most with forms."""
    larder = Larder()
    for code in dice.some(NAMES, 2, 4):
        _add_ingredient(dice, larder, code)
    return larder


def add_gift(dice: Dice, larder: Larder, code: str, kind: Kind) -> Thing:
    """An ingredient that comes as a by-product, kept in a kind."""
    stated, ratios = equivalents(dice, kind)
    larder.ingredients[code] = {
        "name": code.title(),
        "kind": kind,
        "equivalents": stated,
        "keeps": dice.pick(None, None, "P0D", "P2D", "PT30H"),
    }
    thing = Thing({"ingredient": code}, kind, ratios)
    larder.gifts.append(thing)
    if dice.chance(25):
        form = {"code": "chopped", "name": "Chopped", "station": "butchery", "trim_yield": Decimal("0.9"), "keeps": dice.pick(*KEEPS)}
        larder.ingredients[code]["forms"] = [form]
        larder.things.append(Thing({"ingredient": code, "form": "chopped"}, kind, ratios))
    return thing


def _add_ingredient(dice: Dice, larder: Larder, code: str) -> None:
    kind: Kind = dice.pick("mass", "mass", "mass", "volume", "count")
    stated, ratios = equivalents(dice, kind)
    measures = own_measure(dice, kind, stated)
    document: Document = {"name": code.title(), "kind": kind, "equivalents": stated, "forms": []}
    if dice.chance(35):
        document["thaw"] = dice.pick("PT8H", "P1D", "P2D")
    if dice.chance(25):
        document["keeps"] = dice.pick("P0D", "P1D", "P3D", "PT20H")
    larder.ingredients[code] = document
    whole = Thing({"ingredient": code}, kind, ratios, measures)
    larder.things.append(whole)
    if dice.chance(75):
        _add_forms(dice, larder, code, whole)


def _add_forms(dice: Dice, larder: Larder, code: str, thing: Thing) -> None:
    """Forms of their own, or forms of one cut; the ones before leave room for those after (Y2, Y7)."""
    document = larder.ingredients[code]
    cut = dice.chance(45)
    names = ("breast", "leg", "wing")[: dice.number(2, 3)] if cut else ("diced", "sliced")[: dice.number(1, 2)]
    pieces = dice.chance(50)
    room = Decimal(1)
    for name in names:
        trim_yield = dice.pick(*CUT_YIELDS) if cut else dice.pick(*TRIM_YIELDS)
        if cut and trim_yield > room:
            break
        left = (room if cut else Decimal(1)) - trim_yield
        form = _form(dice, name, trim_yield, thing, cut=cut)
        if pieces and dice.chance(60):
            form["whole"] = True
            document["piece"] = quantity(PIECE[thing.kind], thing.kind)
        if left >= Decimal("0.1") and dice.chance(60):
            fraction = dice.pick(Decimal("0.08"), Decimal("0.05"), Decimal("0.1"))
            form["by_products"] = [{"ingredient": _trim(dice, larder, code, thing), "fraction": fraction}]
            left -= fraction
        if cut:
            room = left
        document["forms"].append(form)
        larder.things.append(Thing({"ingredient": code, "form": name}, thing.kind, _form_ratios(form, thing), thing.measures))


def _form(dice: Dice, name: str, trim_yield: Decimal, thing: Thing, *, cut: bool) -> Document:
    form: Document = {
        "code": name,
        "name": name.title(),
        "station": dice.pick(*STATIONS),
        "trim_yield": trim_yield,
        "cut": "joint" if cut else None,
        "keeps": dice.pick(*KEEPS),
        "makes_for": dice.pick(1, 1, 1, 2, 3),
    }
    if dice.chance(30):
        form["lead"] = dice.pick("PT30M", "PT8H", "P1D")
    if thing.kind == "mass" and dice.chance(25):
        form["equivalents"] = [{"a": {"amount": 1, "unit": "cup"}, "b": {"amount": 130, "unit": "g"}}]
    if dice.chance(50):
        form["active"] = {"set_up": "PT5M", "per": quantity(PIECE[thing.kind], thing.kind), "time": dice.pick("PT6M", "PT2H")}
    return form


def _form_ratios(form: Document, thing: Thing) -> dict[Kind, float]:
    """What a form's quantities cross to: its own pair goes before the ingredient's."""
    return {**thing.ratios, "volume": 236.5882365 / 130} if "equivalents" in form else thing.ratios


def _trim(dice: Dice, larder: Larder, code: str, giver: Thing) -> str:
    """The by-product of an ingredient's forms, kept in a kind that the ingredient crosses to."""
    trim = f"{code}-trim"
    if trim not in larder.ingredients:
        add_gift(dice, larder, trim, dice.pick(giver.kind, giver.kind, *sorted(giver.ratios)))
    return trim

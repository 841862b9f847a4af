"""The worst catalogues: as deep, as wide, as finely divided and as often changed as the limits let them be.

Responsible for bodies that the interface takes. Refuses to know what is asked of them.
"""

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any

from service.limits import COMPONENTS, LINES, PERIODS, RECIPE_DEPTH

Document = dict[str, Any]

START = date(2026, 12, 2)
SITE = "s-0"
TURNS = (("Early", "05:00", "07:30"), ("Late", "12:00", "14:30"), ("Night", "22:00", "01:00"))
LEAF = "leaf"
FLOUR = "flour"


def grams(amount: float) -> Document:
    """So many grams."""
    return {"amount": round(amount, 9), "unit": "g"}


def calling(kind: str, code: str, amount: float) -> Document:
    """A line that takes so many grams of an ingredient or a recipe."""
    return {"item": {kind: code}, "quantity": grams(amount), "step": 1}


def recipe(code: str, lines: list[Document], **more: Any) -> Document:
    """A recipe of a kilo, published a month ago."""
    return {
        "code": code,
        "title": code,
        "station": "st",
        "yield": grams(1000),
        "gains_water": True,
        "keeps": "P2D",
        "steps": [{"text": "Do.", "active": "PT5M"}],
        "lines": lines,
        "publish_from": str(START - timedelta(30)),
        **more,
    }


def group(recipes: list[Document], tops: list[str], ingredients: Iterable[Document] = (), menu_items: int = 1, sites: int = 1) -> Document:
    """A catalogue of some recipes, with one that takes flour alone; each menu item sells as many of the topmost as one may."""
    periods = [{"code": f"p-{hour}", "name": str(hour), "ready_by": f"{8 + hour:02}:00"} for hour in range(PERIODS)]
    return {
        "stations": [{"code": "st", "name": "Station", "position": 1}],
        "ingredients": [{"code": FLOUR, "name": "Flour", "kind": "mass", "contains": ["wheat"]}, *ingredients],
        "recipes": [*recipes, recipe(LEAF, [calling("ingredient", FLOUR, 1000)])],
        "menu_items": [
            {
                "code": f"m-{number}",
                "name": f"Dish {number}",
                "components": [{"recipe": code, "quantity": grams(100)} for code in dict.fromkeys(cycled(tops, number * COMPONENTS))],
            }
            for number in range(menu_items)
        ],
        "sites": [
            {"code": f"s-{number}", "name": f"Site {number}", "time_zone": "America/Chicago", "day_starts": "03:00", "periods": periods}
            for number in range(sites)
        ],
    }


def cycled(tops: list[str], first: int) -> Iterable[str]:
    """As many recipes as a menu item may sell, from one of them on."""
    return (tops[(first + number) % len(tops)] for number in range(COMPONENTS))


def diamond(width: int) -> Document:
    """As deep as recipes may stand, each on all of the level below: more paths than could ever be walked.

    Each asks for more than it yields, so that what a path asks for stays within numbers at the lowest level.
    """
    levels = RECIPE_DEPTH - 1
    codes = [[f"r-{level}-{number}" for number in range(width)] for level in range(levels)]
    below = [*codes[1:], [LEAF]]
    made = [
        recipe(code, [calling("recipe", part, 1000 / min(len(parts), 6)) for part in parts])
        for level, parts in zip(codes, below, strict=True)
        for code in level
    ]
    return group(made, codes[0])


def deep(chains: int) -> Document:
    """Many recipes that each stand as deep as one may, beside each other."""
    made = [
        recipe(f"r-{chain}-{level}", [calling("recipe", f"r-{chain}-{level + 1}" if level + 2 < RECIPE_DEPTH else LEAF, 900)])
        for chain in range(chains)
        for level in range(RECIPE_DEPTH - 1)
    ]
    return group(made, [f"r-{chain}-0" for chain in range(chains)], menu_items=max(1, chains // COMPONENTS))


def wide(recipes: int) -> Document:
    """Recipes of as many lines as one may have, of ingredients of their own."""
    ingredients = [{"code": f"i-{number}", "name": f"I {number}", "kind": "mass"} for number in range(5 * LINES)]
    numbers = [[(7 * code + 3 * line) % len(ingredients) for line in range(LINES - 1)] for code in range(recipes)]
    lines = [[calling("ingredient", f"i-{number}", 5) for number in each] for each in numbers]
    made = [recipe(f"r-{code}", [*each, calling("recipe", LEAF, 5)]) for code, each in enumerate(lines)]
    return group(made, [each["code"] for each in made], ingredients, menu_items=max(1, recipes // COMPONENTS))


def tiny(recipes: int) -> Document:
    """The smallest batches, level upon level of them: each takes three of the next."""
    rule = {"largest": grams(1e-9), "split": "full"}
    parts = [*(f"r-{level}" for level in range(1, recipes)), LEAF]
    made = [recipe(f"r-{level}", [calling("recipe", part, 3000)], batch=rule) for level, part in enumerate(parts)]
    return group(made, ["r-0"])


def places(sites: int) -> Document:
    """As many sites as there may be versions of one recipe for; their versions are published one by one."""
    made = [recipe(f"r-{number}", [calling("recipe", LEAF, 500)]) for number in range(COMPONENTS)]
    return group(made, [each["code"] for each in made], sites=sites)


def crowded(batches: int) -> Document:
    """Far more loads than one cook and one oven have hours for, as deep as recipes may stand: hardly one finds a place.

    A million guests each period take so many batches of the topmost recipe, each of them a load.
    """
    body = deep(1)
    rest = {"min": "PT10M", "target": "PT20M", "max": "PT4H"}
    for each in body["recipes"]:
        each["batch"] = {"largest": {"amount": round(PERIODS * 100_000 / batches, 3), "unit": "kg"}, "split": "full"}
        each["steps"] = [
            {"text": "Do.", "active": "PT5M", "passive": rest, "equipment": "oven"},
            {"text": "Turn.", "active": "PT5M", "passive": rest},
            {"text": "Finish.", "active": "PT5M", "passive": "PT30M", "equipment": "oven"},
        ]
        for line in each["lines"]:
            line["quantity"] = grams(300)
    body["equipment"] = [{"code": "oven", "name": "Oven", "position": 1}]
    body["sites"][0] |= {
        "equipment": [{"equipment": "oven", "count": 1, "load": [], "turn_round": "PT10M", "shared": False}],
        "shifts": [
            {"name": name, "stations": ["st"], "weekdays": [*range(1, 8)], "from": at, "until": until, "cooks": 1}
            for name, at, until in TURNS
        ],
    }
    return body


SHAPES: dict[str, Callable[[int], Document]] = {
    "diamond": diamond,
    "deep": deep,
    "wide": wide,
    "tiny": tiny,
    "places": places,
    "crowded": crowded,
}
# What one import can hold of each; of the last, what one list can schedule.
LARGEST = {"diamond": 75, "deep": 1000, "wide": 450, "tiny": 15, "places": 200, "crowded": 180}

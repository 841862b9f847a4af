"""The cookbook of a generated kitchen: recipes that call the larder and each other, and their later versions.

Responsible for draft documents and when each is in force. Refuses to know sites' demand.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from service.kitchen.measures.units import Kind, factor
from tests.laws.dice import Dice
from tests.laws.larder import KEEPS, STATIONS, Larder, add_gift
from tests.laws.measures import PLAIN, USUAL, Document, Thing, equivalents, plain, quantity

TITLES = ("stock", "sauce", "dough", "filling", "soup", "pie", "salad", "plate")
YIELDS: dict[Kind, tuple[float, ...]] = {"mass": (1000.0, 2500.0, 8000.0), "volume": (1000.0, 5000.0, 20000.0), "count": (6.0, 10.0, 24.0)}
PORTIONS: dict[Kind, float] = {"mass": 150.0, "volume": 240.0, "count": 1.0}
CONCAVE = ([[1, 1], [2, 2], [10, 6]], [[1, 1], [3, Decimal("2.5")]], [[Decimal("0.5"), Decimal("0.7")], [1, 1], [2, Decimal("1.5")]])
CONVEX = [[1, 1], [2, Decimal("2.6")], [4, 7]]
LONG_AGO = timedelta(days=60)


@dataclass(frozen=True)
class Edition:
    """One version to publish: its draft, from when, and at which sites (None: all)."""

    draft: Document
    starts_on: date
    sites: tuple[str, ...] | None = None


@dataclass
class Cookbook:
    """Editions by recipe; ``things`` are the recipes that lines may call, ``kinds`` what each recipe makes."""

    editions: dict[str, list[Edition]] = field(default_factory=dict)
    things: list[Thing] = field(default_factory=list)
    kinds: dict[str, Kind] = field(default_factory=dict)


def write_cookbook(dice: Dice, larder: Larder, first: date, pilot: str, *, convex: bool) -> Cookbook:
    """Two to six recipes, each calling only what stands before it; ``convex`` allows tested points that bend upwards."""
    book = Cookbook()
    for code in TITLES[: dice.number(2, 6)]:
        _add_recipe(dice, larder, book, code, first, pilot, convex=convex)
    return book


def _add_recipe(dice: Dice, larder: Larder, book: Cookbook, code: str, first: date, pilot: str, *, convex: bool) -> None:
    kind: Kind = dice.pick("mass", "volume", "count", "mass")
    stated, ratios = equivalents(dice, kind)
    base = dice.pick(*YIELDS[kind])
    draft: Document = {
        "title": code.title(),
        "station": dice.pick(*STATIONS),
        "yield": _yield(dice, kind, base),
        "equivalents": stated,
        "gains_water": True,
        "keeps": dice.pick(*KEEPS),
        "makes_for": dice.pick(1, 1, 2, 3),
        "steps": _steps(dice),
        "batch": _batch(dice, kind, base),
    }
    if dice.chance(60):
        other = dice.pick(kind, *sorted(ratios))
        draft["portion"] = quantity(PORTIONS[kind] * ratios.get(other, 1.0), other)
    pantry = _pantry(dice, larder, book)
    draft["lines"] = _lines(dice, pantry, base / USUAL[kind], len(draft["steps"]), convex=convex)
    if dice.chance(30):
        given = add_gift(dice, larder, f"{code}-skim", dice.pick("mass", "volume"))
        share = 0.1 * base / USUAL[kind] * USUAL[given.kind]
        draft["by_products"] = [{"ingredient": f"{code}-skim", "quantity": quantity(share, given.kind)}]
    book.kinds[code] = kind
    if book.things and dice.chance(5):
        # Nothing is in force on the first date: such a recipe is sold, and called by no other.
        book.editions[code] = [Edition(draft, first + timedelta(days=1))]
        return
    book.editions[code] = [Edition(draft, first - LONG_AGO)]
    if dice.chance(40):
        sites = (pilot,) if dice.chance(25) else None
        later = _later(dice, draft, pantry, kind, base, convex=convex)
        book.editions[code].append(Edition(later, first + timedelta(days=dice.number(0, 4)), sites))
    book.things.append(Thing({"recipe": code}, kind, ratios))


def _later(dice: Dice, draft: Document, pantry: list[Thing], kind: Kind, base: float, *, convex: bool) -> Document:
    """The same recipe as it is cooked later."""
    steps = _steps(dice)
    later = {**draft, "steps": steps, "keeps": dice.pick(*KEEPS), "makes_for": dice.pick(1, 2)}
    later["lines"] = _lines(dice, pantry, base / USUAL[kind], len(steps), convex=convex)
    if "portion" in draft and dice.chance(50):
        amount = float(draft["portion"]["amount"])
        later["portion"] = {"amount": plain(amount * 1.2), "unit": draft["portion"]["unit"]}
    if dice.chance(25):
        later["batch"] = _batch(dice, kind, base)
    return later


def _yield(dice: Dice, kind: Kind, base: float) -> Document:
    unit = dice.pick(*{"mass": ("g", "kg", "lb"), "volume": ("mL", "L", "quart"), "count": ("each", "each", "dozen")}[kind])
    return {"amount": plain(base / float(factor(unit))), "unit": unit}


def _steps(dice: Dice) -> list[Document]:
    steps = []
    for _ in range(dice.pick(1, 0, 1, 2, 2, 3)):
        step: Document = {"text": "Do.", "active": dice.pick("PT5M", "PT15M", "PT40M")}
        if dice.chance(50):
            step["passive"] = dice.pick("PT30M", "PT2H", "PT9H", "PT18H", "P1D")
        elif dice.chance(30):
            step["passive"] = {"min": "PT8H", "target": "PT12H", "max": "P1D"}
        if dice.chance(45):
            step["station"] = dice.pick(*STATIONS)
        steps.append(step)
    return steps


def _batch(dice: Dice, kind: Kind, base: float) -> Document:
    """A batch rule with multiple ≤ smallest ≤ largest, smallest in whole multiples (S3)."""
    rule: Document = {"split": dice.pick("equal", "equal", "full")}
    unit = PLAIN[kind]
    multiple = None
    if dice.chance(40):
        multiple = dice.pick(2, 6, 12) if kind == "count" else int(base / dice.pick(4, 2))
        rule["multiple"] = {"amount": multiple, "unit": unit}
    step = multiple or (1 if kind == "count" else None)
    smallest = None
    if dice.chance(45):
        smallest = step * dice.number(1, 2) if step else int(base / dice.pick(4, 2))
        rule["smallest"] = {"amount": smallest, "unit": unit}
    if dice.chance(65):
        least = max(smallest or 0, step or 0, base / 2)
        rule["largest"] = {"amount": int(least * dice.pick(1, 1.3, 2, 2.25)) + 1, "unit": unit}
    return rule


def _pantry(dice: Dice, larder: Larder, book: Cookbook) -> list[Thing]:
    """What the lines of one recipe call: some of the larder, often an earlier recipe, often what another one gives."""
    pantry = dice.some(larder.things, 1, 3)
    if book.things and dice.chance(70):
        pantry += dice.some(book.things, 1, 2)
    if larder.gifts and dice.chance(55):
        pantry += dice.some(larder.gifts, 1, 1)
    return pantry


def _lines(dice: Dice, pantry: list[Thing], size: float, steps: int, *, convex: bool) -> list[Document]:
    lines: list[Document] = []
    for thing in pantry:
        share = dice.between(0.1, 0.5) * size
        line: Document = {"item": thing.item, "quantity": thing.quantity(dice, share * USUAL[thing.kind])}
        if steps and dice.chance(70):
            line["step"] = dice.number(1, steps)
        bases = [
            number
            for number, (other, before) in enumerate(zip(pantry, lines, strict=False), 1)
            if other.weighed and "scaling" not in before
        ]
        line |= _scaling(dice, bases if thing.weighed else [], convex=convex)
        if line.get("scaling", {}).get("rule") == "percent":
            line["quantity"] = {"amount": dice.pick(10, Decimal("1.8"), 25), "unit": "percent"}
        lines.append(line)
    return lines


def _scaling(dice: Dice, bases: list[int], *, convex: bool) -> Document:
    """How a line follows the batch: linear mostly, a percentage of earlier lines where they weigh something (S2)."""
    if bases and dice.chance(30):
        return {"scaling": {"rule": "percent", "of": sorted(dice.some(bases, 1, len(bases)))}}
    roll = dice.number(1, 100)
    if roll <= 55:
        return {}
    if roll <= 65:
        return {"critical": True}
    if roll <= 76:
        return {"scaling": {"rule": "per_batch"}}
    if roll <= 88:
        return {"scaling": {"rule": "power", "exponent": dice.pick(Decimal("0.585"), Decimal("0.5"), Decimal("0.8"), 1)}}
    return {"scaling": {"rule": "tested", "points": dice.pick(*CONCAVE, *([CONVEX] if convex else []))}}

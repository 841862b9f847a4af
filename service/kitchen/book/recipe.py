"""Recipe versions: yield, lines, steps, scaling rules and batch rules.

Responsible for the values that one published state of a recipe consists of and for how a line's
quantity follows the batch (domain S1, S2). Refuses to know other recipes, sites and dates in force, and a step's times.
"""

from collections.abc import KeysView
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import Any

from service.errors import KitchenError
from service.kitchen.book.ingredient import read_equivalents, read_quantity
from service.kitchen.book.item import Item
from service.kitchen.book.json import Document
from service.kitchen.book.step import Step, read_step, timed
from service.kitchen.measures.batches import BatchSizes
from service.kitchen.measures.calendar import ZERO, Keeps, parse_duration
from service.kitchen.measures.equivalents import Conversions, Equivalent
from service.kitchen.measures.units import ONE_EACH, Kind, Quantity


@dataclass(frozen=True, slots=True)
class Scaling:
    """How a line's quantity follows the batch factor (S2)."""

    rule: str = "linear"
    exponent: float = 1.0
    points: tuple[tuple[float, float], ...] = ()
    of: tuple[int, ...] = ()

    def multiple(self, factor: float) -> float:
        """What the authored quantity is multiplied by in a batch of that factor (S2).

        >>> Scaling("tested", points=((1, 1), (2, 2), (10, 6))).multiple(6)
        4.0
        >>> Scaling("per_batch").multiple(7)
        1.0
        """
        if self.rule == "per_batch":
            return 1.0
        if self.rule == "power":
            return float(factor**self.exponent)
        if self.rule == "tested":
            return self._tested(factor)
        return factor

    def beyond(self, factor: float) -> bool:
        """Whether a batch of that factor lies beyond what the kitchen tested (S2)."""
        return self.rule == "tested" and factor > self.points[-1][0] * (1 + 1e-9)

    @property
    def steep(self) -> bool:
        """Whether some tested stretch rises faster than the one before it, so that fewer, larger batches take more (S2)."""
        knots = ((0.0, 0.0), *self.points)
        slopes = [(y1 - y0) / (x1 - x0) for (x0, y0), (x1, y1) in pairwise(knots)]
        return any(later > earlier for earlier, later in pairwise(slopes))

    def _tested(self, factor: float) -> float:
        # Nothing takes nothing, and beyond the last point the last slope goes on.
        knots = ((0.0, 0.0), *self.points)
        last = len(knots) - 1
        upper = next((i for i in range(1, last) if factor <= knots[i][0]), last)
        (x0, y0), (x1, y1) = knots[upper - 1], knots[upper]
        return y0 + (y1 - y0) * (factor - x0) / (x1 - x0)


LINEAR = Scaling()


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a recipe: an item and how much of it an authored batch takes."""

    item: Item
    quantity: Quantity
    scaling: Scaling
    step: int | None
    critical: bool
    note: str


@dataclass(frozen=True, slots=True)
class BatchRule:
    """Which batches a run of the recipe is made in (S3)."""

    multiple: Quantity | None
    smallest: Quantity | None
    largest: Quantity | None
    split: str


# Told apart as objects: a version is read once, and is a key of many tables.
@dataclass(frozen=True, eq=False, kw_only=True)
class Version:
    """One published, immutable state of a recipe, in force from a date at all sites or at some; ``hold`` as K14 has it."""

    recipe: str
    number: int
    starts_on: date
    sites: frozenset[str] | None
    withdrawn_from: date | None
    title: str
    station: str
    makes: Quantity
    portion: Quantity | None
    equivalents: tuple[Equivalent, ...]
    gains_water: bool
    keeps: Keeps
    makes_for: int
    batch: BatchRule
    lines: tuple[Line, ...]
    by_products: tuple[tuple[str, Quantity], ...]
    steps: tuple[Step, ...]
    ready_to_eat: bool = False
    storage: str | None = None
    keeps_reason: str | None = None
    keeps_stated: bool = True
    hold: timedelta | None = None

    @cached_property
    def item(self) -> Item:
        """The recipe as an item."""
        return Item.recipe(self.recipe)

    @cached_property
    def lead(self) -> timedelta:
        """The sum of the steps' durations, whatever the number of batches (T2)."""
        return sum((step.duration for step in self.steps), ZERO)

    @cached_property
    def last_cook(self) -> int:
        """The number of the last step that cooks, 0 where none does: what is put in later is combined cold (H2)."""
        return max((number for number, step in enumerate(self.steps, 1) if step.safety and step.safety["kind"] == "cook"), default=0)

    @property
    def served_hot(self) -> bool:
        """Whether the last of its steps that says what it keeps to leaves it hot."""
        kinds = [step.safety["kind"] for step in self.steps if step.safety]
        return bool(kinds) and kinds[-1] in ("cook", "reheat", "hold_hot")

    @property
    def kind(self) -> Kind:
        """The kind of the yield, which is the recipe's stock kind."""
        return self.conversions.stock_kind

    @cached_property
    def broken_yield(self) -> KitchenError | None:
        """Why the yield's unit has no kind, where that is so; such a version is never published."""
        try:
            self.loose_conversions.kind_of(self.makes.unit)
        except KitchenError as error:
            return error
        return None

    @cached_property
    def loose_conversions(self) -> Conversions:
        """The conversions without the yield's kind, for checking them."""
        return Conversions(self.recipe, [self.equivalents], "mass", self.portion)

    @cached_property
    def conversions(self) -> Conversions:
        """How quantities of what the recipe makes cross kinds; portions included, of what is counted each one (U2, U5, U6)."""
        kind = self.loose_conversions.kind_of(self.makes.unit)
        portion = ONE_EACH if self.portion is None and kind == "count" else self.portion
        return Conversions(self.recipe, [self.equivalents], kind, portion)

    @cached_property
    def calls(self) -> KeysView[Item]:
        """The recipes and ingredients that the lines name, a form by its ingredient, each once."""
        return dict.fromkeys(line.item if line.item.is_recipe else line.item.ingredient for line in self.lines).keys()

    @cached_property
    def own_sizes(self) -> BatchSizes:
        """The batch rule in the canonical unit of the yield; a count yield has a multiple of one unless it says so (S3).

        Raises KitchenError where a size does not convert.
        """
        multiple, smallest, largest = (
            None if quantity is None else float(self.conversions.to_stock(quantity))
            for quantity in (self.batch.multiple, self.batch.smallest, self.batch.largest)
        )
        if multiple is None and self.kind == "count":
            multiple = 1.0
        return BatchSizes(multiple, smallest, largest, self.batch.split)

    def applies_to(self, site: str | None) -> bool:
        """Whether the version was published for that site; without a site, whether for all."""
        return self.sites is None or (site is not None and site in self.sites)


def read_scaling(document: Document) -> Scaling:
    """A line's scaling rule from its document."""
    if document["rule"] == "linear":
        return LINEAR
    points = tuple((float(x), float(y)) for x, y in document.get("points") or ())
    exponent = float(document["exponent"]) if document.get("exponent") is not None else 1.0
    return Scaling(document["rule"], exponent, points, tuple(document.get("of") or ()))


def read_line(document: Document) -> Line:
    """A line from its document."""
    return Line(
        item=Item.read(document["item"]),
        quantity=Quantity.read(document["quantity"]),
        scaling=read_scaling(document["scaling"]),
        step=document["step"],
        critical=document["critical"],
        note=document["note"],
    )


def read_version(
    recipe: str,
    number: int,
    document: Document,
    starts_on: date,
    sites: frozenset[str] | None = None,
    withdrawn_from: date | None = None,
) -> Version:
    """A published version from the draft document it was made of."""
    batch: dict[str, Any] = dict(document["batch"])
    hold = document["hold"]
    version = Version(
        recipe=recipe,
        number=number,
        starts_on=starts_on,
        sites=sites,
        withdrawn_from=withdrawn_from,
        title=document["title"],
        station=document["station"],
        makes=Quantity.read(document["yield"]),
        portion=read_quantity(document["portion"]),
        equivalents=read_equivalents(document["equivalents"]),
        gains_water=document["gains_water"],
        keeps=Keeps.read(document["keeps"]),
        makes_for=int(document["makes_for"]),
        batch=BatchRule(
            read_quantity(batch["multiple"]), read_quantity(batch["smallest"]), read_quantity(batch["largest"]), batch["split"]
        ),
        lines=tuple(read_line(each) for each in document["lines"]),
        by_products=tuple((each["ingredient"], Quantity.read(each["quantity"])) for each in document["by_products"]),
        steps=tuple(read_step(each, document["station"]) for each in document["steps"]),
        ready_to_eat=document["ready_to_eat"],
        storage=document["storage"],
        keeps_reason=document["keeps_reason"],
        keeps_stated=document["keeps"] is not None,
        hold=None if hold is None else parse_duration(hold),
    )
    if version.broken_yield is not None or all(step.rate is None for step in version.steps):
        return version
    return replace(version, steps=tuple(timed(each, version.makes, version.conversions) for each in version.steps))


def share_of_mass(percent: Fraction, bases: Fraction) -> Fraction:
    """The mass that a percentage of the base lines' mass is (S2, baker's percentage).

    >>> share_of_mass(Fraction(67), Fraction(16747))
    Fraction(1122049, 100)
    """
    return percent * bases / 100

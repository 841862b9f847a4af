"""Equivalents: how an item's mass, volume and count relate, and the measures it names itself.

Responsible for crossing kinds by stated pairs (U5), for own measures (U6), and for finding pairs
that contradict each other. Refuses to know whose pairs they are: owners come as plain sequences,
the nearest first.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Final

from service.errors import MissingEquivalent, UnknownUnit, WrongKind
from service.kitchen.measures import units
from service.kitchen.measures.units import CANONICAL, KINDS, PERCENT, PORTION, TEMPERATURES, UNITS, Kind, Quantity

Size = tuple[Kind, Fraction]

TOLERANCE: Final = Fraction(1, 100)
ONE: Final = Fraction(1)
_SIZED: Final = frozenset(name for names in UNITS.values() for name in names)


@dataclass(frozen=True, slots=True)
class Equivalent:
    """A stated pair of one item, such as 1 cup = 125 g, with where it was found; raises WrongKind for a percentage or a temperature."""

    a: Quantity
    b: Quantity
    source: str | None = None

    def __post_init__(self) -> None:
        for side in (self.a, self.b):
            if side.unit == PERCENT or side.unit in TEMPERATURES:
                raise WrongKind(f"an equivalent is between quantities: {side} is none; write units such as g, mL, each or the item's own")

    def __str__(self) -> str:
        return f"{self.a} = {self.b}"


class Conversions:
    """What an item's units come to in g, mL and each (U5, U6).

    ``owners`` are the pairs of a form and then of its ingredient, or of a recipe alone. ``portion`` is the quantity
    that a recipe states for one portion; without it the unit ``portion`` is refused.

    >>> pairs = [Equivalent(Quantity.read({"amount": 1, "unit": "bunch"}), Quantity.read({"amount": 60, "unit": "g"}))]
    >>> Conversions("parsley", [pairs], "mass").to_stock(Quantity.read({"amount": "1/2", "unit": "bunch"}))
    Fraction(30, 1)
    """

    def __init__(self, item: str, owners: Sequence[Sequence[Equivalent]], stock_kind: Kind, portion: Quantity | None = None) -> None:
        self.item = item
        self.stock_kind: Kind = stock_kind
        self._portion = portion
        self._pairs = [pair for owner in owners for pair in owner]

    def kind_of(self, unit: str) -> Kind:
        """The kind that a canonical unit, an own measure or ``portion`` has for this item.

        Raises UnknownUnit, or WrongKind for percent, temperatures, and ``portion`` where none is stated (U2).
        """
        return self._size(unit)[0]

    def convert(self, quantity: Quantity, to: Kind) -> Fraction:
        """The quantity in canonical units of a kind (g, mL or each), exactly: by a direct pair before a chain (U5).

        Raises MissingEquivalent where no pairs lead there, else as ``kind_of`` does.
        """
        size, ratio = self._way(quantity.unit, to)
        return _times(_times(quantity.amount, size), ratio)

    def to_stock(self, quantity: Quantity) -> Fraction:
        """The quantity in canonical units of the item's stock kind; raises as ``convert`` does."""
        return self.convert(quantity, self.stock_kind)

    def check(self, unit: str, to: Kind | None = None) -> None:
        """Raise as ``convert`` does where a quantity of a unit does not come to a kind, the stock kind unless another is named."""
        self._way(unit, to or self.stock_kind)

    def crosses(self, kind: Kind, to: Kind) -> bool:
        """Whether quantities of one kind come to another's, by pairs where the kinds differ (U5)."""
        return kind == to or self._ratio(kind, to) is not None

    def undefined(self) -> tuple[str, ...]:
        """The own measures that pairs mention but that lead to no unit of the vocabulary, in the order of mention (U6)."""
        return tuple(name for name in self._own_names() if name not in self._sizes)

    def _own_names(self) -> list[str]:
        """Own measures in the order of mention, and ``portion``."""
        mentioned = [side.unit for pair in self._pairs for side in (pair.a, pair.b) if side.unit not in _SIZED]
        return list(dict.fromkeys([*mentioned, *([PORTION] if self._portion else [])]))

    @cached_property
    def _sizes(self) -> dict[str, Size]:
        """The sizes of own measures, of those that lead to a unit of the vocabulary."""
        found = {name: self._find_size(name, set()) for name in self._own_names()}
        return {name: size for name, size in found.items() if size is not None}

    def _way(self, unit: str, to: Kind) -> tuple[Fraction, Fraction]:
        """The canonical amount of one of the unit, and what one canonical unit of its kind is in another kind; raises as ``convert``."""
        kind, size = self._size(unit)
        ratio = ONE if kind == to else self._ratio(kind, to)
        if ratio is None:
            raise MissingEquivalent(self.item, kind, to)
        return size, ratio

    def _size(self, unit: str) -> Size:
        """Kind and canonical amount of one of the unit."""
        size = units.sizes().get(unit) or self._sizes.get(unit)
        if size is not None:
            return size
        if unit == PORTION:
            raise WrongKind(f"{self.item} states no portion: write a quantity such as 240 mL, or state the portion")
        if units.is_unit(unit):
            raise WrongKind(f"{unit} is no quantity of {self.item}: write a unit such as g, mL or each")
        advice = f"state it as an equivalent such as 1 {unit} = 60 g, or write a unit of the vocabulary"
        raise UnknownUnit(unit, f"{self.item} has no measure {unit!r}{units.meant(unit[: units.MISSPELT], tuple(self._sizes))}: {advice}")

    def _find_size(self, unit: str, seen: set[str]) -> Size | None:
        """The size by the first pair that leads to the vocabulary; a name already ``seen`` on the way leads nowhere."""
        if unit in _SIZED:
            return units.sizes()[unit]
        if unit in seen:
            return None
        seen.add(unit)
        for mine, other in self._definitions(unit):
            size = self._find_size(other.unit, seen)
            if size is not None:
                return size[0], other.amount * size[1] / mine
        return None

    def _definitions(self, unit: str) -> Iterator[tuple[Fraction, Quantity]]:
        """Amounts of the unit and what they equal, the likeliest meaning first.

        Of two own measures a pair defines the one it names first: "1 box = 2 tray" says what a box is, and tells of
        the tray only if nothing else does.
        """
        if unit == PORTION:
            if self._portion is not None:
                yield Fraction(1), self._portion
            return
        incidental = []
        for pair in self._pairs:
            if pair.a.unit == unit:
                yield pair.a.amount, pair.b
            elif pair.b.unit == unit and pair.a.unit in _SIZED:
                yield pair.b.amount, pair.a
            elif pair.b.unit == unit:
                incidental.append((pair.b.amount, pair.a))
        yield from incidental

    @cached_property
    def _ratios(self) -> dict[tuple[Kind, Kind], Fraction]:
        """Canonical units of the second kind in one of the first, by the first pair stated that joins the two."""
        ratios: dict[tuple[Kind, Kind], Fraction] = {}
        for pair in self._pairs:
            a, b = (self._find_size(side.unit, set()) if side.unit in _SIZED else self._sizes.get(side.unit) for side in (pair.a, pair.b))
            if a is None or b is None or a[0] == b[0]:
                continue
            ratio = _times(pair.b.amount, b[1]) / _times(pair.a.amount, a[1])
            ratios.setdefault((a[0], b[0]), ratio)
            ratios.setdefault((b[0], a[0]), 1 / ratio)
        return ratios

    def _ratio(self, kind: Kind, to: Kind) -> Fraction | None:
        """The direct ratio, else the chain through the third kind."""
        direct = self._ratios.get((kind, to))
        if direct is not None:
            return direct
        (third,) = (other for other in KINDS if other not in (kind, to))
        first, second = self._ratios.get((kind, third)), self._ratios.get((third, to))
        return first * second if first is not None and second is not None else None


def _times(amount: Fraction, size: Fraction) -> Fraction:
    """The product. Most amounts are in canonical units, and a product of fractions takes long."""
    return amount if size == 1 else amount * size


def contradictions(equivalents: Sequence[Equivalent], portion: Quantity | None = None) -> list[tuple[int, str]]:
    """The pairs of one owner that contradict earlier ones, or the units themselves, by more than 1 % (U5): index and a sentence.

    A pair found contradictory is left out when those after it are judged.

    >>> flour = [Equivalent(Quantity(Fraction(1), "cup"), Quantity(Fraction(grams), "g")) for grams in (125, 150)]
    >>> contradictions(flour)
    [(1, '1 cup = 150 g contradicts what stands before it, by which 1 cup is 125 g (20 % apart)')]
    """
    stated: _Graph = {}
    if portion is not None:
        _join(stated, *_edge(Equivalent(Quantity(Fraction(1), PORTION), portion)))
    contradicting = []
    for index, pair in enumerate(equivalents):
        start, end, ratio = _edge(pair)
        implied = [other for other in _implied(stated, start, end) if abs(ratio / other - 1) > TOLERANCE]
        if implied:
            against = "the units themselves" if start == end else "what stands before it"
            contradicting.append((index, _sentence(pair, implied[0], ratio, against)))
        elif index + 1 < len(equivalents):
            _join(stated, start, end, ratio)
    return contradicting


# Per canonical unit or own measure: what it was stated to equal, in the order of statement.
_Graph = dict[str, list[tuple[str, Fraction]]]


def _edge(pair: Equivalent) -> tuple[str, str, Fraction]:
    """The canonical units (or own measures) that a pair joins, and how many of the second are in one of the first."""
    (start, a), (end, b) = (
        (CANONICAL[size[0]], _times(side.amount, size[1])) if (size := units.sizes().get(side.unit)) else (side.unit, side.amount)
        for side in (pair.a, pair.b)
    )
    return start, end, b / a


def _join(stated: _Graph, start: str, end: str, ratio: Fraction) -> None:
    """Add a pair to what is stated, both ways."""
    stated.setdefault(start, []).append((end, ratio))
    stated.setdefault(end, []).append((start, 1 / ratio))


def _implied(stated: _Graph, start: str, end: str) -> Iterator[Fraction]:
    """The ratios that earlier pairs imply: every direct one, every one through a third measure, and the shortest longer one."""
    if start == end:
        yield Fraction(1)
        return
    first = stated.get(start, [])
    yield from (ratio for middle, ratio in first if middle == end)
    yield from (ratio * onward for middle, ratio in first for last, onward in stated[middle] if last == end)
    reached = {start: Fraction(1)}
    frontier = [start]
    # The list grows while it is walked, nearest first: the first way to a unit is a shortest one.
    for middle in frontier:
        for after, onward in stated.get(middle, []):
            if after not in reached:
                reached[after] = reached[middle] * onward
                frontier.append(after)
    if end in reached:
        yield reached[end]


def _sentence(pair: Equivalent, implied: Fraction, ratio: Fraction, against: str) -> str:
    """What the pair contradicts, in its own units."""
    other = float(pair.b.amount * implied / ratio)
    apart = float(100 * abs(ratio / implied - 1))
    return f"{pair} contradicts {against}, by which {pair.a} is {other:.6g} {pair.b.unit} ({apart:.4g} % apart)"

"""Display: what the cook reads, in measures that a kitchen has.

Responsible for rounding a computed amount for display and for its wording, in metric or US measures
(D1 to D3). Refuses to know what the amount is of; nothing that is computed further rests on a
displayed amount, but the total of batches as displayed.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Final, Literal

from service.kitchen.measures.units import CANONICAL, Kind, factor

System = Literal["metric", "us"]

NEAR: Final = Fraction(1, 10**9)
# A difference of floats may fall this little below nothing; no display has so fine a step.
NOISE: Final = Fraction(1, 10**6)
LARGEST_ERROR: Final = Fraction(1, 20)
HALVINGS: Final = 3
KITCHEN_DENOMINATORS: Final = (1, 2, 3, 4, 8)
# These are shown in fractions, all others in decimals.
FRACTIONAL: Final = frozenset({"oz", "lb", "tsp", "tbsp", "cup", "quart", "gallon"})


@dataclass(frozen=True, slots=True)
class Displayed:
    """An amount as shown: exactly what the text says, in g, mL or each, with its text and the unit that the text ends in."""

    amount: Fraction
    text: str
    unit: str


@dataclass(frozen=True, slots=True)
class Band:
    """Amounts below a bound (None: all above the band before) are shown in steps of any of the increments, all in canonical units."""

    unit: str
    below: Fraction | None
    increments: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """The bands of one kind in one system, the smallest first; amounts under ``least`` are left to the table of smaller units."""

    bands: tuple[Band, ...]
    least: Fraction = Fraction(0)


def _band(unit: str, below: str | None, *increments: str) -> Band:
    """A band whose bound and increments are told in its unit."""
    size = factor(unit)
    return Band(unit, None if below is None else Fraction(below) * size, tuple(Fraction(step) * size for step in increments))


def _decimal_bands(small: str, large: str | None = None) -> tuple[Band, ...]:
    """The steps of D2 for metric units: 0.1 below 10, 1 below 100, 5 below 1,000, then 0.05 of the larger unit below 10, 0.1 above."""
    bands = (_band(small, "10", "0.1"), _band(small, "100", "1"), _band(small, "1000", "5"))
    return bands if large is None else (*bands, _band(large, "10", "0.05"), _band(large, None, "0.1"))


@cache
def _tables(kind: Kind, system: System, *, critical: bool = False) -> tuple[Table, ...]:
    """A kind's tables in the order in which they are tried: the usual one, then those of smaller units (D3)."""
    if kind == "volume":
        metric = (Table(_decimal_bands("mL", "L")),)
        return metric if system == "metric" else (_us_volume(), *metric)
    milligrams = Table(_decimal_bands("mg"))
    if critical:
        return Table((_band("g", None, "0.1"),)), milligrams
    grams = Table(_decimal_bands("g", "kg"))
    return (grams, milligrams) if system == "metric" else (_us_mass(), grams, milligrams)


def _us_mass() -> Table:
    """By 1/4 oz below 1 lb, 1/2 oz below 10 lb, 1 oz above; below 1/4 oz not at all (D2, D3)."""
    bands = (_band("oz", "16", "1/4"), _band("lb", "10", "1/32"), _band("lb", None, "1/16"))
    return Table(bands, least=factor("oz") / 4)


def _us_volume() -> Table:
    """Spoons, cups, quarts and gallons, each up to the next (D2)."""
    return Table(
        (
            _band("tsp", "3", "1/4"),
            _band("tbsp", "4", "1/2"),
            _band("cup", "4", "1/4", "1/3"),
            _band("quart", "16", "1/4"),
            _band("gallon", None, "1/4"),
        )
    )


@lru_cache(maxsize=65_536)
def display(amount: float | Fraction, kind: Kind, system: System, *, critical: bool = False) -> Displayed:
    """An amount in g, mL or each as the cook reads it (D2, D3); mass that is ``critical`` to 0.1 g, whatever the system.

    >>> display(999.9, "mass", "metric").text, display(1006.41, "mass", "us").text, display(11.2, "count", "us").text
    ('1 kg', '2 lb 3 1/2 oz', '12 each')
    """
    exact = amount if isinstance(amount, Fraction) else Fraction(f"{amount:.12g}")
    if -NOISE < exact < 0:
        exact = Fraction(0)
    if exact < 0:
        raise ValueError(f"a displayed amount is not negative: {amount}")
    if kind == "count":
        return _count(exact)
    tables = _tables(kind, system, critical=critical)
    if exact == 0:
        return Displayed(exact, f"0 {tables[0].bands[0].unit}", tables[0].bands[0].unit)
    rounded, band = _round(exact, tables)
    return _show(rounded, _promoted(rounded, band, tables))


def total(parts: Sequence[tuple[int, Displayed]], kind: Kind, system: System) -> Displayed:
    """The sum of batches as displayed, each so many times, without further rounding (D3).

    Parts in measures of both systems (a batch in tsp, a tiny one in mL) stay apart in the text.

    >>> total([(3, display(1167, "mass", "metric"))], "mass", "metric").text
    '3.45 kg'
    """
    amount = sum((count * part.amount for count, part in parts), Fraction(0))
    if kind == "count" or amount == 0:
        return display(amount, kind, system)
    fractional = sum((count * part.amount for count, part in parts if part.unit in FRACTIONAL), Fraction(0))
    shown = []
    if fractional:
        shown.append(_show_exactly(fractional, _tables(kind, "us")[0]))
    if fractional < amount:
        shown.append(_show_exactly(amount - fractional, _tables(kind, "metric")[0]))
    return Displayed(amount, " + ".join(each.text for each in shown), shown[-1].unit)


def _count(exact: Fraction) -> Displayed:
    """Whole things, rounded up (D2) with the tolerance of floats."""
    pieces = max(math.ceil(exact * (1 - NEAR)), 1) if exact else 0
    return Displayed(Fraction(pieces), f"{pieces} each", CANONICAL["count"])


def _round(exact: Fraction, tables: Sequence[Table]) -> tuple[Fraction, Band]:
    """The first rounding on the way to finer steps that is within 5 %, else the finest (D3)."""
    last: tuple[Fraction, Band] | None = None
    for band in _ways(exact, tables):
        for halving in range(HALVINGS + 1):
            last = _nearest(exact, [step / 2**halving for step in band.increments]), band
            if abs(last[0] - exact) <= exact * (LARGEST_ERROR + NEAR):
                return last
    if last is None:
        raise ValueError(f"no table shows {exact}")
    return last


def _ways(exact: Fraction, tables: Sequence[Table]) -> Iterator[Band]:
    """The band of the amount, then those of smaller units."""
    for table in tables:
        if not _under(exact, table.least):
            own = sum(1 for band in table.bands[:-1] if band.below is not None and not _under(exact, band.below))
            yield from reversed(table.bands[: own + 1])


def _under(exact: Fraction, bound: Fraction) -> bool:
    """True below a bound by more than floats err."""
    return exact < bound * (1 - NEAR)


def _nearest(exact: Fraction, steps: Sequence[Fraction]) -> Fraction:
    """The nearest multiple of any of the steps, halves up, never zero; of two equally near that of the first step."""
    candidates = [max(math.floor(exact / step * (1 + NEAR) + Fraction(1, 2)), 1) * step for step in steps]
    least = min(abs(candidate - exact) for candidate in candidates)
    return next(candidate for candidate in candidates if abs(candidate - exact) <= least + exact * NEAR)


def _promoted(rounded: Fraction, band: Band, tables: Sequence[Table]) -> str:
    """The unit after rounding: that of the next band where the amount was rounded up to its start (D2)."""
    for table in tables:
        for smaller, larger in zip(table.bands, table.bands[1:], strict=False):
            if smaller is band and rounded == band.below:
                return larger.unit
    return band.unit


def _show(amount: Fraction, unit: str) -> Displayed:
    """An amount worded in a unit, pounds with ounces."""
    if unit == "lb":
        return _pounds(amount)
    number = amount / factor(unit)
    return Displayed(amount, f"{_mixed(number) if unit in FRACTIONAL else _decimal(number)} {unit}", unit)


def _pounds(amount: Fraction) -> Displayed:
    """Pounds and ounces: 2 lb 3 1/2 oz."""
    pounds, ounces = divmod(amount / factor("oz"), 16)
    if not ounces:
        return Displayed(amount, f"{pounds} lb", "lb")
    return Displayed(amount, f"{pounds} lb {_mixed(ounces)} oz", "oz")


def _show_exactly(amount: Fraction, table: Table) -> Displayed:
    """An exact amount in the largest unit, up to that of its band, in which it is a kitchen fraction; else in the plainest."""
    units = list(dict.fromkeys(band.unit for band in _ways(amount, [Table(table.bands)])))
    if units[0] not in FRACTIONAL or units[0] == "lb":
        return _show(amount, units[0])
    plain = [unit for unit in units if (amount / factor(unit)).denominator in KITCHEN_DENOMINATORS]
    return _show(amount, plain[0] if plain else min(units, key=lambda unit: (amount / factor(unit)).denominator))


def _mixed(number: Fraction) -> str:
    """A mixed number: 2 1/4."""
    whole, part = divmod(number, 1)
    return f"{whole} {part}" if whole and part else str(part or whole)


def _decimal(number: Fraction) -> str:
    """A finite decimal, without trailing zeros."""
    places = 0
    while (number * 10**places).denominator != 1:
        places += 1
    digits = f"{int(number * 10**places):0{places + 1}d}"
    return f"{digits[:-places]}.{digits[-places:]}" if places else digits

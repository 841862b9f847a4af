"""Steps: the increments in which a kitchen's measures are read, and an amount rounded to them.

Responsible for bands, units and rounding in metric or US measures (D2, D3): exactly, and quickly where floats cannot err. Refuses to
word anything.
"""

import math
from bisect import bisect
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import Final, NamedTuple

from service.kitchen.measures.units import Kind, System, factor

NEAR: Final = Fraction(1, 10**9)
LARGEST_ERROR: Final = Fraction(1, 20)
HALVINGS: Final = 3
# Floats decide only where they are further from a bound or a half step than the exact rules tolerate.
CLEAR: Final = 1e-8
CLOSE: Final = float(LARGEST_ERROR)


class Rounded(NamedTuple):
    """An amount in whole steps, in canonical units, and the unit in which it is read."""

    amount: Fraction
    unit: str


class Step(NamedTuple):
    """So many of one step: of which tables, zone and attempt."""

    kind: Kind
    system: System
    critical: bool
    zone: int
    attempt: int
    step: int
    times: int


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
def tables(kind: Kind, system: System, *, critical: bool = False) -> tuple[Table, ...]:
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


def rounded(exact: Fraction, tables: Sequence[Table]) -> Rounded:
    """An amount above nothing in the first steps, on the way to finer ones, that come within 5 % of it, else in the finest (D3)."""
    last: Rounded | None = None
    for band, steps in _attempts(exact, tables):
        nearest = _nearest(exact, steps)
        last = Rounded(nearest, _promoted(nearest, band, tables))
        if abs(nearest - exact) <= exact * (LARGEST_ERROR + NEAR):
            return last
    if last is None:
        raise ValueError(f"no table shows {exact}")
    return last


def _attempts(exact: Fraction, tables: Sequence[Table]) -> Iterator[tuple[Band, tuple[Fraction, ...]]]:
    """The steps to try for an amount: each band's, halved ever more."""
    for band in _ways(exact, tables):
        for halving in range(HALVINGS + 1):
            yield band, tuple(step / 2**halving for step in band.increments)


def units_below(exact: Fraction, table: Table) -> list[str]:
    """The unit of an amount's band, then those of smaller ones."""
    return list(dict.fromkeys(band.unit for band in _ways(exact, [Table(table.bands)])))


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


def _promoted(nearest: Fraction, band: Band, tables: Sequence[Table]) -> str:
    """The unit after rounding: that of the next band where the amount was rounded up to its start (D2)."""
    for table in tables:
        for smaller, larger in zip(table.bands, table.bands[1:], strict=False):
            if smaller is band and nearest == band.below:
                return larger.unit
    return band.unit


class Attempt(NamedTuple):
    """One way to round within a band: to the nearest of some steps, exactly and as floats."""

    band: Band
    steps: tuple[Fraction, ...]
    sizes: tuple[float, ...]


class Zone(NamedTuple):
    """Amounts clearly between two neighbouring bounds, and how they are rounded: by the first attempt that comes near enough."""

    least: float
    most: float
    attempts: tuple[Attempt, ...]


@cache
def _zones(kind: Kind, system: System, *, critical: bool) -> tuple[list[float], list[Zone]]:
    """The bounds of a kind's tables, and the zones below, between and above them."""
    of_kind = tables(kind, system, critical=critical)
    bounds = sorted({*(table.least for table in of_kind), *(band.below or Fraction(0) for table in of_kind for band in table.bands)} - {0})
    zones = []
    for least, most in pairwise([Fraction(0), *bounds, 2 * bounds[-1]]):
        attempts = tuple(Attempt(band, steps, tuple(map(float, steps))) for band, steps in _attempts((least + most) / 2, of_kind))
        zones.append(Zone(float(least) * (1 + CLEAR), float(most) * (1 - CLEAR) if most in bounds else math.inf, attempts))
    return [float(bound) for bound in bounds], zones


def clearly(amount: float, kind: Kind, system: System, *, critical: bool) -> Step | None:
    """An amount above nothing in steps as ``rounded`` has it, where it is so far from every bound and half step that floats cannot err."""
    bounds, zones = _zones(kind, system, critical=critical)
    place = bisect(bounds, amount)
    zone = zones[place]
    if not zone.least < amount < zone.most:
        return None
    for number, attempt in enumerate(zone.attempts):
        nearest = _nearest_clearly(amount, attempt.sizes)
        if nearest is None:
            return None
        step, times = nearest
        error = abs(times * attempt.sizes[step] - amount) / amount
        if error < CLOSE - CLEAR:
            return Step(kind=kind, system=system, critical=critical, zone=place, attempt=number, step=step, times=times)
        if error < CLOSE + CLEAR:
            return None
    return None


def exactly(step: Step) -> Rounded:
    """What so many of a step are."""
    attempt = _zones(step.kind, step.system, critical=step.critical)[1][step.zone].attempts[step.attempt]
    amount = attempt.steps[step.step] * step.times
    return Rounded(amount, _promoted(amount, attempt.band, tables(step.kind, step.system, critical=step.critical)))


def _nearest_clearly(amount: float, sizes: Sequence[float]) -> tuple[int, int] | None:
    """Which step and how many of it come nearest, of two equally near the first; None where floats might err."""
    slack = CLEAR * amount
    found, near, error = (0, 0), 0.0, math.inf
    for step, size in enumerate(sizes):
        halves = amount / size + 0.5
        times = max(int(halves), 1)
        if abs(halves - round(halves)) * size <= slack:
            return None
        other = abs(times * size - amount)
        if abs(other - error) <= slack and abs(times * size - near) > slack:
            return None
        if other < error - slack:
            found, near, error = (step, times), times * size, other
    return found

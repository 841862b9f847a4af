"""Steps: the measures in which a kitchen weighs and pours, and an amount rounded to them.

Responsible for the ladders of metric and US measures and for rounding on them (D2, D3). Refuses to word anything.

Every ladder has its grain, of which all of its steps are whole multiples: a rounded amount is so many grains, exactly. Floats are exact
enough to choose them, since whatever lies within 1e-9 of a half step or of a bound counts as being on it.
"""

import math
from bisect import bisect
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from typing import Final, NamedTuple

from service.kitchen.measures.units import Kind, System, factor

NEAR: Final = 1e-9
LARGEST_ERROR: Final = 0.05


class Rung(NamedTuple):
    """From so many grains on, an amount is told in a unit of so many grains, in whole multiples of any of some steps."""

    least: int
    unit: str
    size: int
    steps: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ladder:
    """The rungs of one kind in one system, from the lowest up, and the ladder of what is too little for all of them.

    ``paired``: a second, smaller measure follows where the first alone errs by more than 5 %.
    """

    system: System
    grain: Fraction
    rungs: tuple[Rung, ...]
    smaller: "Ladder | None" = None
    paired: bool = False
    size: float = field(init=False)
    _leasts: tuple[int, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "size", float(self.grain))
        object.__setattr__(self, "_leasts", tuple(rung.least for rung in self.rungs[1:]))

    def rung(self, grains: float) -> Rung:
        """The rung on which an amount is told: the lowest for what is below all of them."""
        return self.rungs[bisect(self._leasts, grains * (1 + NEAR))]


@cache
def ladder(kind: Kind, system: System, *, critical: bool = False) -> Ladder:
    """The ladder of masses or volumes in a system; of ``critical`` masses, by 0.1 g in either (D2, D3)."""
    small, large = ("g", "kg") if kind == "mass" else ("mL", "L")
    grain = Fraction(1, 100)
    if critical and kind == "mass":
        return Ladder(system="metric", grain=grain, rungs=(Rung(0, small, 100, (10,)),))
    if system == "us":
        return _us_masses() if kind == "mass" else _us_volumes()
    rungs = (
        Rung(0, small, 100, (1,)),
        Rung(100, small, 100, (10,)),
        Rung(1_000, small, 100, (100,)),
        Rung(10_000, small, 100, (500,)),
        Rung(100_000, large, 100_000, (5_000,)),
        Rung(1_000_000, large, 100_000, (10_000,)),
    )
    return Ladder(system="metric", grain=grain, rungs=rungs)


def _us_masses() -> Ladder:
    """Ounces from 1 oz by tenths, from 4 oz by quarters; pounds by 1/2 oz, from 10 lb by 1 oz, from 50 lb by 1/4 lb."""
    ounce, pound = 20, 320
    rungs = (
        Rung(ounce, "oz", ounce, (ounce // 10,)),
        Rung(4 * ounce, "oz", ounce, (ounce // 4,)),
        Rung(pound, "lb", pound, (ounce // 2,)),
        Rung(10 * pound, "lb", pound, (ounce,)),
        Rung(50 * pound, "lb", pound, (pound // 4,)),
    )
    return Ladder(system="us", grain=factor("oz") / ounce, rungs=rungs, smaller=ladder("mass", "metric"))


def _us_volumes() -> Ladder:
    """Spoons from 1/8 tsp, cups from 1/4 cup, quarts from one, gallons from four."""
    tsp = 8
    tbsp, cup = 3 * tsp, 48 * tsp
    quart, gallon = 4 * cup, 16 * cup
    rungs = (
        Rung(tsp // 8, "tsp", tsp, (tsp // 8,)),
        Rung(tsp // 2, "tsp", tsp, (tsp // 4,)),
        Rung(tbsp, "tbsp", tbsp, (tbsp // 2,)),
        Rung(cup // 4, "cup", cup, (cup // 4, cup // 3)),
        Rung(quart, "quart", quart, (quart // 4,)),
        Rung(4 * gallon, "gallon", gallon, (gallon // 4,)),
    )
    return Ladder(system="us", grain=factor("tsp") / tsp, rungs=rungs, smaller=ladder("volume", "metric"), paired=True)


def rounded(amount: float, on: Ladder, *, up: bool = False) -> tuple[Ladder, int]:
    """A canonical amount above nothing in grains of the ladder that reaches down to it (D2, D3).

    To the nearest step, halves up, or to the next one ``up``; never to nothing.
    """
    grains = amount / on.size
    if on.smaller is not None and grains * (1 + NEAR) < on.rungs[0].least:
        on = on.smaller
        grains = amount / on.size
    rung = on.rung(grains)
    single = _stepped(grains, rung, up=up) or min(rung.steps)
    if not on.paired or abs(single - grains) <= (LARGEST_ERROR + NEAR) * grains:
        return on, single
    first = max(math.floor(grains * (1 + NEAR) / step) * step for step in rung.steps)
    rest = grains - first
    paired = first + _stepped(rest, on.rung(rest), up=up)
    return on, paired if abs(paired - grains) < abs(single - grains) else single


def _stepped(grains: float, rung: Rung, *, up: bool) -> int:
    """The nearest multiple of any of a rung's steps, halves up, or the next one up."""
    if up:
        return min(math.ceil(grains * (1 - NEAR) / step) * step for step in rung.steps)
    # A hair more than the amount is nearer to the upper one where the amount itself lies half way.
    near = grains * (1 + NEAR)
    if len(rung.steps) == 1:
        return math.floor(near / rung.steps[0] + 0.5) * rung.steps[0]
    return min((math.floor(near / step + 0.5) * step for step in rung.steps), key=lambda each: abs(each - near))


def measures(on: Ladder, grains: int) -> Iterator[tuple[int, Rung]]:
    """What the measures of a ladder make of an amount, the largest first, until nothing is left of it."""
    while grains:
        rung = on.rung(grains)
        taken = max(grains // step * step for step in rung.steps)
        yield taken, rung
        grains -= taken

"""Display: what the cook reads, in measures that a kitchen has.

Responsible for the wording of a computed amount in metric or US measures, and of sums (D1 to D3). Refuses to know what
the amount is of. Nothing that is computed further rests on a displayed amount, but the total of batches as displayed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from service.kitchen.measures import steps
from service.kitchen.measures.steps import CLEAR, NEAR, Step, Table, tables
from service.kitchen.measures.units import CANONICAL, Kind, System, factor

# A difference of floats may fall this little below nothing; no display has so fine a step.
NOISE: Final = Fraction(1, 10**6)
LARGEST_COUNT: Final = 1e7
KITCHEN_DENOMINATORS: Final = (1, 2, 3, 4, 8)
# These are shown in fractions, all others in decimals.
FRACTIONAL: Final = frozenset({"oz", "lb", "tsp", "tbsp", "cup", "quart", "gallon"})


@dataclass(frozen=True, slots=True)
class Displayed:
    """An amount as shown: exactly what the text says, in g, mL or each, with its text and the unit that the text ends in."""

    amount: Fraction
    text: str
    unit: str

    def __hash__(self) -> int:
        """By the text, since fractions take long to hash."""
        return hash(self.text)


def display(amount: float | Fraction, kind: Kind, system: System, *, critical: bool = False) -> Displayed:
    """An amount in g, mL or each as the cook reads it (D2, D3); mass that is ``critical`` to 0.1 g, whatever the system.

    >>> display(999.9, "mass", "metric").text, display(1006.41, "mass", "us").text, display(11.2, "count", "us").text
    ('1 kg', '2 lb 3 1/2 oz', '12 each')
    """
    if amount == 0:
        return _nothing(kind, system, critical)
    if isinstance(amount, float) and amount > 0:
        if kind == "count":
            pieces = _clear_pieces(amount)
            return display_exactly(amount, kind, system) if pieces is None else _pieces(pieces)
        step = steps.clearly(amount, kind, system, critical=critical)
        if step is not None:
            return _in_steps(step)
    return display_exactly(amount, kind, system, critical=critical)


def display_exactly(amount: float | Fraction, kind: Kind, system: System, *, critical: bool = False) -> Displayed:
    """What ``display`` tells of any amount, in exact arithmetic."""
    exact = amount if isinstance(amount, Fraction) else Fraction(f"{amount:.12g}")
    if -NOISE < exact < 0:
        exact = Fraction(0)
    if exact < 0:
        raise ValueError(f"a displayed amount is not negative: {amount}")
    if exact == 0:
        return _nothing(kind, system, critical)
    if kind == "count":
        return _count(exact)
    return _show(*steps.rounded(exact, tables(kind, system, critical=critical)))


@lru_cache(maxsize=65_536)
def _in_steps(step: Step) -> Displayed:
    """So many of a step, worded once."""
    return _show(*steps.exactly(step))


@lru_cache
def _nothing(kind: Kind, system: System, critical: bool) -> Displayed:  # noqa: FBT001 - remembered by place
    unit = CANONICAL[kind] if kind == "count" else tables(kind, system, critical=critical)[0].bands[0].unit
    return Displayed(Fraction(0), f"0 {unit}", unit)


def _clear_pieces(amount: float) -> int | None:
    """How many whole things a count above nothing is, where it is clearly whole or clearly between two whole numbers; else None."""
    pieces = math.ceil(amount)
    clear = pieces == amount or CLEAR * amount < amount - (pieces - 1) < 1 - CLEAR * amount
    return pieces if clear and pieces < LARGEST_COUNT else None


def total(parts: Sequence[tuple[int, Displayed]], kind: Kind, system: System) -> Displayed:
    """The sum of batches as displayed, each so many times, without further rounding (D3).

    Parts in measures of both systems (a batch in tsp, a tiny one in mL) stay apart in the text.

    >>> total([(3, display(1167, "mass", "metric"))], "mass", "metric").text
    '3.45 kg'
    """
    return _total(tuple(parts), kind, system)


@lru_cache(maxsize=16_384)
def _total(parts: tuple[tuple[int, Displayed], ...], kind: Kind, system: System) -> Displayed:
    amount = sum((count * part.amount for count, part in parts), Fraction(0))
    if kind == "count" or amount == 0:
        return display(amount, kind, system)
    fractional = sum((count * part.amount for count, part in parts if part.unit in FRACTIONAL), Fraction(0))
    shown = []
    if fractional:
        shown.append(_show_exactly(fractional, tables(kind, "us")[0]))
    if fractional < amount:
        shown.append(_show_exactly(amount - fractional, tables(kind, "metric")[0]))
    return Displayed(amount, " + ".join(each.text for each in shown), shown[-1].unit)


def _count(exact: Fraction) -> Displayed:
    """Whole things, rounded up (D2) with the tolerance of floats."""
    return _pieces(max(math.ceil(exact * (1 - NEAR)), 1))


@lru_cache(maxsize=4_096)
def _pieces(number: int) -> Displayed:
    return Displayed(Fraction(number), f"{number} each", CANONICAL["count"])


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
    units = steps.units_below(amount, table)
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

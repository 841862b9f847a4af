"""Display: what the cook reads, in measures that a kitchen has.

Responsible for the wording of a computed amount in metric or US measures, and of sums (D1 to D3). Refuses to know what
the amount is of. Nothing that is computed further rests on a displayed amount, but the total of batches as displayed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final

from service.kitchen.measures.batches import round_up
from service.kitchen.measures.steps import Ladder, Rung, ladder, measures, rounded
from service.kitchen.measures.units import Kind, System

# A difference of floats may fall this little below nothing; no display has so fine a step.
NOISE: Final = 1e-6
# Scales read ounces in quarters, or in tenths.
LARGEST_DENOMINATOR: Final = 4


@dataclass(frozen=True, slots=True)
class Displayed:
    """An amount as shown: so many grains of a ladder (None: whole things), and what the cook reads."""

    on: Ladder | None
    grains: int
    text: str

    @property
    def amount(self) -> Fraction:
        """Exactly what the text says, in g, mL or each."""
        return Fraction(self.grains) if self.on is None else self.grains * self.on.grain


NOTHING: Final = Displayed(None, 0, "0")


def display(amount: float | Fraction, kind: Kind, system: System, *, critical: bool = False, up: bool = False) -> Displayed:
    """An amount in g, mL or each as the cook reads it (D2, D3); mass that is ``critical`` to 0.1 g, whatever the system.

    To the nearest step, or to the next one ``up``. Raises ValueError for what is no amount.

    >>> display(999.9, "mass", "metric").text, display(1006.41, "mass", "us").text, display(11.2, "count", "us").text
    ('1 kg', '2 lb 3 1/2 oz', '12 each')
    >>> display(207.0, "volume", "us").text, display(0.0, "volume", "us").text, display(2501.0, "mass", "metric", up=True).text
    ('3/4 cup + 2 tbsp', '0', '2.55 kg')
    """
    exact = float(amount)
    if not -NOISE < exact < math.inf:
        raise ValueError(f"a displayed amount is finite and not negative: {amount}")
    if exact <= 0:
        return NOTHING
    if kind == "count":
        return _told(None, round_up(exact))
    return _told(*rounded(exact, ladder(kind, system, critical=critical), up=up))


def total(parts: Sequence[tuple[int, Displayed]], kind: Kind, system: System) -> Displayed:
    """The sum of batches as displayed, each so many times, without further rounding (D3).

    Where some are in US measures and others too small for them, the sum is told as any other amount: texts do not mix systems.

    >>> total([(3, display(1167, "mass", "metric"))], "mass", "metric").text
    '3.45 kg'
    """
    some = [(count, part) for count, part in parts if count and part.grains]
    if not some:
        return NOTHING
    ladders = {part.on for _, part in some}
    systems = {each.system for each in ladders if each is not None}
    if len(systems) > 1:
        return display(sum(count * part.amount for count, part in some), kind, system)
    on = ladders.pop() if len(ladders) == 1 else ladder(kind, systems.pop())
    return _told(on, sum(count * part.grains for count, part in some))


@lru_cache(maxsize=16_384)
def _told(on: Ladder | None, grains: int) -> Displayed:
    """So many grains, worded once."""
    if on is None:
        text = f"{grains} each"
    elif on.paired:
        text = " + ".join(f"{_mixed(taken, rung.size)} {rung.unit}" for taken, rung in measures(on, grains))
    elif on.system == "us":
        text = _pounds(grains, on.rung(grains), on.rungs[0])
    else:
        # What is no whole number of the smaller unit, as a sum of exact weights may be, stays in it.
        small = on.rungs[0]
        rung = small if grains % small.size else on.rung(grains)
        text = f"{_decimal(grains, rung.size)} {rung.unit}"
    return Displayed(on, grains, text)


def _pounds(grains: int, rung: Rung, ounces: Rung) -> str:
    """Ounces by tenths, then by fractions, then with pounds before them: 2.3 oz, 5 1/4 oz, 2 lb 3 1/2 oz."""
    pounds, rest = divmod(grains, rung.size) if rung.unit == "lb" else (0, grains)
    tenths = rung is ounces or Fraction(rest, ounces.size).denominator > LARGEST_DENOMINATOR
    number = _decimal(rest, ounces.size) if tenths else _mixed(rest, ounces.size)
    return " ".join(([f"{pounds} lb"] if pounds else []) + ([f"{number} oz"] if rest else []))


def _mixed(grains: int, size: int) -> str:
    """A mixed number: 2 1/4."""
    whole, part = divmod(Fraction(grains, size), 1)
    return f"{whole} {part}" if whole and part else str(part or whole)


def _decimal(grains: int, size: int) -> str:
    """A finite decimal, without trailing zeros."""
    number = Decimal(grains) / size
    return f"{number.normalize():f}"

"""Lots: what is on hand or will be, and which need takes from which.

Responsible for domain P2 and P3: first expired, first out, between moments. Refuses to know where
lots come from and what needs are for.
"""

from bisect import insort
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import NamedTuple

from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import FOREVER, UseBy
from service.kitchen.planning.names import RunKey

# What sums of floats leave over; no kitchen weighs so little.
NIL = 1e-9
ALWAYS = datetime.min.replace(tzinfo=UTC)


class PastRun(NamedTuple):
    """What is known of a run that was fixed: for which runs it was made, and what its lots hold (P12, H2)."""

    id: str
    feeds: frozenset[str]
    allergens: tuple[frozenset[str], frozenset[str]]


@dataclass(slots=True, kw_only=True)
class Lot:
    """A quantity of an item in its stock kind: ready at a moment, usable until ``use_by``, by the version that made it.

    A count after the moment at which the work was ``done`` has found the lot (P15 d).
    """

    item: Item
    amount: float
    ready: datetime = ALWAYS
    use_by: UseBy = FOREVER
    version: int | None = None
    made: date | None = None
    source: RunKey | PastRun | None = None
    done: datetime = ALWAYS
    left: float = 0.0
    taken: list[tuple[datetime, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """A new lot is whole."""
        self.left = self.amount

    @property
    def counted(self) -> bool:
        """Whether a count has found the lot: such a lot is ready always (P3)."""
        return self.ready == ALWAYS != self.done

    @property
    def counts_at(self) -> datetime:
        """The moment from which a lot that was made is there: as planned, or when it was done, should it have been past use by then."""
        return self.ready if self.ready >= self.done or self.use_by.lasts(self.done) else self.done

    @property
    def order(self) -> tuple[UseBy, datetime, int, float]:
        """First expired, then first ready, then older version (P3)."""
        return (self.use_by, self.ready, self.version or 0, self.amount)

    def serves(self, moment: datetime) -> bool:
        """Whether the lot is ready by then, not past its use-by, and not used up (P3)."""
        return self.left > 0 and self.ready <= moment and self.use_by.covers(moment)

    def take(self, wanted: float, moment: datetime) -> float:
        """Take up to ``wanted`` at a moment; what is left of the lot at or under 1e-9 of it is nil (P2)."""
        got = min(wanted, self.left)
        self.left -= got
        self.taken.append((moment, got))
        if self.left <= NIL * self.amount:
            self.left = 0.0
        return got

    def held(self, moment: datetime) -> float:
        """What the lot still holds before a moment, whatever is taken later (Y4)."""
        rest = self.amount - sum(amount for at, amount in self.taken if at < moment)
        return rest if rest > NIL * self.amount else 0.0


class Shelf:
    """The lots of one item, in the order in which they are used."""

    def __init__(self, lots: list[Lot] | None = None) -> None:
        self.lots = sorted(lots or [], key=lambda lot: lot.order)

    def add(self, lot: Lot) -> None:
        """Put a lot on the shelf."""
        insort(self.lots, lot, key=lambda each: each.order)

    def take(self, wanted: float, moment: datetime) -> list[tuple[Lot, float]]:
        """Take up to ``wanted`` for a moment, first expired first (P3): each lot with what it gave."""
        given: list[tuple[Lot, float]] = []
        short = wanted
        for lot in self.lots:
            if short <= NIL * wanted:
                break
            if lot.serves(moment):
                got = lot.take(short, moment)
                short -= got
                given.append((lot, got))
        return given

    def usable(self, moment: datetime) -> float:
        """What the lots together could serve at a moment (P16)."""
        return sum(lot.left for lot in self.lots if lot.serves(moment))

"""Settling: what reported work has taken, and which work it stands for, while a plan is made.

Responsible for taking what was drawn before anything new is planned, for what no lot had of it (domain
P15 c), and for ordinals that reported work leaves free (P15 f). Refuses to know runs and what reports say.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from itertools import count

from service.kitchen.demand import Need
from service.kitchen.item import Item
from service.kitchen.reported import Reported
from service.kitchen.stock import Shelf

Take = Callable[[Need], float]
"""Takes what lots can give to a need, and tells what they leave short."""


class Settling:
    """Reported work as one plan meets it; ``lacking`` tells what it took and no lot had."""

    def __init__(self, reported: Reported) -> None:
        self.lacking: list[tuple[Need, float]] = []
        self._taken: dict[tuple[Item, date], frozenset[int]] = defaultdict(frozenset, reported.ordinals)
        self._bygone: dict[Item, Shelf] = defaultdict(Shelf)
        for lot in reported.bygone:
            self._bygone[lot.item].add(lot)

    def settle(self, needs: Iterable[Need], take: Take) -> list[Need]:
        """The needs of an item without what reported work has taken of its lots: that is gone before anything is planned.

        What lots leave short of such a need waits among the others, for what new runs and givers leave over.
        """
        rest: list[Need] = []
        for need in needs:
            if not need.settled:
                rest.append(need)
                continue
            gone = sum(amount for _, amount in self._bygone[need.item].take(need.amount, need.at))
            short = take(replace(need, amount=need.amount - gone))
            if short > 0:
                rest.append(replace(need, amount=short))
        return rest

    def take_late(self, need: Need, take: Take) -> None:
        """Take for a settled need from lots that came later; what they lack too asks for nothing."""
        short = take(need)
        if short > 0:
            self.lacking.append((need, short))

    def ordinal(self, item: Item, on: date) -> int:
        """The next ordinal of an item's work for a date: the first that neither reported nor planned work has."""
        ordinal = next(number for number in count(1) if number not in self._taken[item, on])
        self._taken[item, on] |= {ordinal}
        return ordinal

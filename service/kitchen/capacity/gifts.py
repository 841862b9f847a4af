"""Gifts: which need a run's quantity goes to, from its first part to its last.

Responsible for *first made, first used* (domain K8). Refuses to know loads and moments.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from service.kitchen.book.item import Item
from service.kitchen.planning.demand import Need
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.runs import Run
from service.kitchen.planning.stock import NIL, Lot


class Gift(NamedTuple):
    """What of all that a run makes of an item goes to a need: from one share of it to another, 0 being its start and 1 its end."""

    item: Item
    need: Need
    amount: float
    begins: float
    ends: float


class Gifts:
    """What the runs of a plan give, and what each need takes of lots that no run of the plan is still to make."""

    def __init__(self, plan: Plan, works: Iterable[str]) -> None:
        self._lots: dict[tuple[str, Item], list[Lot]] = defaultdict(list)
        self._uses: dict[int, list[Use]] = defaultdict(list)
        self.standing: list[Use] = []
        to_do = set(works)
        for lot in plan.lots:
            if lot.source is not None and lot.source.id in to_do:
                self._lots[lot.source.id, lot.item].append(lot)
        for use in plan.uses:
            if use.lot.source is not None and use.lot.source.id in to_do:
                self._uses[id(use.lot)].append(use)
            elif use.need.drawn_by is not None and not use.need.settled:
                self.standing.append(use)

    def of_run(self, run: Run, *, reported: bool) -> list[Gift]:
        """What a run gives of each item: to its needs in the plan's order, then what lots of its surplus gave.

        What stands ready for a par goes to whom the lots give it. Of a ``reported`` run lots tell all of it (P15).
        """
        gifts: list[Gift] = []
        for output in run.outputs:
            fed = () if reported else [(need, amount) for need, amount in run.fed if need.item == output.item]
            whole = sum(lot.amount for lot in self._lots[run.id, output.item]) if reported else output.quantity
            gifts += self._dealt(run, output.item, whole, fed)
        for item in dict.fromkeys(item for item, _ in run.gives):
            gifts += self._dealt(run, item, sum(lot.amount for lot in self._lots[run.id, item]), ())
        return gifts

    def _dealt(self, run: Run, item: Item, whole: float, fed: Iterable[tuple[Need, float]]) -> Iterator[Gift]:
        if whole <= 0:
            return
        free: list[tuple[float, float]] = []
        at = 0.0
        for need, amount in fed:
            ends = at + amount / whole
            yield Gift(item, need, amount, at, ends)
            if need.par is not None:
                free.append((at, ends))
            at = ends
        free.append((at, 1.0))
        for lot in self._lots[run.id, item]:
            for use in self._uses[id(lot)]:
                for begins, ends in _taken(use.amount / whole, free):
                    yield Gift(item, use.need, (ends - begins) * whole, begins, ends)


def _taken(wanted: float, free: list[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """The first so much of what is free, which is taken from there."""
    while free and wanted > NIL:
        begins, ends = free.pop(0)
        taken = min(wanted, ends - begins)
        if ends - begins - taken > NIL:
            free.insert(0, (begins + taken, ends))
        if taken > 0:
            yield begins, begins + taken
        wanted -= taken


def between(bounds: Sequence[float], begins: float, ends: float) -> range:
    """Which parts reach into a stretch, by where each of them begins.

    >>> list(between([0.0, 0.4, 0.8], 0.4, 0.9))
    [1, 2]
    """
    first = max(bisect_right(bounds, begins + NIL) - 1, 0)
    return range(first, max(bisect_left(bounds, ends - NIL), first + 1))

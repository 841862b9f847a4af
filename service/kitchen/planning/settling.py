"""Settling: what reported work has taken, while a plan is made.

Responsible for taking what was drawn before anything new is planned, and for what no lot had of it (domain
P15 c). Refuses to know runs and what reports say.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from service.kitchen.book.item import Item
from service.kitchen.planning.demand import Need
from service.kitchen.planning.stock import NIL, Lot, Shelf

Take = Callable[[Need], float]
"""Takes what lots can give to a need, and tells what they leave short."""


class Settling:
    """Reported work as one plan meets it; ``lacking`` tells what it took and no lot had."""

    def __init__(self) -> None:
        self.lacking: list[tuple[Need, float]] = []

    def first(self, needs: Iterable[Need], shelves: Mapping[Item, Shelf], take: Take) -> list[Need]:
        """The needs of items that are handled together, in their order, less what reported work took before their turn.

        A need that reported work has settled comes in order of time with the others, as long as that leaves it what it took.
        Where others before it would take the same lots, it goes first: what it took is gone, and they must be made anew (P15 c).
        """
        waiting = sorted(needs, key=lambda need: need.order)
        if not any(need.settled for need in waiting):
            return waiting
        unmet: list[Need] = []
        for item in dict.fromkeys(need.item for need in waiting if need.settled):
            for need in _urgent([need for need in waiting if need.item == item], shelves[item]):
                waiting.remove(need)
                short = take(need)
                if short > 0:
                    unmet.append(need._replace(amount=short))
        return sorted([*waiting, *unmet], key=lambda need: need.order)

    def take(self, need: Need, take: Take) -> None:
        """Take for a settled need; what lots lack asks for nothing."""
        short = take(need)
        if short > 0:
            self.lacking.append((need, short))

    def supply(self, lot: Lot, take: Take) -> None:
        """Give what reported work lacked from a lot that was not known at its turn: a run was still open (P4)."""
        lacking, self.lacking = self.lacking, []
        for need, short in lacking:
            if lot.item == need.item and lot.serves(need.at):
                self.take(need._replace(amount=short), take)
            else:
                self.lacking.append((need, short))


def _urgent(needs: Sequence[Need], shelf: Shelf) -> list[Need]:
    """Which settled needs of an item would find less than they took if all came in order of time."""
    urgent: list[int] = []
    first_open = next((index for index, need in enumerate(needs) if not need.settled and need.par is None), len(needs))
    # Whoever is put first may leave another one short: once more, until nobody new is.
    while any(need.settled for need in needs[first_open:]):
        left = [lot.left for lot in shelf.lots]
        places = [*urgent, *(index for index in range(len(needs)) if index not in urgent)]
        short = [index for index in places if _take_short(needs[index], shelf, left) and needs[index].settled]
        if set(short) <= set(urgent):
            break
        urgent = sorted({*urgent, *short})
    return [needs[index] for index in urgent]


def _take_short(need: Need, shelf: Shelf, left: list[float]) -> bool:
    """Whether lots that have so much ``left`` cannot give a need all that it asks; what they give is taken from there."""
    short = 0.0 if need.par is not None else need.amount
    for index, lot in enumerate(shelf.lots):
        if left[index] > 0 and lot.ready <= need.at and lot.use_by.covers(need.at):
            got = min(short, left[index])
            left[index] -= got
            short -= got
    return short > NIL * need.amount

"""The hours of a site's stations, and the latest moments of steps by these alone (K2, K3).

Responsible for what is open when, as if there were cooks and machines enough. Refuses to know counts, other loads, and what
is planned in seconds: a caller whose moments are not whole minutes passes ``due`` rounded down and durations rounded up.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from service.kitchen.schedule.chain import chain_of
from service.kitchen.schedule.gaps import PAST, Gaps
from service.kitchen.schedule.place import Bounds, latest_place
from service.kitchen.schedule.problem import LoadStep, Minute, Shift

REACH = 14 * 24 * 60
"""How many minutes before it is due a place is looked for (K3)."""


class Hours:
    """The hours of shifts, station by station. A station that no shift names has no limit; nor has any equipment here."""

    def __init__(self, shifts: Iterable[Shift]) -> None:
        rows: dict[str, list[Gaps]] = defaultdict(list)
        for shift in shifts:
            row = Gaps(shift.hours)
            for station in dict.fromkeys(shift.stations):
                rows[station] += [row] if shift.cooks else []
        self.rows: dict[str, tuple[Gaps, ...]] = {station: tuple(each) for station, each in rows.items()}

    def hands(self, station: str) -> Sequence[Gaps] | None:
        """The hours of each shift of a station, in one of which a hands-on piece lies wholly (K2); None: at any time."""
        return self.rows.get(station)

    on_shift = hands

    def room(self, equipment: str, share: int) -> None:  # noqa: ARG002 - by the hours alone there are machines enough.
        """No machine sets a limit."""
        return

    def staffed_since(self, station: str, moment: Minute) -> Minute:
        """Since when somebody has been on shift at a station, one shift touching the next; PAST where it has no limit."""
        rows = self.rows.get(station)
        if rows is None:
            return PAST
        earlier = moment
        while (since := min((free[0] for row in rows if (free := row.around(earlier, earlier))), default=earlier)) < earlier:
            earlier = since
        return earlier


class StepTimes(NamedTuple):
    """When the hands of a step begin, when its rest begins, and when that ends."""

    starts: Minute
    rests: Minute
    ends: Minute


def latest_by_hours(steps: Sequence[LoadStep], hours: Hours, due: Minute) -> tuple[StepTimes, ...] | None:
    """The latest moments of steps that end by ``due``, by the hours alone (K3); None: no place in the 14 days before.

    Each step follows the one before without a gap; a rest with a window lasts as near to its target as hours allow (K6). What is
    in equipment is put in and taken out while somebody is on shift (K2): name only equipment that the site lists.

    >>> from service.kitchen.schedule.problem import Rest
    >>> bake, peel = LoadStep(active=0, rest=Rest(60, 60, 60), station="oven"), LoadStep(active=20, station="veg")
    >>> latest_by_hours([peel, bake], Hours([Shift("Early", ("veg",), 1, ((360, 600),))]), 735)
    (StepTimes(starts=580, rests=600, ends=600), StepTimes(starts=600, rests=600, ends=660))
    """
    chain = chain_of(steps)
    times = latest_place(chain, hours, Bounds(due, PAST, due - REACH, chain.earliest, chain.latest))
    if times is None:
        return None
    moments = pairwise((*times.starts, times.ready))
    return tuple(StepTimes(start, start + step.active, end) for step, (start, end) in zip(steps, moments, strict=True))

"""Free time: of one cook or one machine, as stretches in order, and of the room in shared equipment.

Responsible for finding the latest or earliest free minutes and for taking them. Refuses to know whose they are.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence

from service.kitchen.schedule.problem import Minute

PAST: Minute = -(1 << 40)
FUTURE: Minute = 1 << 40
"""Before and after every moment of a problem: no such moment."""


class Gaps:
    """Free stretches, from and until, both edges included: what ends at a minute leaves it free for what begins then.

    >>> cook = Gaps([(360, 840)])
    >>> cook.take(600, 660)
    >>> latest([cook], 655, 30), earliest([cook], 590, 30), latest([cook], 350, 30) == PAST
    (570, 660, True)
    """

    __slots__ = ("ends", "starts")

    def __init__(self, stretches: Iterable[tuple[Minute, Minute]] = ((PAST, FUTURE),)) -> None:
        self.starts: list[Minute] = []
        self.ends: list[Minute] = []
        for start, end in stretches:
            self.starts.append(start)
            self.ends.append(end)

    def copy(self) -> "Gaps":
        """The same stretches, to be taken from separately."""
        twin = Gaps(())
        twin.starts, twin.ends = self.starts[:], self.ends[:]
        return twin

    def around(self, start: Minute, end: Minute) -> tuple[Minute, Minute] | None:
        """The free stretch in which a stretch lies."""
        at = bisect_right(self.starts, start) - 1
        return (self.starts[at], self.ends[at]) if at >= 0 and end <= self.ends[at] else None

    def last_end(self, moment: Minute) -> Minute:
        """When the last stretch that begins before a moment ends; PAST where none does."""
        at = bisect_left(self.starts, moment) - 1
        return self.ends[at] if at >= 0 else PAST

    def take(self, start: Minute, end: Minute, turn_round: int = 0) -> None:
        """Take what is free of a stretch and of as many minutes of turn-round before and after it."""
        before, after = start - turn_round, end + turn_round
        first = bisect_right(self.ends, before)
        last = bisect_left(self.starts, after, first)
        if first == last:
            return
        begins, ends = self.starts[first], self.ends[last - 1]
        self.starts[first:last] = [moment for moment, kept in ((begins, begins < before), (after, after < ends)) if kept]
        self.ends[first:last] = [moment for moment, kept in ((before, begins < before), (ends, after < ends)) if kept]


def latest(rows: Sequence[Gaps], moment: Minute, minutes: int) -> Minute:
    """The latest start at or before a moment of so many minutes that are free in one of some rows; PAST where there is none."""
    best = PAST
    for row in rows:
        starts, ends = row.starts, row.ends
        at = bisect_right(starts, moment) - 1
        while at >= 0 and (last := ends[at] - minutes) > best:
            if last >= starts[at]:
                if last >= moment:
                    return moment
                best = last
                break
            at -= 1
    return best


def earliest(rows: Sequence[Gaps], moment: Minute, minutes: int) -> Minute:
    """The earliest start at or after a moment of so many minutes that are free in one of some rows; FUTURE where there is none."""
    best = FUTURE
    for row in rows:
        starts, ends = row.starts, row.ends
        for at in range(max(0, bisect_right(starts, moment) - 1), len(starts)):
            first = max(moment, starts[at])
            if first >= best:
                break
            if first + minutes <= ends[at]:
                best = first
                break
    return best


class Room:
    """How full shared equipment is (K7): ``size`` and shares in millionths of a machine."""

    __slots__ = ("free_for", "size", "taken", "times")

    def __init__(self, size: int) -> None:
        self.size = size
        self.times: list[Minute] = [PAST]
        self.taken = [0]
        self.free_for: dict[int, Gaps] = {}

    def copy(self) -> "Room":
        """As full, to be filled separately."""
        twin = Room(self.size)
        twin.times, twin.taken = self.times[:], self.taken[:]
        return twin

    def free(self, share: int) -> Gaps:
        """The stretches in which there is room for a share."""
        if share not in self.free_for:
            self.free_for[share] = Gaps(self._stretches(share))
        return self.free_for[share]

    def take(self, start: Minute, end: Minute, share: int) -> None:
        """Fill a stretch with a share."""
        first, last = self._edge(start), self._edge(end)
        for at in range(first, last):
            self.taken[at] += share
        self.free_for.clear()

    def _edge(self, moment: Minute) -> int:
        at = bisect_left(self.times, moment)
        if at == len(self.times) or self.times[at] != moment:
            self.times.insert(at, moment)
            self.taken.insert(at, self.taken[at - 1])
        return at

    def _stretches(self, share: int) -> Iterator[tuple[Minute, Minute]]:
        begun: Minute | None = None
        for moment, taken in zip(self.times, self.taken, strict=True):
            if taken + share <= self.size:
                begun = moment if begun is None else begun
            elif begun is not None:
                yield begun, moment
                begun = None
        if begun is not None:
            yield begun, FUTURE

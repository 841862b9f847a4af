"""The latest place of a load (K9): its last segment as late as can be, each one before it as near to its target as can be (K6).

Responsible for the search, exact to the minute, among whatever is free. Refuses to know which load comes first, and what
else it must keep to: the caller says between which moments.
"""

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from service.kitchen.schedule.chain import Chain
from service.kitchen.schedule.gaps import FUTURE, PAST, Gaps
from service.kitchen.schedule.problem import Minute


class Limits(Protocol):
    """What is free; None sets no limit."""

    def hands(self, station: str) -> Sequence[Gaps] | None:
        """The free time of each cook of a station."""

    def on_shift(self, station: str) -> Sequence[Gaps] | None:
        """The hours of each shift of a station."""

    def room(self, equipment: str, share: int) -> Sequence[Gaps] | None:
        """The time in which each machine is free, or there is room for a share."""


class Bounds(NamedTuple):
    """The moments that a place keeps to: due and not ready before (K8), not begun before (K9 e), and of each segment (K9 d)."""

    due: Minute
    ready: Minute
    release: Minute
    earliest: Sequence[Minute]
    latest: Sequence[Minute]


class Times(NamedTuple):
    """Where a load stands: the start of each step, and when it is ready."""

    starts: tuple[Minute, ...]
    ready: Minute


class _Need(NamedTuple):
    """So many minutes, from so many after the start of a segment, that must be free in one of some rows."""

    offset: int
    minutes: int
    rows: Sequence[Gaps]


def latest_place(chain: Chain, limits: Limits, bounds: Bounds) -> Times | None:
    """The latest place of a chain within bounds, or None (K9 a to e; K2, K6, K7).

    Latest: the last segment as late as can be; given it, the one before it rests as near to its target as can be, of two as
    near the longer; where that has no place, the last one at the next earlier moment at which it may have one.
    """
    search = _Search(chain, limits, bounds)
    last = len(chain.segments) - 1
    moment = search.latest(last, bounds.due - chain.marks[-1].offset, PAST)
    if moment == PAST:
        return None
    starts = [moment]
    since = PAST
    for number in range(last, 0, -1):
        since = search.since(number, starts[0], since)
        starts.insert(0, search.nearest(number - 1, starts[0], since))
    moments = [starts[segment] + offset for segment, offset in chain.marks]
    return Times(tuple(moments[:-1]), moments[-1])


class _Search:
    """A segment is told by its number, a place of it by its start.

    ``since`` is the earliest moment at which the stay may have begun that is under way when a segment ends: before that its
    machine was not free.
    """

    def __init__(self, chain: Chain, limits: Limits, bounds: Bounds) -> None:
        self.segments = chain.segments
        self.lowest = [max(bounds.release, *both) for both in zip(bounds.earliest, (each.earliest for each in chain.segments), strict=True)]
        self.lowest[-1] = max(self.lowest[-1], bounds.ready - chain.marks[-1].offset)
        self.highest = [min(both) for both in zip(bounds.latest, (each.latest for each in chain.segments), strict=True)]
        self.arrivals: list[Sequence[Gaps] | None] = []
        self.needs: list[list[_Need]] = []
        for segment in chain.segments:
            stay = segment.arriving
            arrival = limits.room(stay.equipment, stay.share) if stay and not segment.passing else None
            asked = [(piece.offset, piece.minutes, limits.hands(piece.station)) for piece in reversed(segment.pieces)]
            asked += [(piece.offset, 0, limits.on_shift(piece.station)) for piece in segment.handlings]
            for each in segment.stays:
                minutes = each.ends.offset - each.begins.offset
                asked.append((each.begins.offset, minutes, limits.room(each.equipment, each.share)))
            if stay:
                asked.append((0, stay.ends.offset, arrival))
            self.arrivals.append(arrival)
            self.needs.append([_Need(offset, minutes, rows) for offset, minutes, rows in asked if rows is not None])

    def latest(self, number: int, moment: Minute, since: Minute) -> Minute:
        """The latest start of a segment, at or before a moment, for which those before it have a place; PAST: none."""
        moment, lowest = min(moment, self.highest[number]), self._lowest(number, since)
        while True:
            start = self._latest_alone(number, moment, lowest)
            if start == PAST or number == 0:
                return start
            begun = self.since(number, start, since)
            soonest, longest = self._window(number - 1, start)
            before = self.latest(number - 1, longest, begun)
            if before >= soonest:
                return start
            # Of what stands before, ``before`` is the latest; a later one needs a machine that was free for longer.
            moment = max(before + start - soonest, self._earlier_row(number, begun))

    def earliest(self, number: int, moment: Minute, until: Minute, since: Minute) -> Minute:
        """The earliest start of a segment, from a moment until another, for which those before it have a place; FUTURE: none."""
        moment, until = max(moment, self._lowest(number, since)), min(until, self.highest[number])
        while True:
            start = self._earliest_alone(number, moment, until)
            if start == FUTURE or number == 0:
                return start
            begun = self.since(number, start, since)
            soonest, longest = self._window(number - 1, start)
            if self.latest(number - 1, longest, begun) >= soonest:
                return start
            moment = self.earliest(number - 1, soonest, until - start + longest, begun) + start - longest

    def nearest(self, number: int, following: Minute, since: Minute) -> Minute:
        """Given where the next segment starts, the start of one whose rest is nearest to its target; there is one (K6)."""
        soonest, longest = self._window(number, following)
        target = following - self.segments[number].minutes - self.segments[number].rest.target
        longer = self.latest(number, target, since)
        if longer == target:
            return target
        shorter = self.earliest(number, target + 1, longest, since)
        return longer if longer >= soonest and target - longer <= shorter - target else shorter

    def since(self, number: int, start: Minute, since: Minute) -> Minute:
        """From when the stay may have begun that is under way when a segment starts; PAST: from ever."""
        if self.segments[number].passing:
            return since
        rows, stay = self.arrivals[number], self.segments[number].arriving
        if rows is None or stay is None:
            return PAST
        around = (row.around(start, start + stay.ends.offset) for row in rows)
        return min(free[0] for free in around if free)

    def _window(self, number: int, following: Minute) -> tuple[Minute, Minute]:
        """Between which moments a segment starts, by its rest, where the next one starts then (K6)."""
        fixed, rest = following - self.segments[number].minutes, self.segments[number].rest
        return fixed - rest.most, fixed - rest.least

    def _lowest(self, number: int, since: Minute) -> Minute:
        entered = self.segments[number].entered
        return self.lowest[number] if entered is None else max(self.lowest[number], since - entered)

    def _earlier_row(self, number: int, since: Minute) -> Minute:
        """The latest start of a segment for which the stay under way may have begun earlier; PAST: none."""
        rows, stay = self.arrivals[number], self.segments[number].arriving
        if rows is None or stay is None:
            return PAST
        return max(row.last_end(since) for row in rows) - stay.ends.offset

    def _latest_alone(self, number: int, moment: Minute, lowest: Minute) -> Minute:
        needs = self.needs[number]
        kept = at = 0
        while moment >= lowest and kept < len(needs):
            need = needs[at]
            start = max((row.latest(moment + need.offset, need.minutes) for row in need.rows), default=PAST) - need.offset
            kept = kept + 1 if start == moment else 1
            moment = start
            at = (at + 1) % len(needs)
        return moment if moment >= lowest else PAST

    def _earliest_alone(self, number: int, moment: Minute, until: Minute) -> Minute:
        needs = self.needs[number]
        kept = at = 0
        while moment <= until and kept < len(needs):
            need = needs[at]
            start = min((row.earliest(moment + need.offset, need.minutes) for row in need.rows), default=FUTURE) - need.offset
            kept = kept + 1 if start == moment else 1
            moment = start
            at = (at + 1) % len(needs)
        return moment if moment <= until else FUTURE

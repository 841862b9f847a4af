"""The latest place of a load (K9): its last segment as late as can be, each one before it as near to its target as can be (K6).

Responsible for the search, exact to the minute, among whatever is free. Refuses to know which load comes first, and what
else it must keep to: the caller says between which moments.
"""

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from service.kitchen.schedule.chain import Chain, Segment
from service.kitchen.schedule.gaps import FUTURE, PAST, Gaps, earliest, latest
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
    """The moments that a place keeps to: due and not ready before (K8), not begun before (K9 e).

    Each segment starts between ``earliest`` and ``latest``, those of the chain or narrower ones (K9 d).
    """

    due: Minute
    ready: Minute
    release: Minute
    earliest: Sequence[Minute]
    latest: Sequence[Minute]


class Times(NamedTuple):
    """Where a load stands: the start of each step, and when it is ready."""

    starts: tuple[Minute, ...]
    ready: Minute


_Need = tuple[int, int, Sequence[Gaps]]
"""From how many minutes after the start of a segment how many must be free in one of some rows."""


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
        self.lowest = [max(bounds.release, moment) for moment in bounds.earliest]
        self.lowest[-1] = max(self.lowest[-1], bounds.ready - chain.marks[-1].offset)
        self.highest = bounds.latest
        self.arrivals = [_arrival(segment, limits) for segment in chain.segments]
        self.needs = [_needs(segment, limits, arrival) for segment, arrival in zip(chain.segments, self.arrivals, strict=True)]

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
            offset, minutes, rows = needs[at]
            start = latest(rows, moment + offset, minutes) - offset
            kept = kept + 1 if start == moment else 1
            moment = start
            at = (at + 1) % len(needs)
        return moment if moment >= lowest else PAST

    def _earliest_alone(self, number: int, moment: Minute, until: Minute) -> Minute:
        needs = self.needs[number]
        kept = at = 0
        while moment <= until and kept < len(needs):
            offset, minutes, rows = needs[at]
            start = earliest(rows, moment + offset, minutes) - offset
            kept = kept + 1 if start == moment else 1
            moment = start
            at = (at + 1) % len(needs)
        return moment if moment <= until else FUTURE


def _arrival(segment: Segment, limits: Limits) -> Sequence[Gaps] | None:
    """The rows of the equipment out of which something comes in a segment that was put in before it."""
    stay = segment.arriving
    return None if stay is None or segment.passing else limits.room(stay.equipment, stay.share)


def _needs(segment: Segment, limits: Limits, arrival: Sequence[Gaps] | None) -> list[_Need]:
    """What must be free for a segment by itself."""
    needs: list[_Need] = []
    for stay in segment.stays:
        room = limits.room(stay.equipment, stay.share)
        if room is not None:
            needs.append((stay.begins.offset, stay.ends.offset - stay.begins.offset, room))
    for offset, minutes, station in segment.pieces:
        hands = limits.hands(station)
        if hands is not None:
            needs.append((offset, minutes, hands))
    for offset, minutes, station in segment.handlings:
        on_shift = limits.on_shift(station)
        if on_shift is not None:
            needs.append((offset, minutes, on_shift))
    if arrival is not None and segment.arriving is not None:
        needs.append((0, segment.arriving.ends.offset, arrival))
    return needs

"""Waits: how long before it is needed work begins by the hours of a site, at least and at most.

Responsible for bounds that hold for whatever is needed in a stretch of dates, so that a plan looks far enough (domain K3, P14).
Refuses to know what is needed when.

How it decides. All moments at which the steps of a version can end by the hours alone are some stretches (K2, K6). The longest time
between two of them is how long it may be ready before it is needed.
"""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import accumulate, chain
from typing import NamedTuple

from service.kitchen.book.recipe import Version
from service.kitchen.measures.calendar import ONE_DAY, Keeps
from service.kitchen.planning.minutes import minute_of
from service.kitchen.planning.staffing import LOOKS_BACK, Staffing, merged
from service.kitchen.schedule.chain import Chain, chain_of
from service.kitchen.schedule.gaps import FUTURE, PAST
from service.kitchen.schedule.hours import REACH
from service.kitchen.schedule.problem import Minute

ONE_SECOND = timedelta(seconds=1)
DAY = 24 * 60 * 60
PUT_BACK = 2 * 60 * 60
# What is needed within a minute is looked for by its beginning.
ROUNDED = 59
FARTHEST = REACH * 60 + ROUNDED
Stretch = tuple[Minute, Minute]


class Wait(NamedTuple):
    """The most seconds before it is needed that something can be ready, and the least and the most that each step begins before then.

    What has no steps begins and is ready when it is needed.
    """

    early: int
    before: tuple[tuple[int, int], ...]


def without_hours(version: Version) -> Wait:
    """The wait of a version where no hours limit it: by T2 alone."""
    before = _to_the_end(seconds(step.duration) for step in version.steps) or [0]
    return Wait(0, tuple((each, each) for each in before))


class Waits:
    """The waits of whatever is needed at a site from one date to another."""

    def __init__(self, staffing: Staffing, first: date, last: date) -> None:
        self._staffing = staffing
        self._since = minute_of(staffing.calendar.start(first))
        self._until = minute_of(staffing.calendar.end(last))
        known = staffing.between(first - LOOKS_BACK - 2 * ONE_DAY, last + ONE_DAY)
        self._hours = known.hours
        self._fitting: dict[tuple[str, int], list[Stretch] | None] = {}
        self._longest_without_anybody = self._longest(zip(known.anybody.starts, known.anybody.ends, strict=True))

    def of_pull(self, thaw: timedelta) -> int:
        """The most seconds before an ingredient is needed that its pull starts (K3)."""
        return seconds(thaw) + self._longest_without_anybody * 60 + ROUNDED

    def of_version(self, version: Version) -> Wait:
        """How long before it is needed a version is ready, and its steps begin (K3)."""
        steps, limiting = self._staffing.bound(version)
        exact = without_hours(version)
        ready = self._ready(chain_of(steps)) if limiting else []
        if not ready:
            return exact
        early = min(self._longest(ready) * 60 + ROUNDED, _kept(version.keeps))
        least = _to_the_end(seconds(step.shortest) for step in version.steps)
        most = _to_the_end((step.active + step.rest.most) * 60 for step in steps)
        before = zip(least, most, (without for without, _ in exact.before), strict=True)
        return Wait(early, tuple((low, max(without, min(high + early, FARTHEST))) for low, high, without in before))

    def _longest(self, ready: Iterable[Stretch]) -> int:
        """The most minutes, up to 14 days, from the last moment in some stretches to a later one within the dates."""
        longest, last = 0, PAST
        for starts, ends in chain(ready, [(FUTURE, FUTURE)]):
            needed = min(starts - 1, self._until)
            if needed >= self._since:
                longest = max(longest, needed - last)
            last = ends
        return min(longest, REACH)

    def _ready(self, steps: Chain) -> list[Stretch]:
        """When a chain of steps can end by the hours alone, in order (K2, K6)."""
        starting: list[Stretch] = [(PAST, FUTURE)]
        for number, segment in enumerate(steps.segments):
            if number:
                before = steps.segments[number - 1]
                soonest, latest = before.minutes + before.rest.least, before.minutes + before.rest.most
                starting = list(merged((starts + soonest, ends + latest) for starts, ends in starting))
            for piece in (*segment.pieces, *segment.handlings):
                fitting = self._fits(piece.station, piece.minutes)
                if fitting is not None:
                    starting = list(_both(starting, [(starts - piece.offset, ends - piece.offset) for starts, ends in fitting]))
        offset = steps.marks[-1].offset
        return [(starts + offset, ends + offset) for starts, ends in starting]

    def _fits(self, station: str, minutes: int) -> list[Stretch] | None:
        """When so many minutes of hands at a station can begin; None: at any time (K1, K2)."""
        key = (station, minutes)
        if key not in self._fitting:
            rows = self._hours.hands(station)
            shifts = () if rows is None else sorted(each for row in rows for each in zip(row.starts, row.ends, strict=True))
            fitting = ((starts, ends - minutes) for starts, ends in shifts if ends - starts >= minutes)
            self._fitting[key] = None if rows is None else list(merged(fitting))
        return self._fitting[key]


def _kept(keeps: Keeps) -> int:
    """The most seconds that something is kept; no date is longer than a day and what clocks are put back by (T6, K8)."""
    return (keeps.days + 1) * (DAY + PUT_BACK) if keeps.elapsed is None else seconds(keeps.elapsed)


def _both(these: list[Stretch], those: list[Stretch]) -> Iterator[Stretch]:
    """What lies in stretches of two lists, each in order.

    >>> list(_both([(0, 5), (8, 9)], [(4, 8)]))
    [(4, 5), (8, 8)]
    """
    this = that = 0
    while this < len(these) and that < len(those):
        starts, ends = max(these[this][0], those[that][0]), min(these[this][1], those[that][1])
        if starts <= ends:
            yield starts, ends
        if these[this][1] < those[that][1]:
            this += 1
        else:
            that += 1


def _to_the_end(each: Iterable[int]) -> list[int]:
    """For each of some times in a row, how long it is from its beginning to the end of all."""
    return list(accumulate(reversed(list(each))))[::-1]


def seconds(duration: timedelta) -> int:
    """A stated duration, which is whole seconds (T1)."""
    return duration // ONE_SECOND

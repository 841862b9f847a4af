"""Staffing: when work can be done by the hours of a site's shifts, as if there were cooks and machines enough.

Responsible for the moments of steps and pulls by hours (domain K1 to K3, K6), which are compared in whole
minutes. Refuses to know runs and amounts, and how many can work at once.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from types import MappingProxyType
from typing import NamedTuple

from service.kitchen.book.capacity import Capacity
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.book.step import Step
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.minutes import minute_of, minute_up, moment_of, rest_of, whole
from service.kitchen.schedule.gaps import Gaps
from service.kitchen.schedule.hours import REACH, Hours, latest_by_hours
from service.kitchen.schedule.problem import LoadStep, Minute, Rest, Shift

AS_USUAL: Mapping[date, Capacity] = MappingProxyType({})
LOOKS_BACK = timedelta(minutes=REACH)
# Hours are put together for so many dates more than were asked for, so that this is seldom done.
SPARE = 30 * ONE_DAY


class OnShift(NamedTuple):
    """From when to when there is a cook at some stations (K2)."""

    starts: Minute
    ends: Minute
    stations: tuple[str, ...]


class Bound(NamedTuple):
    """The steps of a version as a site does them, in whole minutes, and the stations whose hours limit them."""

    steps: tuple[LoadStep, ...]
    limiting: tuple[str, ...]


class Known(NamedTuple):
    """The hours of some dates: by station, and of anybody."""

    first: date
    last: date
    hours: Hours
    anybody: Gaps


class Staffing:
    """Who is on shift at a site when: its shifts as stated, or what is ``different`` on a date."""

    def __init__(self, site: Site, different: Mapping[date, Capacity] = AS_USUAL) -> None:
        self.site = site
        self.calendar = site.calendar()
        self._different = different
        self._staffed = site.staffed
        self._on_shift: dict[date, tuple[OnShift, ...]] = {}
        self._bound: dict[tuple[str, int], Bound] = {}
        # Replaced as a whole: lists of one plan are told by several threads.
        self._known = Known(date.max, date.min, Hours(()), Gaps(()))

    @classmethod
    def of(cls, site: Site, different: Mapping[date, Capacity] = AS_USUAL) -> "Staffing | None":
        """The staffing of a site; None where it states no shifts: there hours limit nothing (K1)."""
        return cls(site, different) if site.shifts else None

    def bound(self, version: Version) -> Bound:
        """A version's steps, and whose hours limit them: of stations that a shift names, with hands or something in equipment (K1, K2).

        Stations and equipment are those after the site's maps; equipment that the site has not is left out.
        """
        key = (version.recipe, version.number)
        known = self._bound.get(key)
        if known is None:
            steps = tuple(map(self._load_step, version.steps))
            limited = (step.station for step in steps if step.station in self._staffed and (step.active or step.equipment))
            known = self._bound[key] = Bound(steps, tuple(dict.fromkeys(limited)))
        return known

    def _load_step(self, step: Step) -> LoadStep:
        machines = None if step.equipment is None else self.site.machines(step.equipment)
        return LoadStep(
            active=whole(step.active),
            rest=rest_of(step.passive),
            station=self.site.station(step.station),
            equipment=None if machines is None else machines.equipment,
        )

    def times(self, version: Version, at: datetime) -> tuple[datetime, ...] | None:
        """The latest starts of a version's steps, and last of all when it is ready, where it is needed at a moment (K3, K6).

        None where there is no place within 14 days before, or where what is ready then may be used no more at that moment (K8).
        """
        return self._latest(self.bound(version).steps, version, at)

    def last_start(self, version: Version, number: int, at: datetime) -> datetime | None:
        """The last moment at which the step of a number can begin for a version to be ready at a moment; None where there is none (P7).

        Each rest from then on is as short as it may be and hours allow.
        """
        steps = self.bound(version).steps[number - 1 :]
        hurried = [replace(step, rest=Rest(step.rest.least, step.rest.least, step.rest.most)) for step in steps]
        times = self._latest(hurried, version, at)
        return None if times is None else times[0]

    def _latest(self, steps: Sequence[LoadStep], version: Version, at: datetime) -> tuple[datetime, ...] | None:
        placed = latest_by_hours(steps, self._around(at).hours, minute_of(at))
        if placed is None:
            return None
        times = (*(moment_of(each.starts) for each in placed), moment_of(placed[-1].ends))
        return times if self.calendar.use_by(times[-1], version.keeps).covers(at) else None

    def on_shift_by(self, moment: datetime, since: datetime) -> datetime | None:
        """The latest moment up to one at which anybody is on shift, the edges of shifts included, but not before another (K3)."""
        anybody, minute = self._around(moment).anybody, minute_of(moment)
        before = bisect_right(anybody.starts, minute) - 1
        if before < 0:
            return None
        latest = moment if minute < anybody.ends[before] else moment_of(anybody.ends[before])
        return latest if latest >= since else None

    def _around(self, at: datetime) -> Known:
        """Hours of which those of 14 days before a moment are known."""
        known, on = self._known, at.date()
        # A shift may reach into the next business date, and that is another than the civil one.
        if known.first > on - LOOKS_BACK - 3 * ONE_DAY or known.last < on + ONE_DAY:
            known = self._known = self.between(min(known.first, on - LOOKS_BACK - SPARE), max(known.last, on + SPARE))
        return known

    def between(self, first: date, last: date) -> Known:
        """The hours of the shifts of some business dates."""
        dates = (first + days * ONE_DAY for days in range((last - first).days + 1))
        stretches = sorted(each for on in dates for each in self._of_date(on))
        # Stations that have shifts on other dates alone have hours too: none.
        nobody = Shift("", tuple(sorted(self._staffed)), 0, ())
        anybody = Gaps(merged((each.starts, each.ends) for each in stretches))
        return Known(first, last, Hours([nobody, *_rows(stretches)]), anybody)

    def _of_date(self, on: date) -> tuple[OnShift, ...]:
        known = self._on_shift.get(on)
        if known is None:
            shifts = (shift for shift in self.site.shifts_on(on, self._different.get(on)) if shift.cooks)
            known = self._on_shift[on] = tuple(
                OnShift(minute_up(starts), minute_of(ends), tuple(each for each in stations if each in self._staffed))
                for (starts, ends), stations in ((shift.hours(self.calendar, on), shift.stations) for shift in shifts)
            )
        return known


def merged(stretches: Iterable[tuple[Minute, Minute]]) -> Iterator[tuple[Minute, Minute]]:
    """Stretches in order of their starts, those that touch joined.

    >>> list(merged([(1, 3), (3, 4), (6, 7)]))
    [(1, 4), (6, 7)]
    """
    begun: tuple[Minute, Minute] | None = None
    for starts, ends in stretches:
        if begun is not None and starts > begun[1]:
            yield begun
            begun = None
        begun = (starts, ends) if begun is None else (begun[0], max(begun[1], ends))
    if begun is not None:
        yield begun


def _rows(stretches: Iterable[OnShift]) -> Iterator[Shift]:
    """Stretches in order as shifts of their stations: as many side by side as overlap, so that a piece lies in one of them (K2)."""
    rows: dict[tuple[str, ...], list[list[tuple[Minute, Minute]]]] = defaultdict(list)
    for starts, ends, stations in stretches:
        row = next((row for row in rows[stations] if row[-1][1] <= starts), None)
        if row is None:
            rows[stations].append(row := [])
        row.append((starts, ends))
    return (Shift("", stations, 1, tuple(row)) for stations, side_by_side in rows.items() for row in side_by_side)

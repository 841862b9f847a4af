"""How much of a day's work moves when a forecast does: the demo's kitchens in shifts of our own, one forecast at a time.

Responsible for counting loads that a reader of the list would find moved (K17). Refuses to know why they moved.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta

from service import demo
from service.config import Config
from service.kitchen.book.capacity import EVERY_DAY, Shift
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.capacity.scheduled import LoadKey, ScheduledLoad
from service.kitchen.capacity.scheduling import schedule_plan
from service.kitchen.planning.guests import Forecast
from service.operations.forecasts import forecast_of
from service.operations.loading import load_catalogue
from service.shell import reading
from service.store import forecasts as stored
from tests.kitchen.larder import only_site
from tests.kitchen.plans import plan_forecasts

MOVED = timedelta(minutes=15)
NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)
STATIONS = ("butchery", "veg", "bakery", "pastry", "hot-line", "cold-line")
SHIFTS = (
    Shift(name="Early", stations=STATIONS, starts=time(4, 30), until=time(13), cooks=3, weekdays=EVERY_DAY),
    Shift(name="Late", stations=STATIONS, starts=time(12), until=time(21), cooks=2, weekdays=EVERY_DAY),
)
"""Hardly enough hands, so that what moves pushes something else."""


@dataclass(frozen=True)
class Expected:
    """A catalogue of one site, and what is expected there from a date on."""

    catalogue: Catalogue
    first: date
    forecasts: tuple[Forecast, ...]

    def loads(self) -> dict[LoadKey, ScheduledLoad]:
        """All loads of the list of the day after the first."""
        planned = plan_forecasts(self.catalogue, self.forecasts, on=self.first + timedelta(days=1), first=self.first)
        found = schedule_plan(planned, self.catalogue, only_site(self.catalogue), {})
        if found is None:
            raise ValueError("the site states no capacity")
        return {load.key: load for run in found.runs.values() for load in run.loads}

    def nudged(self) -> Iterator["Expected"]:
        """The same with one forecast of the two days more by a twentieth, at least by one guest; each in its turn."""
        for place, each in enumerate(self.forecasts):
            if each.count and each.date <= self.first + timedelta(days=1):
                more = replace(each, count=each.count + max(1, round(each.count / 20)))
                yield replace(self, forecasts=(*self.forecasts[:place], more, *self.forecasts[place + 1 :]))


@dataclass
class Moves:
    """Loads of all changed plans: how many there were before and after as well, how many of them moved, and how many are new or gone."""

    changes: int = 0
    loads: int = 0
    moved: int = 0
    other: int = 0

    def compare(self, before: dict[LoadKey, ScheduledLoad], after: dict[LoadKey, ScheduledLoad]) -> None:
        both = before.keys() & after.keys()
        self.changes += 1
        self.loads += len(both)
        self.moved += sum(_moved(before[key], after[key]) for key in both)
        self.other += len(before.keys() ^ after.keys())


def _moved(one: ScheduledLoad, other: ScheduledLoad) -> bool:
    return one.fits != other.fits or one.on != other.on or abs(one.starts - other.starts) > MOVED


def demo_days(days: int) -> Iterator[Expected]:
    """Each of the demo's kitchens on so many dates from now on."""
    with demo.temporary(Config(database_url="sqlite:///elsewhere.sqlite3", pinned=NOW)) as config:
        demo.prepare(config)
        with reading(config) as session:
            catalogue = load_catalogue(session)
            for code, site in sorted(catalogue.sites.items()):
                alone = replace(catalogue, sites={code: replace(site, shifts=SHIFTS)})
                today = demo.today(catalogue, code, NOW)
                expected = [forecast_of(row) for row in stored.of_site(session, code, today)]
                for day in range(days):
                    first = today + timedelta(days=day)
                    yield Expected(alone, first, tuple(each for each in expected if each.date >= first))


def count_moves(days: int, every: int = 1) -> Moves:
    """What moves over so many dates of each kitchen when one forecast changes; of the changes, every so manieth."""
    moves = Moves()
    for expected in demo_days(days):
        before = expected.loads()
        for changed in list(expected.nudged())[::every]:
            moves.compare(before, changed.loads())
    return moves

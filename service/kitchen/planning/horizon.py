"""The horizon: which needs can change the list of a date.

Responsible for how far a plan looks (P14). Refuses to know amounts and lots: what it tells holds for any of them.

How it decides. A list shows what is needed or begins before its date ends. From there it follows, for every item, a moment from
which on nothing that is needed of it counts any more; twice through all items:

- Consumers first. A run that is shown tells what it contains, so that all it draws counts, and what the runs behind that draw (P12).
- Suppliers first. A run counts where anything that it draws or gives counts, for it takes or leaves a part of that. While it is
  open, later needs join it: those of its ``makes_for`` and within its use-by (P4).

A run is ready when something is needed, and that is some time before guests are served or a par is due: so many hours before lunch,
never at four in the morning. Without that, each level of sub-recipes would reach a day further. Keeping alone reaches nowhere: what
is needed later takes from a lot later. Where a site states shifts, a run may be ready and begin earlier, by at most so much (K3).

Inside, moments are whole seconds since 1970, and dates are counted from the list's own, which is 0.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import ONE_DAY, ZERO, Calendar
from service.kitchen.planning.demand import Need
from service.kitchen.planning.sequence import lead_of_cut
from service.kitchen.planning.staffing import Staffing
from service.kitchen.planning.ways import EVER, Open, Way, ways_by_hours
from service.limits import MAKES_FOR

NEVER = -1
# A run of so many dates ago takes no need of today; one of the farthest date takes none that is so many dates later.
AROUND = int(MAKES_FOR.most) + 2


class Horizon(NamedTuple):
    """Until which date demand can count for a list, and before which moment needs of each item (of a cut, its first form) do."""

    until: date
    moments: Mapping[Item, datetime]


class Outlook:
    """How far the list of ``on`` looks in a plan from ``first``; ``reported`` are the needs of reported work.

    Raises RecipeLoop where versions in force need each other.
    """

    def __init__(
        self, catalogue: Catalogue, site: Site, first: date, on: date, reported: Iterable[Need] = (), staffing: Staffing | None = None
    ) -> None:
        self.catalogue = catalogue
        self.site = site
        self.on = on
        self.ways = ways_by_hours(catalogue, site, first, on, staffing)
        self.farthest = on + self.ways.reach + 2 * ONE_DAY
        self.calendar = site.calendar()
        self.days = _Days(self.calendar, on, (self.farthest - on).days + AROUND)
        self.reported = [(need, place) for need in reported for place in self._places([need.item])]

    def horizon(self, events: Iterable[tuple[date, time]]) -> Horizon:
        """What counts, given the service dates and times of the site's events from ``on`` to the farthest date."""
        sold = [Item.recipe(each.recipe) for menu_item in self.catalogue.menu_items.values() for each in menu_item.components]
        guests, pars = self._places(sold), self._places(par.item for par in self.site.pars)
        asking = (self._served(guests, events), self._due(pars), self._begun())
        moments = self._moments([each for each in asking if each.moments and each.before])
        until = self.days.last_before(max((moments[place] for place in (*guests, *pars)), default=self.days.after(0)))
        counting = zip(self.ways.items, moments, strict=True)
        return Horizon(self.on + until * ONE_DAY, {item: datetime.fromtimestamp(moment, UTC) for item, moment in counting})

    def _places(self, items: Iterable[Item]) -> list[int]:
        """Where items stand among the ways; what is in no version's reach stands nowhere, and nothing is asked of it."""
        leads = dict.fromkeys(lead_of_cut(self.catalogue, item) for item in items)
        return [self.ways.places[item] for item in leads if item in self.ways.places]

    def _later(self) -> list[date]:
        return [self.on + days * ONE_DAY for days in range(1, (self.farthest - self.on).days + 1)]

    def _served(self, places: Iterable[int], events: Iterable[tuple[date, time]]) -> "_Asked":
        """What guests of later dates ask for, at the times of periods and events (P1)."""
        times = [(day, period.ready_by) for day in self._later() for period in self.site.periods]
        return self._asked((self.calendar.moment(day, at) for day, at in (*times, *events)), places)

    def _due(self, places: Iterable[int]) -> "_Asked":
        """What pars of later dates ask for (P16)."""
        times = [(day, par.by) for day in self._later() for par in self.site.pars if day.isoweekday() in par.weekdays]
        return self._asked((self.calendar.moment(day, at) for day, at in times), places)

    def _begun(self) -> "_Asked":
        """What is still to be done of reported work asks for (P15 b)."""
        begun = [(need, place) for need, place in self.reported if not need.settled]
        return self._asked((need.at for need, _ in begun), (place for _, place in begun))

    def _asked(self, moments: Iterable[datetime], places: Iterable[int]) -> "_Asked":
        """Moments at which some items are asked for, and how long before them what these are made of can be needed."""
        # Asked for are later dates: what is in force no more by then makes nothing for them.
        tomorrow = self.on.toordinal() + 1
        before = dict.fromkeys(places, (0, 0))
        for place, of_item in enumerate(self.ways.of):
            if place in before:
                for part, lead in (draw for way in of_item if way.ends > tomorrow for draw in way.draws):
                    least, most = (seconds + lead for seconds in before[place])
                    known = before.get(part, (least, most))
                    before[part] = (min(known[0], least), max(known[1], most))
        return _Asked(sorted({int(moment.timestamp()) for moment in moments}), before)

    def _moments(self, asked: Sequence["_Asked"]) -> list[int]:
        """For every item the moment from which on nothing that is needed of it counts."""
        days, all_ways = self.days, self.ways.of
        counting = [days.after(0)] * len(all_ways)
        for place, of_item in enumerate(all_ways):
            for way in of_item:
                shown = self._runs(place, way, asked, [days.start(1) + way.lead, counting[place]])
                for part, lead in way.draws if shown != NEVER else ():
                    # What else is drawn holds the same whatever it comes from (A1).
                    if self.ways.items[part].is_recipe:
                        counting[part] = max(counting[part], shown - lead)
        drawn = counting.copy()
        # What reported work took it may take before its turn: whatever is needed by then counts (P15 c).
        for need, place in self.reported:
            if need.settled:
                early = max((way.early for way in all_ways[place]), default=0)
                counting[place] = max(counting[place], int(need.at.timestamp()) + early + 1)
        for place in reversed(range(len(all_ways))):
            for way in all_ways[place]:
                parts = [*(counting[part] + lead for part, lead in way.draws), *(counting[part] + way.early for part in way.gives)]
                runs = self._runs(place, way, asked, [days.start(1) + way.lead, drawn[place], *parts])
                if runs != NEVER:
                    counting[place] = max(counting[place], *(days.joining(runs, each) for each in way.open))
        return counting

    def _runs(self, place: int, way: Way, asked: Sequence["_Asked"], moments: Iterable[int]) -> int:
        """A moment after all runs of an item that are made some way before one of some moments; NEVER where there are none."""
        latest = max(moments)
        return self.days.in_force(way, min(latest, max([self.days.after(0), *(each.last_need(place, latest) for each in asked)])))


class _Asked(NamedTuple):
    """Moments in order, and for each item the least and the most seconds before one of them at which it can be needed."""

    moments: Sequence[int]
    before: Mapping[int, tuple[int, int]]

    def last_need(self, place: int, moment: int) -> int:
        """The first moment after all needs of an item that come before some moment; NEVER where there are none."""
        if place not in self.before:
            return NEVER
        least, most = self.before[place]
        number = bisect_left(self.moments, moment + most)
        return min(moment, self.moments[number - 1] - least + 1) if number else NEVER


class _Days:
    """The dates around a list's own. Where clocks go forward, a need's moment may lie outside its date by as much (T3)."""

    def __init__(self, calendar: Calendar, on: date, number: int) -> None:
        starts = [calendar.start(on + days * ONE_DAY) for days in range(-AROUND, number)]
        offsets = [(start.astimezone(calendar.zone).utcoffset() or ZERO) // timedelta(seconds=1) for start in starts]
        self.on = on.toordinal()
        self.starts = [int(start.timestamp()) for start in starts]
        self.gaps = [max(0, offsets[min(day + 1, len(offsets) - 1)] - offsets[max(day - 1, 0)]) for day in range(len(offsets))]

    def start(self, day: int) -> int:
        """The first moment of a date (T4)."""
        return self.starts[day + AROUND]

    def after(self, day: int) -> int:
        """A moment that is after every need of a date."""
        return self.starts[day + AROUND + 1] + self.gaps[day + AROUND + 1]

    def last_before(self, moment: int) -> int:
        """The latest date that a need before a moment can have."""
        day = bisect_left(self.starts, moment) - 1
        return bisect_left(self.starts, moment + self.gaps[day]) - 1 - AROUND

    def in_force(self, way: Way, moment: int) -> int:
        """The moment before which runs come that are made some way while it is in force, given the one for any way; NEVER if none."""
        if way.begins > self.on + self.last_before(moment) or way.ends + AROUND <= self.on:
            return NEVER
        return moment if way.ends == EVER else min(moment, self.after(min(way.ends - 1 - self.on, len(self.starts) - 2 - AROUND)))

    def joining(self, runs: int, open_: Open) -> int:
        """A moment after all needs that may join one of the runs that are ready before some moment (P4, T6)."""
        joining = self.after(self.last_before(runs) + open_.dates - 1)
        return max(runs, joining if open_.seconds is None else min(joining, runs + open_.seconds))

"""The past: what business dates that are over leave behind for a plan.

Responsible for closing a date: what reported work made and drew on it, what guests took and what counts found become the
lots that are open at its end (domain P3, P15 c to g). Refuses to plan: nothing that is over asks for anything. A closed
date is of the size of the stock, not of history.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TypeVar

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import ONE_DAY, Calendar
from service.kitchen.planning.counted import Counted, counted_lot
from service.kitchen.planning.demand import Need
from service.kitchen.planning.reported import Eaten, Fixed, FixedPull, FixedRun, Reported, Taking
from service.kitchen.planning.stock import ALWAYS, NIL, Lot, Shelf

_Event = TypeVar("_Event")


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """What a business date that is over leaves: its open lots, each with what is left of it.

    ``lots`` are in the kitchen, ``store`` in store, ``counted`` tells when each item was last counted. Lots that were last
    usable on the date itself are still there: they are what the next morning finds and must not use. ``expired`` is what
    counts found that could not be used on the date any more; it is there until its item is counted again (H2).
    """

    on: date
    lots: tuple[Lot, ...] = ()
    store: tuple[Lot, ...] = ()
    expired: tuple[Lot, ...] = ()
    counted: Mapping[Item, datetime] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What was said of dates that are not closed: fixed work, counts (an item may have several), what guests asked for (P15 g).

    Of a date with counts from which a plan begins, its own guests belong to it, too, and its ``pars``.
    """

    fixed: Fixed = field(default_factory=Fixed)
    counted: tuple[Counted, ...] = ()
    guests: tuple[Need, ...] = ()
    pars: tuple[Need, ...] = ()


class Past:
    """What happened at a site since it was closed last, by the business date on which it counts."""

    def __init__(self, catalogue: Catalogue, site: Site, facts: Facts) -> None:
        self._catalogue = catalogue
        self._site = site
        self._calendar = site.calendar()
        self._facts = facts
        self._lots: dict[date, list[Lot]] = defaultdict(list)
        self._takings: dict[date, list[Taking]] = defaultdict(list)
        self._stored: dict[date, list[FixedPull]] = defaultdict(list)
        self._counted: dict[date, list[Counted]] = defaultdict(list)
        date_of = self._calendar.business_date
        works: list[FixedRun | FixedPull] = [*facts.fixed.runs, *facts.fixed.pulls]
        for work in works:
            for lot in work.made(catalogue, self._calendar):
                self._lots[date_of(lot.counts_at)].append(lot)
        for run in facts.fixed.runs:
            for taking in run.takings(self._calendar):
                self._takings[date_of(taking.counts_at)].append(taking)
        for need in facts.guests:
            self._takings[date_of(need.at)].append(Taking(need, need.at))
        for pull in facts.fixed.pulls:
            self._stored[date_of(pull.done)].append(pull)
        for each in facts.counted:
            self._counted[date_of(each.counted_at)].append(each)

    def close(self, start: Closed, first: date) -> list[Closed]:
        """Every date after ``start`` and before ``first`` on which something happened, closed in order, and the last before ``first``."""
        closed = [start]
        # The last date is closed whatever happened, so that the next plan begins there.
        happened = {*self._lots, *self._takings, *self._stored, *self._counted, first - ONE_DAY}
        for on in sorted(happened):
            if closed[-1].on < on < first:
                closed.append(self._close(closed[-1], on))
        return closed[1:]

    def _close(self, before: Closed, on: date) -> Closed:
        """What is left at the end of a date: lots first expired first, takers in order of time; what they lack asks for nothing."""
        stock = _Stock(before, newest(self._counted[on]))
        start = self._calendar.start(on)
        found = self._in_kitchen(stock, self._lots[on])
        kitchen = _shelves(lot for lot in found if _there(lot, start))
        for need, done in sorted(self._takings[on], key=lambda taking: taking.need.order):
            # What was taken before a count is gone from what it found.
            if not stock.found(need.item, done):
                kitchen[need.item].take(need.amount, need.at)
        store = self._in_store(stock, self._stored[on])
        return Closed(
            on=on,
            lots=_open(kitchen, start),
            store=_open(store, start),
            expired=stock.expired(found, start),
            counted=stock.counted,
        )

    def take_in(self, closed: Closed) -> Reported:
        """What the closed past and all that happened since mean for a plan from the date after it (P15).

        A run of which nothing can be used any more is not asked to be finished.
        """
        fixed, first = self._facts.fixed, closed.on + ONE_DAY
        start = self._calendar.start(first)
        stock = _Stock(closed, newest(self._counted[first]))
        eaten, filled = self._before_counts(closed, first)
        standing = [each for each in fixed.runs if each.finished or not each.over(start)]
        takings = [taking for taking in _since(self._takings, first) if taking.need.settled]
        kitchen = self._in_kitchen(stock, _since(self._lots, first))
        return Reported(
            runs=tuple(sorted(standing, key=lambda each: each.run.order)),
            pulls=tuple(sorted(fixed.pulls, key=lambda each: (each.pull.on, each.pull.item.order, each.pull.at, each.pull.id))),
            lots=tuple(lot for lot in kitchen if _there(lot, start)),
            needs=(
                *(taking.need for taking in takings if not stock.found(taking.need.item, taking.done)),
                *(need for each in standing for need in each.open_needs(self._calendar)),
            ),
            eaten=eaten,
            filled=filled,
            said=fixed.said,
            store=_open(self._in_store(stock, _since(self._stored, first)), start),
            expired=stock.expired(kitchen, start),
            ids=fixed.ids,
        )

    def _before_counts(self, closed: Closed, first: date) -> tuple[Mapping[Eaten, float], Collection[Need]]:
        """What guests of ``first`` had of an item before a count of that date found the rest, and which pars were full then (P15 d)."""
        eaten: dict[Eaten, float] = defaultdict(float)
        filled: list[Need] = []
        asking = sorted([*self._takings[first], *(Taking(par, par.at) for par in self._facts.pars)], key=lambda each: each.need.order)
        counted = self._counted[first]
        # From the newest count to the oldest: between two of them guests ate of what the older one had found.
        while counted:
            stock = _Stock(closed, newest(counted))
            counted = [each for each in counted if stock.found(each.item, each.counted_at)]
            before = _Stock(closed, newest(counted))
            shelves = _shelves(lot for lot in self._in_kitchen(before, self._lots[first]) if stock.found(lot.item, lot.done))
            for need, done in asking:
                if need.item not in stock.newest or not stock.found(need.item, done) or before.found(need.item, done):
                    continue
                if need.par is not None:
                    filled += [need] if shelves[need.item].usable(need.at) >= need.amount * (1 - NIL) else []
                    continue
                given = sum(amount for _, amount in shelves[need.item].take(need.amount, need.at))
                if need.outlet is not None:
                    eaten[need.item, need.at, need.outlet] += given
        return dict(eaten), filled

    def _in_kitchen(self, stock: "_Stock", made: Iterable[Lot]) -> list[Lot]:
        """What was left before, made or pulled since and not counted since then, and what the newest counts found."""
        lots = [replace(lot, taken=[]) for lot in (*stock.before.lots, *made) if not stock.found(lot.item, lot.done)]
        return [*lots, *self._counted_lots(stock, in_store=False)]

    def _in_store(self, stock: "_Stock", pulls: Iterable[FixedPull]) -> dict[Item, Shelf]:
        """What was left in store, or counted there since, less what reported pulls took."""
        left = [replace(lot, taken=[]) for lot in stock.before.store if not stock.found(lot.item, lot.done)]
        shelves = _shelves([*left, *self._counted_lots(stock, in_store=True)])
        for each in sorted(pulls, key=lambda one: (one.done, one.pull.id)):
            if not stock.found(each.pull.item, each.done):
                shelves[each.pull.item].take(each.amount, each.done)
        return shelves

    def _counted_lots(self, stock: "_Stock", *, in_store: bool) -> Iterable[Lot]:
        rows = [row for counted in stock.newest.values() for row in counted if row.in_store == in_store]
        lots = [counted_lot(self._catalogue, self._site.code, self._calendar, row) for row in rows]
        return (lot for lot in lots if lot.amount > 0)


class _Stock:
    """What was left before, and the newest counts since: what a count has found counts once."""

    def __init__(self, before: Closed, newest: Mapping[Item, list[Counted]]) -> None:
        self.before = before
        self.newest = newest
        self.counted = {**before.counted, **{item: rows[0].counted_at for item, rows in newest.items()}}

    def found(self, item: Item, done: datetime) -> bool:
        """Whether a count has already found what was done by then: made, drawn or eaten (P15 d)."""
        counted_at = self.counted.get(item)
        return counted_at is not None and counted_at > done

    def expired(self, kitchen: Iterable[Lot], start: datetime) -> tuple[Lot, ...]:
        """What counts found in the kitchen that may be used no more on a date that starts at a moment (H2)."""
        known = [lot for lot in self.before.expired if not self.found(lot.item, lot.done)]
        return (*known, *(lot for lot in kitchen if lot.counted and not lot.use_by.lasts(start)))


def newest(counted: Iterable[Counted]) -> dict[Item, list[Counted]]:
    """The lots of each item's newest count; of two at one moment the later recorded (P3)."""
    lots: dict[Item, list[Counted]] = {}
    for each in sorted(counted, key=lambda row: (row.counted_at, row.number)):
        rows = lots.setdefault(each.item, [])
        if rows and (rows[0].counted_at, rows[0].number) < (each.counted_at, each.number):
            rows.clear()
        rows.append(each)
    return lots


def unfinished(work: FixedRun | FixedPull, calendar: Calendar, on: date) -> bool:
    """Whether something of fixed work is still to come when a date is closed: a stage that nobody reported, a lot, a draw, or a thaw."""
    end = calendar.end(on)
    if isinstance(work, FixedPull):
        return max(work.pull.at, work.done, work.thawed_late or work.done) >= end
    if not work.finished and not work.over(end):
        return True
    return max(work.run.ready, work.done) >= end or any(taking.counts_at >= end for taking in work.takings(calendar))


def first_counting(
    old: FixedRun | FixedPull | None, new: FixedRun | FixedPull | None, catalogue: Catalogue, calendar: Calendar
) -> date | None:
    """The first business date on which one state of a run or pull counts otherwise than another; None where none does.

    From there on closed dates must be closed anew.
    """
    differing = _events(old, catalogue, calendar) ^ _events(new, catalogue, calendar)
    return min((calendar.business_date(moment) for moment, *_ in differing), default=None)


def _events(work: FixedRun | FixedPull | None, catalogue: Catalogue, calendar: Calendar) -> set[tuple[datetime, object, float, datetime]]:
    """Whatever work makes or takes: when it counts, of what, how much, and when it was done."""
    if work is None:
        return set()
    events: set[tuple[datetime, object, float, datetime]] = {
        (lot.counts_at, lot.item, lot.amount, lot.done) for lot in work.made(catalogue, calendar)
    }
    if isinstance(work, FixedPull):
        return events | {(work.done, work.pull.id, work.amount, work.done)}
    return events | {(each.counts_at, each.need.item, -each.need.amount, each.done) for each in work.takings(calendar)}


def _since(events: Mapping[date, list[_Event]], first: date) -> Iterable[_Event]:
    return (event for on in sorted(events) if on >= first for event in events[on])


def _shelves(lots: Iterable[Lot]) -> dict[Item, Shelf]:
    shelves: dict[Item, Shelf] = defaultdict(Shelf)
    for lot in lots:
        shelves[lot.item].add(lot)
    return shelves


def _open(shelves: Mapping[Item, Shelf], since: datetime) -> tuple[Lot, ...]:
    """What is left of lots that could be used at some moment or later, by item."""
    left = [lot for shelf in shelves.values() for lot in shelf.lots if lot.left > 0 and lot.use_by.lasts(since)]
    return tuple(replace(lot, amount=lot.left, taken=[]) for lot in sorted(left, key=lambda lot: (lot.item.order, *lot.order)))


def _there(lot: Lot, start: datetime) -> bool:
    """Whether a lot is on hand on a date that starts at a moment; late work that was done since is there for other late work (P3)."""
    return lot.use_by.lasts(start) or (lot.ready != ALWAYS and lot.done >= start)

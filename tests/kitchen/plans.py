"""Plans for tests: needs, stock and forecasts from a few words, and what a plan made of them.

Responsible for planning a small kitchen as the service does, and for finding runs, uses, pulls and tasks
in a plan. Refuses to know any rule and what a test is about.
"""

from collections import deque
from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from service.kitchen.book.capacity import Capacity
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.explained.shares import Shares
from service.kitchen.lists.prep_list import Asked, prep_list
from service.kitchen.measures.units import Quantity, System
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.demand import Demand, Need, Share, foresee
from service.kitchen.planning.guests import Event, Forecast, Outlet, Override, OverrideKey
from service.kitchen.planning.horizon import Horizon, Outlook
from service.kitchen.planning.past import Closed, Facts, Past
from service.kitchen.planning.plan import Plan, Use, plan
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.reported import Reported
from service.kitchen.planning.runs import Run
from service.kitchen.planning.staffing import AS_USUAL, Staffing
from service.kitchen.planning.stock import Lot
from tests.kitchen.larder import GUESTS, TUE, Document, at, item, only_site, quantity, site


def wanted(words: str, amount: float, on: date, clock: str, for_item: str = GUESTS, where: Site | None = None) -> Need:
    """A need of guests: an amount in the item's stock kind (g, mL or each) at a civil date and clock time."""
    place = where or site()
    when = at(on, clock, place)
    today = place.calendar().business_date(when)
    outlet = Outlet(for_item, today, "lunch", None)
    return Need(item=item(words), at=when, amount=amount, portions=amount, outlet=outlet, label=for_item, on=today)


def lot(words: str, amount: float, on: date | None = None, **fields: Any) -> Lot:
    """A lot on hand that keeps for ever, or until the end of a business date."""
    if on is not None:
        fields["use_by"] = site().calendar().use_by_date(on, 0)
    return Lot(item=item(words), amount=amount, **fields)


def counted(words: str, amount: str, when: datetime, made_on: date | None = None, *, in_store: bool = False) -> Counted:
    """A lot of a count."""
    return Counted(
        item=item(words), quantity=Quantity.read(quantity(amount), told=True), counted_at=when, made_on=made_on, in_store=in_store
    )


def forecast(on: date, sold: str, count: int, period: str = "lunch", source: str = "till", event: Event | None = None) -> Forecast:
    """A forecast of a menu item by its code."""
    return Forecast(date=on, period=period, count=count, source=source, menu_item=sold, event=event)


def plan_needs(
    catalogue: Catalogue,
    needs: Iterable[Need],
    lots: Iterable[Lot] = (),
    first: date = TUE,
    days: int = 14,
    different: Mapping[date, Capacity] = AS_USUAL,
) -> Plan:
    """The plan of a catalogue's only site for these needs alone: no forecasts, and no pars but those among the needs."""
    place = only_site(catalogue)
    found = tuple(needs)
    portions = {need.outlet: need.portions for need in found if need.outlet is not None}
    demand, until = Demand(found, (), portions), first + timedelta(days=days)
    return remember(plan(catalogue, place, demand, lots, first, until, staffing=Staffing.of(place, different)))


# The newest plans that tests made: a run alone does not say whose it is.
RECENT: deque[Plan] = deque(maxlen=100)


def remember(planned: Plan) -> Plan:
    """A plan, of whose runs and pulls it can be asked later for whom they are."""
    RECENT.append(planned)
    return planned


def shares_of(work: Run | Pull) -> Shares:
    """For whom everything is in the plan of a run or pull; what was fixed knows it by itself, whatever the plan."""
    return Shares(next((each for each in reversed(RECENT) if any(one is work for one in (*each.runs, *each.pulls))), RECENT[-1]))


def made_for(run: Run) -> list[Share]:
    """For whom a run works."""
    return shares_of(run).of_run(run)


def pulled_for(pull: Pull) -> list[Share]:
    """For whom something is pulled."""
    return list(shares_of(pull).of_pull(pull))


def counts(catalogue: Catalogue, where: Site, stock: Iterable[Counted], first: date) -> Reported:
    """What counts alone mean for a plan from a date: the lots on hand, and the stock in store."""
    past = Past(catalogue, where, Facts(counted=tuple(stock)))
    return past.take_in(past.close(Closed(on=date.min), first)[-1])


def plan_forecasts(
    catalogue: Catalogue,
    forecasts: Iterable[Forecast] = (),
    stock: Iterable[Counted] = (),
    *,
    on: date = TUE,
    first: date = TUE,
    until: date | None = None,
    overrides: Mapping[OverrideKey, Override] | None = None,
) -> Plan:
    """The plan of a catalogue's only site from ``first``: of what counts for the list of ``on``, as the service makes it.

    With ``until`` it is of all that is asked for until that date.
    """
    place = only_site(catalogue)
    calendar = place.calendar()
    found = list(forecasts)
    horizon = horizon_of(catalogue, found, on, first)
    last = until or horizon.until
    demand = foresee(catalogue, place, calendar, found, overrides or {}, first, last)
    moments = horizon.moments if until is None else None
    reported, staffing = counts(catalogue, place, stock, first), Staffing.of(place)
    return remember(plan(catalogue, place, demand, (), first, last, reported=reported, moments=moments, staffing=staffing))


def horizon_of(catalogue: Catalogue, forecasts: Iterable[Forecast] = (), on: date = TUE, first: date = TUE) -> Horizon:
    """How far the list of a date of the only site looks in a plan from ``first``."""
    place = only_site(catalogue)
    return Outlook(catalogue, place, first, on, (), Staffing.of(place)).horizon(event_times(forecasts))


def event_times(forecasts: Iterable[Forecast]) -> list[tuple[date, time]]:
    """The dates and own times of the events among forecasts."""
    return [(each.date, each.event.serve_at) for each in forecasts if each.event is not None and each.event.serve_at is not None]


def list_of(
    planned: Plan,
    catalogue: Catalogue,
    on: date = TUE,
    *,
    trace: bool = False,
    system: System = "metric",
    quarter: datetime | None = None,
) -> Document:
    """The list of a date of a plan; with the quarter hour now begun where it is the current one."""
    return dict(prep_list(planned, catalogue, only_site(catalogue), Asked(on=on, system=system, trace=trace, quarter=quarter)))


def tasks_of(document: Document, kind: str | None = None) -> list[Document]:
    """The tasks of a list over all stations, or those of one kind."""
    return [task for station in document["stations"] for task in station["tasks"] if kind in (None, task["kind"])]


def runs_of(planned: Plan, words: str) -> list[Run]:
    """The runs of an item (of a cut: of its first form) in order of time."""
    return sorted((run for run in planned.runs if run.item == item(words)), key=lambda run: run.at)


def only_run(planned: Plan, words: str) -> Run:
    """The one run of an item."""
    (run,) = runs_of(planned, words)
    return run


def uses_of(planned: Plan, words: str) -> list[Use]:
    """What lots of an item gave, in order of time."""
    return sorted((use for use in planned.uses if use.lot.item == item(words)), key=lambda use: use.need.at)


def pulls_of(planned: Plan, words: str) -> list[Pull]:
    """The pulls of an ingredient in order of time."""
    return sorted((pull for pull in planned.pulls if pull.item == item(words)), key=lambda pull: pull.at)


def drawn(run: Run, words: str) -> float:
    """How much a run draws of an item."""
    return sum(draw.amount for draw in run.draws if draw.item == item(words))

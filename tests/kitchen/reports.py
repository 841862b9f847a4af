"""Reported work for tests: runs, pulls and uses of a plan as a print or a report keeps them, and plans that take them in.

Responsible for fixing work the way the service does, through the documents that it stores. Refuses to know any rule and
what a test is about.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists import listed
from service.kitchen.lists.freezing import freeze_list
from service.kitchen.lists.frozen import freeze_pull, freeze_run, thaw_pull, thaw_run
from service.kitchen.lists.kept import freeze_closed, thaw_closed
from service.kitchen.lists.timing import Timing
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.demand import foresee
from service.kitchen.planning.guests import Forecast
from service.kitchen.planning.horizon import Outlook
from service.kitchen.planning.past import Closed, Facts, Past
from service.kitchen.planning.plan import Plan, plan
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.reported import Fixed, FixedPull, FixedRun, Report, Reported
from service.kitchen.planning.runs import Run
from service.kitchen.safety.allergens import Rollup
from service.store.documents import decode, encode
from tests.kitchen.larder import TUE, only_site
from tests.kitchen.plans import event_times, remember, shares_of


def said(
    when: datetime, state: str = "done", *, made: float | None = None, begun: float | None = None, drawn: float | None = None
) -> Report:
    """A report of a moment, at which the work was done; amounts in the stock kind."""
    return Report(state=state, at=when, stated=True, made=made, begun=begun, drawn=drawn)


def stored(document: Any) -> Any:
    """A document as it comes back from the store."""
    return decode(encode(document))


def fixed_run(catalogue: Catalogue, run: Run, reports: Mapping[int, Report]) -> FixedRun:
    """A run as a report of some of its stages fixed it."""
    allergens = Rollup(catalogue, only_site(catalogue).code).of_run(run)
    return FixedRun(thaw_run(stored(freeze_run(run, allergens, shares_of(run))), catalogue, run.id), reports)


def fixed_pull(pull: Pull, report: Report) -> FixedPull:
    """A pull as a report fixed it."""
    return FixedPull(thaw_pull(stored(freeze_pull(pull, shares_of(pull))), pull.id), report)


def take(
    catalogue: Catalogue,
    *work: FixedRun | FixedPull,
    stock: Iterable[Counted] = (),
    first: date = TUE,
    told: Mapping[str, Report] | None = None,
    forecasts: Iterable[Forecast] = (),
) -> Reported:
    """What fixed work, counts and past guests mean for a plan of the only site from a date, through the documents of closed dates."""
    site = only_site(catalogue)
    calendar = site.calendar()
    fixed = Fixed(
        tuple(each for each in work if isinstance(each, FixedRun)),
        tuple(each for each in work if isinstance(each, FixedPull)),
        told or {},
    )
    rows = [each for each in forecasts if each.date <= first]
    demand = foresee(catalogue, site, calendar, rows, {}, min((each.date for each in rows), default=first), first)
    guests = tuple(need for need in demand.needs if need.outlet is not None)
    pars = tuple(need for need in demand.needs if need.par is not None and need.on == first)
    past = Past(catalogue, site, Facts(fixed=fixed, counted=tuple(stock), guests=guests, pars=pars))
    last = past.close(Closed(on=date.min), first)[-1]
    return past.take_in(thaw_closed(stored(freeze_closed(last)), last.on, catalogue))


def plan_after(
    catalogue: Catalogue,
    forecasts: Iterable[Forecast],
    *work: FixedRun | FixedPull,
    stock: Iterable[Counted] = (),
    on: date = TUE,
    first: date = TUE,
    told: Mapping[str, Report] | None = None,
) -> Plan:
    """The plan of a catalogue's only site from ``first`` that takes in fixed work, as the service makes it."""
    site, known = only_site(catalogue), list(forecasts)
    reported = take(catalogue, *work, stock=stock, first=first, told=told, forecasts=known)
    horizon = Outlook(catalogue, site, first, on, reported.needs).horizon(event_times(known))
    demand = foresee(catalogue, site, site.calendar(), known, {}, first, horizon.until)
    return remember(plan(catalogue, site, demand, (), first, horizon.until, reported=reported, moments=horizon.moments))


def shown(planned: Plan, catalogue: Catalogue, on: date) -> dict[str, tuple[str, tuple[str, ...], Any]]:
    """The work behind a date's list by id: its kind, tasks and document."""
    return {each.work: (each.kind, each.tasks, each.document) for each in freeze_list(planned, catalogue, only_site(catalogue), on)}


def uses_on(planned: Plan, catalogue: Catalogue, on: date) -> dict[tuple[str, date], float]:
    """How much lots give of each item for each date of need on a list."""
    calendar = only_site(catalogue).calendar()
    found = listed.uses_on(planned, on, Timing(planned), calendar)
    return {(uses[0].lot.item.label, needed): sum(each.amount for each in uses) for needed, uses in found}

"""Reported work for tests: runs, pulls and uses of a plan as a print or a report keeps them, and plans that take them in.

Responsible for fixing work the way the service does, through the documents that it stores. Refuses to know any rule and
what a test is about.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists.freezing import freeze_list
from service.kitchen.lists.frozen import freeze_pull, freeze_run, freeze_use, thaw_pull, thaw_run, thaw_use
from service.kitchen.lists.prep_list import grouped_uses
from service.kitchen.planning.counted import Counted, bygone, on_hand
from service.kitchen.planning.demand import Forecast, foresee
from service.kitchen.planning.horizon import Outlook
from service.kitchen.planning.plan import Plan, plan
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.reported import Fixed, FixedPull, FixedRun, FixedUse, Report, Reported, take_in
from service.kitchen.planning.runs import Run
from service.kitchen.safety.allergens import Rollup
from service.store.documents import decode, encode
from tests.kitchen.larder import TUE, only_site
from tests.kitchen.plans import event_times, uses_of


def said(when: datetime, state: str = "done", made: float | None = None, drawn: float | None = None) -> Report:
    """A report of a moment; amounts in the stock kind."""
    return Report(state, when, made, drawn)


def stored(document: Any) -> Any:
    """A document as it comes back from the store."""
    return decode(encode(document))


def fixed_run(catalogue: Catalogue, run: Run, reports: Mapping[int, Report]) -> FixedRun:
    """A run as a report of some of its stages fixed it."""
    allergens = Rollup(catalogue, only_site(catalogue).code).of_run(run)
    return FixedRun(thaw_run(stored(freeze_run(run, allergens)), catalogue), reports)


def fixed_pull(pull: Pull, report: Report) -> FixedPull:
    """A pull as a report fixed it."""
    return FixedPull(thaw_pull(stored(freeze_pull(pull))), report)


def fixed_use(planned: Plan, words: str, report: Report | None = None) -> FixedUse:
    """What the lots of an item gave, as one use, as a print or a report kept it."""
    return replace(thaw_use(stored(freeze_use(uses_of(planned, words)))), report=report)


def take(
    catalogue: Catalogue,
    *work: FixedRun | FixedPull | FixedUse,
    stock: Iterable[Counted] = (),
    first: date = TUE,
    told: Mapping[str, Report] | None = None,
) -> Reported:
    """What fixed work means for a plan of the only site from a date, with the newest count of each item."""
    site, found = only_site(catalogue), list(stock)
    fixed = Fixed(
        tuple(each for each in work if isinstance(each, FixedRun)),
        tuple(each for each in work if isinstance(each, FixedPull)),
        tuple(each for each in work if isinstance(each, FixedUse)),
        told or {},
    )
    since = {each.item: each.counted_at for each in found}
    gone = bygone(catalogue, site.code, site.calendar(), found, first)
    return take_in(catalogue, site.calendar(), fixed, since, first, gone)


def plan_after(
    catalogue: Catalogue,
    forecasts: Iterable[Forecast],
    *work: FixedRun | FixedPull | FixedUse,
    stock: Iterable[Counted] = (),
    on: date = TUE,
    first: date = TUE,
    told: Mapping[str, Report] | None = None,
) -> Plan:
    """The plan of a catalogue's only site from ``first`` that takes in fixed work, as the service makes it."""
    site, found = only_site(catalogue), list(stock)
    reported = take(catalogue, *work, stock=found, first=first, told=told)
    expected = list(forecasts)
    horizon = Outlook(catalogue, site, first, on, reported.needs).horizon(event_times(expected))
    demand = foresee(catalogue, site, site.calendar(), expected, {}, first, horizon.until)
    lots = on_hand(catalogue, site.code, site.calendar(), found, first)
    return plan(catalogue, site, horizon.counting(demand), lots, first, horizon.until, reported=reported)


def shown(planned: Plan, catalogue: Catalogue, on: date) -> dict[str, tuple[str, tuple[str, ...], Any]]:
    """The work behind a date's list by id: its kind, tasks and document."""
    return {each.work: (each.kind, each.tasks, each.document) for each in freeze_list(planned, catalogue, only_site(catalogue), on)}


def uses_on(planned: Plan, catalogue: Catalogue, on: date) -> dict[tuple[str, date], float]:
    """How much lots give of each item for each date of need on a list."""
    calendar = only_site(catalogue).calendar()
    return {(uses[0].lot.item.label, needed): sum(each.amount for each in uses) for needed, uses in grouped_uses(planned, on, calendar)}

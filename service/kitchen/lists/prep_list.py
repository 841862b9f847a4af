"""The prep list: one date's slice of a plan, by station.

Responsible for which tasks, pulls, left-over and warnings stand on a date's list and in which order
(domain P7, P9, P13, P14, Y4, H2, H3). Refuses to plan: another date is another slice of the same plan.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.explained.shares import Shares
from service.kitchen.lists.documents import ExpectedRow, LeftOver, PrepList, PullEntry, StationTasks
from service.kitchen.lists.keeping import Keeping, discarded
from service.kitchen.lists.listed import pulls_on, stages_on, uses_on
from service.kitchen.lists.loads import capacity_warnings, cooks_at, loads_on
from service.kitchen.lists.naming import Naming
from service.kitchen.lists.rota import capacity_of
from service.kitchen.lists.supplies import pull_document, use_task
from service.kitchen.lists.tasks import Task, run_task
from service.kitchen.lists.telling import Telling
from service.kitchen.lists.timing import Timing
from service.kitchen.lists.warnings import warnings
from service.kitchen.lists.wording import Words, warning_rows
from service.kitchen.measures.calendar import ZERO, UseBy, write_duration
from service.kitchen.measures.units import System
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.plan import Plan
from service.kitchen.safety.allergens import Rollup
from service.kitchen.safety.cautions import cautions


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Which list is asked for: a date, perhaps one station's tasks, a unit system, and whether to show why.

    ``quarter`` is the quarter hour now begun where the date is the site's current one: then the list tells what is overdue (P7).
    """

    on: date
    system: System
    station: str | None = None
    trace: bool = False
    quarter: datetime | None = None


Whom = Callable[[Callable[[], Iterable[Outlet]]], bool]
"""Whether an entry is told that works for some outlets, which are asked for only if they decide."""


def everybody(_: Callable[[], Iterable[Outlet]]) -> bool:
    """Every entry is told."""
    return True


def prep_list(plan: Plan, catalogue: Catalogue, site: Site, asked: Asked, scheduled: Scheduled | None = None) -> PrepList:
    """The list of one date, as a slice of the plan (P14) at the times of its schedule (K17); ``asked.on`` must lie in the plan's window."""
    telling = telling_of(plan, catalogue, site, asked, scheduled)
    words = telling.words
    tasks, pulls = tasks_on(plan, asked.on, telling), pull_entries(plan, asked.on, telling)
    warned = warnings(plan, asked.on, tasks, pulls, telling)
    document: PrepList = {
        "site": site.code,
        "date": asked.on.isoformat(),
        "from": plan.first.isoformat(),
        "units": asked.system,
        "print": None,
        "expected": _expected(plan, asked.on, words),
        "stations": by_station(catalogue, tasks, asked.station),
        "pulls": pulls,
        "left_over": _left_over(plan, asked.on, words),
        "discard": discarded(plan, words.calendar.start(asked.on), words),
        "warnings": [],
        "cautions": cautions_of(tasks),
    }
    if scheduled is not None:
        loads = loads_on(scheduled, asked.on, plan.first)
        naming = Naming(plan, scheduled, words)
        document["capacity"] = capacity_of(scheduled, asked.on, loads, naming)
        warned += capacity_warnings(asked.on, loads, naming)
        for station in document["stations"]:
            station["cooks"] = cooks_at(station["code"], asked.on, scheduled, words)
    document["warnings"] = warning_rows(warned, words)
    return document


def telling_of(plan: Plan, catalogue: Catalogue, site: Site, asked: Asked, scheduled: Scheduled | None = None) -> Telling:
    """How the entries of a plan's lists are told."""
    return Telling(
        words=Words(catalogue=catalogue, site=site, calendar=site.calendar(), system=asked.system),
        rollup=Rollup(catalogue, site.code, plan),
        first=plan.first,
        trace=asked.trace,
        shares=Shares(plan),
        quarter=asked.quarter,
        most=plan.demand.portions,
        said=plan.reported.said,
        keeping=Keeping(catalogue, plan.uses, plan.runs),
        timing=Timing(plan, scheduled),
    )


def tasks_on(plan: Plan, on: date, telling: Telling, whom: Whom = everybody) -> list[Task]:
    """The tasks of a date's list that some hang on, late ones first, then by start and item (P7, P9)."""
    shares, timing, calendar = telling.shares, telling.timing, telling.words.calendar
    runs = [(run, stage) for run, stage in stages_on(plan, on, timing) if whom(partial(shares.outlets_of_run, run))]
    uses = [(needed, given) for needed, given in uses_on(plan, on, timing, calendar) if whom(partial(shares.outlets_of_uses, given))]
    tasks = [*(run_task(run, stage, telling) for run, stage in runs), *(use_task(given, needed, telling) for needed, given in uses)]
    return sorted(tasks, key=lambda task: task.order)


def _expected(plan: Plan, on: date, words: Words) -> list[ExpectedRow]:
    """What guests of the date are expected to take (P1), in order of time, period, event and menu item."""
    counts = [count for count in plan.demand.counts if count.outlet.on == on]
    return [
        {
            "period": outlet.period,
            "event": outlet.event,
            "at": words.calendar.write(count.at),
            "menu_item": outlet.menu_item,
            "name": words.catalogue.menu_items[outlet.menu_item].name,
            "count": int(count.count) if count.count.is_integer() else count.count,
            "from": "override" if count.overridden else "forecast",
            "sources": list(count.sources),
        }
        for outlet, count in sorted(((count.outlet, count) for count in counts), key=lambda row: (row[1].at, row[0].order))
    ]


def pull_entries(plan: Plan, on: date, telling: Telling, whom: Whom = everybody) -> list[PullEntry]:
    """What must leave store on a date for some: thawing pulls start earlier than their need (P13)."""
    pulls = [
        pull for pull in pulls_on(plan, on, telling.timing, telling.words.calendar) if whom(partial(telling.shares.outlets_of_pull, pull))
    ]
    rows = [pull_document(pull, telling) for pull in pulls]
    return [row[3] for row in sorted(rows, key=lambda row: (row[0], row[1], row[2], row[3]["id"]))]


def by_station(catalogue: Catalogue, tasks: list[Task], only: str | None = None) -> list[StationTasks]:
    """Stations that have something to do, in order of position."""
    found: dict[str, list[Task]] = {}
    for task in tasks:
        if only is None or task.station == only:
            found.setdefault(task.station, []).append(task)

    def place(code: str) -> tuple[int, str]:
        station = catalogue.stations.get(code)
        return (station.position if station else 0, code)

    return [
        {
            "code": code,
            "name": catalogue.station_name(code),
            "active": write_duration(sum((task.active for task in found[code]), ZERO)),
            "tasks": [task.document for task in found[code]],
        }
        for code in sorted(found, key=place)
    ]


def _left_over(plan: Plan, on: date, words: Words) -> list[LeftOver]:
    """What lots ready before the end of the date and usable on it still hold then, per item and use-by (Y4)."""
    start, end = words.calendar.start(on), words.calendar.end(on)
    held: dict[tuple[UseBy, Item], float] = {}
    for lot in plan.lots:
        if lot.ready < end and lot.use_by.covers(start):
            rest = lot.held(end)
            if rest > 0:
                held[lot.use_by, lot.item] = held.get((lot.use_by, lot.item), 0.0) + rest
    rows = sorted(held.items(), key=lambda row: (row[0][0], row[0][1].order))
    return [{"item": words.item(item), "quantity": words.of(item, amount), **words.kept(use_by)} for (use_by, item), amount in rows]


def cautions_of(tasks: list[Task]) -> list[str]:
    """What every list with a safety step or an allergen says (H3)."""
    allergens = any(task.document["allergens"]["contains"] or task.document["allergens"]["may_contain"] for task in tasks)
    return cautions(allergens=allergens, guarded=any(task.guarded for task in tasks))

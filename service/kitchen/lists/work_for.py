"""Work ahead: all that the guests of one date, or of one event of it, hang on, day by day.

Responsible for choosing it from the lists up to that date (domain P7, P11, P14). Refuses to plan, and to know how an entry reads.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TypedDict

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.lists.documents import PullEntry, StationTasks
from service.kitchen.lists.parts import PlannedFrom, WarningRow
from service.kitchen.lists.prep_list import Asked, by_station, cautions_of, pull_entries, tasks_on, telling_of
from service.kitchen.lists.tasks import Task
from service.kitchen.planning.guests import Outlet, not_pushed
from service.kitchen.planning.plan import Plan


class WorkDay(TypedDict):
    """What stands on the list of one business date."""

    date: str
    stations: list[StationTasks]
    pulls: list[PullEntry]


class WorkFor(PlannedFrom):
    """What the guests of a date, or of an event, hang on, by business date; dates on which nothing is done for them are left out."""

    site: str
    date: str
    event: str | None
    units: str
    days: list[WorkDay]
    warnings: list[WarningRow]
    cautions: list[str]


def work_for(
    plan: Plan,
    catalogue: Catalogue,
    site: Site,
    asked: Asked,
    event: str | None,
    quarter: Callable[[date], datetime | None],
    scheduled: Scheduled | None = None,
) -> WorkFor:
    """All tasks and pulls that guests of ``asked.on`` hang on, or those of one ``event``, on the lists from the plan's first date on.

    ``quarter`` tells the quarter hour now begun for the site's current date, and None for any other (P7).
    """
    telling = telling_of(plan, catalogue, site, asked, scheduled)

    def whom(outlets: Callable[[], Iterable[Outlet]]) -> bool:
        return any(outlet.on == asked.on and event in (None, outlet.event) for outlet in outlets())

    days: list[WorkDay] = []
    tasks: list[Task] = []
    for number in range((asked.on - plan.first).days + 1):
        on = plan.first + timedelta(days=number)
        then = replace(telling, quarter=quarter(on))
        done, pulls = tasks_on(plan, on, then, whom), pull_entries(plan, on, then, whom)
        tasks += done
        if done or pulls:
            days.append({"date": on.isoformat(), "stations": by_station(catalogue, done), "pulls": pulls})
    return {
        "site": site.code,
        "date": asked.on.isoformat(),
        "event": event,
        "from": plan.first.isoformat(),
        "units": asked.system,
        "days": days,
        "warnings": [] if event is None else _unheard(plan, asked.on, event),
        "cautions": cautions_of(tasks),
    }


def _unheard(plan: Plan, on: date, event: str) -> list[WarningRow]:
    """A warning of an event at which nobody is expected: its code may be misspelt."""
    counts = [count for count in plan.demand.counts if count.outlet.on == on and count.outlet.event is not None]
    if any(count.outlet.event == event for count in counts):
        return []
    pushed = {count.outlet.event for count in counts if count.sources and count.outlet.event}
    return [{"code": "unknown_event", "detail": not_pushed(event, on, pushed)}]

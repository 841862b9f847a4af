"""Doable days for tests: what fits, and where it stands.

Responsible for scheduling a small kitchen's plan, and for reading it as clock times. Refuses to know any rule and what a test is
about.
"""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.question import Question, question_of
from service.kitchen.capacity.scheduled import LoadKey, Scheduled, ScheduledLoad
from service.kitchen.capacity.scheduling import schedule_plan
from service.kitchen.capacity.staff import Capacities
from service.kitchen.planning.minutes import moment_of
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from service.kitchen.schedule.problem import Load
from tests.kitchen.larder import TUE, Document, item, moment, only_site, site
from tests.kitchen.plans import only_run


def staffed(*shifts: Document, equipment: Iterable[Document] = (), **fields: Any) -> Site:
    """A site with shifts and machines."""
    return site(shifts=list(shifts), equipment=list(equipment), **fields)


def scheduled(planned: Plan, catalogue: Catalogue, at: str | None = None, capacities: Capacities | None = None) -> Scheduled:
    """The schedule of a plan of the only site, from "2026-12-01 06:00" on."""
    found = schedule_plan(planned, catalogue, only_site(catalogue), capacities or {}, None if at is None else moment(at))
    assert found is not None
    return found


def loads_of(found: Scheduled, run: Run) -> tuple[ScheduledLoad, ...]:
    """The loads of a run."""
    return found.runs[run.id].loads


def only_load(found: Scheduled, planned: Plan, words: str) -> ScheduledLoad:
    """The one load of the one run of an item."""
    (load,) = loads_of(found, only_run(planned, words))
    return load


def clock(when: datetime | None, on: date = TUE) -> str | None:
    """What the clock reads at a moment; of another civil date with how many days it is away.

    >>> clock(moment("2026-12-01 06:00")), clock(moment("2026-11-30 13:20"))
    ('06:00', '13:20 -1')
    """
    if when is None:
        return None
    there = when.astimezone(site().calendar().zone)
    days = (there.date() - on).days
    return f"{there:%H:%M}" + (f" {days:+d}" if days else "")


def starts(load: ScheduledLoad) -> list[str | None]:
    """When the steps of a load begin."""
    return [clock(step.starts) for step in load.steps]


def minutes(number: int) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=number)


def keys(planned: Plan, *words: tuple[str, int]) -> tuple[LoadKey, ...]:
    """Loads by the item of their only run, and their number."""
    return tuple(LoadKey(only_run(planned, made).id, number) for made, number in words)


def asked(planned: Plan, catalogue: Catalogue, at: str | None = None, capacities: Capacities | None = None) -> Question:
    """What a schedule of a plan of the only site is asked with."""
    return question_of(planned, catalogue, only_site(catalogue), capacities or {}, None if at is None else moment(at))


def posed(question: Question, words: str) -> list[Load]:
    """The loads of an item's runs as the schedule's room knows them, by their ids."""
    return sorted(
        (question.problem.load[id_] for id_, piece in question.pieces.items() if piece.run.item == item(words)), key=lambda load: load.id
    )


def works_for(question: Question, load: Load) -> list[tuple[str, int, int]]:
    """What a load gives to: the item of each load that draws on it, its number, and the step."""
    pieces = [(question.pieces[each.load], each.step) for each in load.serves]
    return [(piece.run.item.label, piece.load.number, step) for piece, step in pieces]


def at_minute(minute: int | None) -> str | None:
    """What the clock reads at a minute of a problem."""
    return None if minute is None else clock(moment_of(minute))

"""Freezing a list: the work that one date's list shows, as documents by id.

Responsible for finding every run, pull and use behind the tasks of a list (domain P15). Refuses to know
where the documents are kept.
"""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.json import Json
from service.kitchen.book.site import Site
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.explained.shares import Shares
from service.kitchen.lists.frozen import freeze_pull, freeze_run
from service.kitchen.lists.listed import pulls_on, stages_on, uses_on
from service.kitchen.lists.supplies import use_id
from service.kitchen.lists.timing import Timing
from service.kitchen.planning.names import PULL, RUN, USE, task_id
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from service.kitchen.safety.allergens import Rollup


class Frozen(NamedTuple):
    """One piece of work: its id and kind, the tasks of the list that belong to it, and its document."""

    work: str
    kind: str
    tasks: tuple[str, ...]
    document: Json


def freeze_list(plan: Plan, catalogue: Catalogue, site: Site, on: date, scheduled: Scheduled | None = None) -> Iterator[Frozen]:
    """The work behind every task and pull of a date's list, at the times that it shows; reported work as it was fixed.

    Each piece is told by itself: all together are larger than the list.
    """
    rollup, shares, calendar, timing = Rollup(catalogue, site.code, plan), Shares(plan), site.calendar(), Timing(plan, scheduled)
    tasks: dict[Run, list[str]] = {}
    for run, stage in stages_on(plan, on, timing):
        tasks.setdefault(run, []).append(task_id(run.id, stage.number))
    for run, ids in tasks.items():
        yield Frozen(run.id, RUN, tuple(ids), freeze_run(timing.run(run), rollup.of_run(run), shares))
    yield from _uses(plan, site, on, timing)
    for pull in pulls_on(plan, on, timing, calendar):
        yield Frozen(pull.id, PULL, (pull.id,), freeze_pull(pull, shares))


def _uses(plan: Plan, site: Site, on: date, timing: Timing) -> Iterator[Frozen]:
    """Uses fix nothing: what lots give follows from what is said of the work that takes it (P15 g)."""
    calendar = site.calendar()
    for needed, uses in uses_on(plan, on, timing, calendar):
        id_ = use_id(site.code, calendar, needed, uses)
        yield Frozen(id_, USE, (id_,), {"item": uses[0].lot.item.reference()})

"""Freezing a list: the work that one date's list shows, as documents by id.

Responsible for finding every run, pull and use behind the tasks of a list (domain P15). Refuses to know
where the documents are kept.
"""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.lists.frozen import Json, freeze_pull, freeze_run, freeze_use
from service.kitchen.lists.prep_list import grouped_uses, listed_on
from service.kitchen.lists.supplies import pull_id, use_id
from service.kitchen.lists.tasks import run_id, work_id
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from service.kitchen.safety.allergens import Rollup


class Frozen(NamedTuple):
    """One piece of work: its id and kind, the tasks of the list that belong to it, and its document."""

    work: str
    kind: str
    tasks: tuple[str, ...]
    document: Json


def freeze_list(plan: Plan, catalogue: Catalogue, site: Site, on: date) -> list[Frozen]:
    """The work behind every task and pull of a date's list, reported work included as it was fixed."""
    rollup = Rollup(catalogue, site.code)
    return [*_runs(plan, rollup, site, on), *_uses(plan, site, on), *_pulls(plan, site, on)]


def _runs(plan: Plan, rollup: Rollup, site: Site, on: date) -> Iterator[Frozen]:
    shown: list[tuple[Run, list[int]]] = [
        (run, [stage.number for stage in run.stages if listed_on(stage.on, plan.first) == on]) for run in plan.runs
    ]
    for fixed in plan.reported.runs:
        numbers = [
            stage.number
            for stage in fixed.run.stages
            if (stage.on if stage.number in fixed.reports else listed_on(stage.on, plan.first)) == on
        ]
        shown.append((fixed.run, numbers))
    for run, numbers in shown:
        if numbers:
            tasks = tuple(run_id(site.code, run, number) for number in numbers)
            yield Frozen(work_id(site.code, run), "run", tasks, freeze_run(run, rollup.of_run(run)))


def _uses(plan: Plan, site: Site, on: date) -> Iterator[Frozen]:
    for needed, uses in grouped_uses(plan, on, site.calendar()):
        id_ = use_id(site.code, uses, needed)
        yield Frozen(id_, "use", (id_,), freeze_use(uses))


def _pulls(plan: Plan, site: Site, on: date) -> Iterator[Frozen]:
    calendar = site.calendar()
    pulls = [pull for pull in plan.pulls if listed_on(calendar.business_date(pull.starts), plan.first) == on]
    pulls += [fixed.pull for fixed in plan.reported.pulls if calendar.business_date(fixed.pull.starts) == on]
    for pull in pulls:
        id_ = pull_id(site.code, pull)
        yield Frozen(id_, "pull", (id_,), freeze_pull(pull))

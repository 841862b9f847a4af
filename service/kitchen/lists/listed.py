"""Listed: which work of a plan stands on which date's list.

Responsible for one answer to that question (domain P7, P9, P13, P15 b). Refuses to know how an entry reads.
"""

from collections.abc import Iterator
from datetime import date

from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.lists.supplies import use_id
from service.kitchen.measures.calendar import Calendar, UseBy
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.pulls import Pull, Whence
from service.kitchen.planning.runs import Run, Stage


def listed_on(on: date, first: date) -> date:
    """The list that unreported work of a business date stands on: its own, or the first one (P7)."""
    return max(on, first)


def late_works(plan: Plan, site: Site) -> set[str]:
    """The ids of runs, pulls and uses that should have begun before the plan (P7)."""
    calendar, first = site.calendar(), plan.first
    runs = {run.id for run, stage in stages_on(plan, first) if stage.on < first}
    pulls = {pull.id for pull in pulled_on(plan, first, calendar, Whence.STORE) if calendar.business_date(pull.starts) < first}
    late = [(needed, uses) for needed, uses in uses_on(plan, first, calendar) if needed < first]
    return {*runs, *pulls, *(use_id(site.code, calendar, needed, uses) for needed, uses in late)}


def stages_on(plan: Plan, on: date) -> Iterator[tuple[Run, Stage]]:
    """The stages on a date's list; what was reported stays on its own date's and is not asked for again (P15 b)."""
    for run in plan.runs:
        for stage in run.stages:
            if listed_on(stage.on, plan.first) == on:
                yield run, stage
    for fixed in plan.reported.runs:
        for stage in fixed.run.stages:
            if (stage.on if stage.number in fixed.reports else listed_on(stage.on, plan.first)) == on:
                yield fixed.run, stage


def uses_on(plan: Plan, on: date, calendar: Calendar) -> list[tuple[date, list[Use]]]:
    """What lots give on a date's list, per item, business date of need and use-by; raw ingredients are netted in the pull (P9)."""
    groups: dict[tuple[Item, date, UseBy], list[Use]] = {}
    for use in plan.uses:
        needed = use.need.on or calendar.business_date(use.need.at)
        if not use.lot.item.raw and not use.need.settled and listed_on(needed, plan.first) == on:
            groups.setdefault((use.lot.item, needed, use.lot.use_by), []).append(use)
    return [(needed, uses) for (_, needed, _), uses in groups.items()]


def pulls_on(plan: Plan, on: date, calendar: Calendar) -> list[Pull]:
    """What must leave store on a date: thawing pulls start earlier than their need (P13); reported ones stay where they were."""
    reported = [fixed.pull for fixed in plan.reported.pulls if calendar.business_date(fixed.pull.starts) == on]
    return [*pulled_on(plan, on, calendar, Whence.STORE), *reported]


def pulled_on(plan: Plan, on: date, calendar: Calendar, whence: Whence) -> list[Pull]:
    """What a plan asks for from somewhere on a date: from store, from the tap, or from nowhere (P13)."""
    listed = (pull for pull in plan.pulls if listed_on(calendar.business_date(pull.starts), plan.first) == on)
    return [pull for pull in listed if pull.whence is whence]

"""Listed: which work of a plan stands on which date's list.

Responsible for one answer to that question (domain P7, P9, P13, P15 b). Refuses to know how an entry reads.
"""

from collections.abc import Iterator, Sequence
from datetime import date

from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.lists.supplies import use_id
from service.kitchen.lists.timing import Timing
from service.kitchen.measures.calendar import Calendar, UseBy
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.pulls import Pull, Whence
from service.kitchen.planning.runs import Run, Stage


def listed_on(on: date, first: date) -> date:
    """The list that unreported work of a business date stands on: its own, or the first one (P7)."""
    return max(on, first)


def late_works(plan: Plan, site: Site) -> set[str]:
    """The ids of runs, pulls and uses that as planned should have begun before the plan (P7)."""
    calendar, first, timing = site.calendar(), plan.first, Timing(plan)
    runs = {run.id for run, stage in stages_on(plan, first, timing) if stage.on < first}
    pulls = {pull.id for pull in pulled_on(plan, first, timing, calendar, Whence.STORE) if calendar.business_date(pull.starts) < first}
    late = [(needed, uses) for needed, uses in uses_on(plan, first, timing, calendar) if needed < first]
    return {*runs, *pulls, *(use_id(site.code, calendar, needed, uses) for needed, uses in late)}


def stages_on(plan: Plan, on: date, timing: Timing) -> Iterator[tuple[Run, Stage]]:
    """The stages on a date's list, as planned; what was reported stays on its own date's and is not asked for again (P15 b)."""
    for run in plan.runs:
        for stage in run.stages:
            if listed_on(timing.stage(run, stage).on, plan.first) == on:
                yield run, stage
    for fixed in plan.reported.runs:
        for stage in fixed.run.stages:
            reported = stage.number in fixed.reports
            if (stage.on if reported else listed_on(timing.stage(fixed.run, stage).on, plan.first)) == on:
                yield fixed.run, stage


def uses_on(plan: Plan, on: date, timing: Timing, calendar: Calendar) -> list[tuple[date, list[Use]]]:
    """What lots give on a date's list, per item, business date of need and use-by; raw ingredients are netted in the pull (P9).

    It stands on the list of the first load that takes of it, which may begin on an earlier date than the need (K17).
    """
    groups: dict[tuple[Item, date, UseBy], list[Use]] = {}
    for use in plan.uses:
        needed = use.need.on or calendar.business_date(use.need.at)
        if not use.lot.item.raw and not use.need.settled and listed_on(needed, plan.first) >= on:
            groups.setdefault((use.lot.item, needed, use.lot.use_by), []).append(use)
    rows = [(needed, uses) for (_, needed, _), uses in groups.items()]
    return [(needed, uses) for needed, uses in rows if listed_on(used_on(needed, uses, timing, calendar), plan.first) == on]


def used_on(needed: date, uses: Sequence[Use], timing: Timing, calendar: Calendar) -> date:
    """The business date on which the first of some uses is made: that of the need, or of an earlier load that takes of it."""
    if timing.scheduled is None:
        return needed
    return min(needed, calendar.business_date(timing.first(use.need for use in uses)))


def pulls_on(plan: Plan, on: date, timing: Timing, calendar: Calendar) -> list[Pull]:
    """What must leave store on a date: thawing pulls start earlier than their need (P13); reported ones stay where they were."""
    reported = [fixed.pull for fixed in plan.reported.pulls if calendar.business_date(fixed.pull.starts) == on]
    return [*pulled_on(plan, on, timing, calendar, Whence.STORE), *reported]


def pulled_on(plan: Plan, on: date, timing: Timing, calendar: Calendar, whence: Whence) -> list[Pull]:
    """What a plan asks for from somewhere on a date: from store, from the tap, or from nowhere (P13)."""
    pulls = (timing.pull(pull) for pull in plan.pulls if pull.whence is whence)
    return [pull for pull in pulls if listed_on(calendar.business_date(pull.starts), plan.first) == on]

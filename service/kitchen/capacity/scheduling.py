"""Scheduling: a plan and what a site has of cooks and machines, and when each load of it is done.

Responsible for asking the schedule's room about a plan (domain K1, K9). It is the way into this room. Refuses to know where plans
and capacities are kept.
"""

from datetime import date, datetime

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.placement import scheduled_of
from service.kitchen.capacity.question import AFTER, question_of
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.capacity.staff import Capacities
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.plan import Plan
from service.kitchen.schedule.schedule import schedule


def has_capacity(site: Site) -> bool:
    """Whether a site states anything that limits what it can do (K1)."""
    return bool(site.shifts or site.equipment)


def schedule_plan(plan: Plan, catalogue: Catalogue, site: Site, capacities: Capacities, at: datetime | None = None) -> Scheduled | None:
    """The schedule of a plan of a site; None where the site states neither shifts nor equipment (K1).

    ``capacities`` tell what is different on business dates; nothing unreported begins before ``at`` (K9 e). Raises TooManyLoads.
    """
    if not has_capacity(site):
        return None
    question = question_of(plan, catalogue, site, capacities, at)
    return scheduled_of(question, schedule(question.problem), catalogue, site)


def dates_of(plan: Plan) -> tuple[date, date]:
    """The first and the last business date of which a schedule of a plan asks what is different."""
    return plan.first - ONE_DAY, max([plan.first, *(run.on for run in plan.runs)]) + AFTER

"""Schedules: a site's plan with what is stated of its cooks and machines, and when each load of it is done.

Responsible for loading what is different on its dates, and asking the kitchen once. Refuses to know how anything is scheduled, and
HTTP.
"""

from datetime import datetime

from sqlalchemy.orm import Session

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.capacity.scheduling import dates_of, has_capacity, schedule_plan
from service.kitchen.planning.plan import Plan
from service.operations.capacity import capacities_of
from service.operations.kept_schedules import kept_schedule


def schedule_of(session: Session, catalogue: Catalogue, site: Site, planned: Plan, at: datetime | None = None) -> Scheduled | None:
    """The schedule of a plan, kept beside it; None, at no cost, where the site states neither shifts nor equipment (K1).

    Nothing unreported begins before ``at`` (K9 e). The plan must be one of the session's revisions. Raises TooManyLoads.
    """
    if not has_capacity(site):
        return None

    def find() -> Scheduled | None:
        return schedule_plan(planned, catalogue, site, capacities_of(session, site.code, *dates_of(planned)), at)

    return kept_schedule(planned, at, find)

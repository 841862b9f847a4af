"""Schedules: who does what when on a site's date, from what is stored.

Responsible for asking the kitchen for a date's schedule, for what would help, and for the tag of an answer's inputs. Refuses to place
anything, and to know HTTP.
"""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.kitchen.lists.loads import loads_on
from service.kitchen.lists.prep_list import Asked as AskedList
from service.kitchen.lists.prep_list import telling_of
from service.kitchen.lists.schedule_documents import Schedule
from service.kitchen.lists.schedules import Asked, schedule
from service.kitchen.measures.units import System
from service.operations.lists import ListRequest, document_of, first_date, known_site, plan_site, prep_list_tag
from service.operations.loading import load_catalogue
from service.operations.schedules import schedule_of


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleRequest:
    """Which schedule is asked for: of which list, from which moment on, and whether with what would help."""

    listed: ListRequest
    at: datetime | None = None
    helps: bool = True


def schedule_on(session: Session, request: ScheduleRequest, now: datetime) -> Schedule:
    """The schedule of a date; raises as ``lists.prep_list`` does.

    Raises NotFound too where the site states neither shifts nor equipment, and Invalid for a moment that is outside of the plan.
    """
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.listed.site)
    first = first_date(catalogue, site, request.listed, now)
    if request.at is not None and not site.calendar().start(first) <= request.at < site.calendar().end(request.listed.on):
        detail = f"the schedule is from {first} to {request.listed.on}; give a moment of these business dates"
        raise Invalid([Fault("", "out_of_range", detail, "at")])
    planned = plan_site(session, catalogue, site, first, request.listed.on)
    scheduled = schedule_of(session, catalogue, site, planned, request.at)
    if scheduled is None:
        raise NotFound("schedule, since it states neither shifts nor equipment, of the site", site.code)
    listed = document_of(session, planned, catalogue, site, request.listed, now, request.at)
    system = cast(System, request.listed.units or site.units)
    telling = telling_of(planned, catalogue, site, AskedList(on=request.listed.on, system=system), scheduled)
    helps = scheduled.helps(loads_on(scheduled, request.listed.on, first)) if request.helps else None
    asked = Asked(on=request.listed.on, station=request.listed.station, at=request.at, helps=helps)
    return schedule(planned, scheduled, asked, telling, listed)


def schedule_tag(session: Session, request: ScheduleRequest, now: datetime) -> str:
    """The tag of everything that a schedule is computed from, as that of the date's list; raises as that does."""
    inputs = (prep_list_tag(session, request.listed, now), "schedule", request.at, request.helps)
    return hashlib.sha256(repr(inputs).encode()).hexdigest()[:32]

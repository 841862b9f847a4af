"""Work ahead: what a date's or an event's guests hang on, planned from what is stored.

Responsible for asking the kitchen, and for the tag of what it answers. Refuses to store anything and to know HTTP.
"""

import hashlib
from datetime import date, datetime
from typing import cast

from sqlalchemy.orm import Session

from service.kitchen.lists import work_for as lists
from service.kitchen.lists.prep_list import Asked
from service.kitchen.lists.wording import clock_pinned
from service.kitchen.lists.work_for import WorkFor
from service.kitchen.measures.units import System
from service.operations.lists import ListRequest, first_date, known_site, plan_site, prep_list_tag, quarter_of
from service.operations.loading import load_catalogue
from service.operations.schedules import schedule_of


def work_for(session: Session, request: ListRequest, event: str | None, now: datetime) -> WorkFor:
    """What guests of a date hang on, or those of one event, day by day; raises as ``lists.prep_list`` does."""
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    planned = plan_site(session, catalogue, site, first_date(catalogue, site, request, now), request.on)
    asked = Asked(on=request.on, system=cast(System, request.units or site.units))

    def quarter(on: date) -> datetime | None:
        return quarter_of(site, on, now)

    document = lists.work_for(planned, catalogue, site, asked, event, quarter, schedule_of(session, catalogue, site, planned))
    if request.pinned:
        document["warnings"].append(clock_pinned(site.calendar(), now))
    return document


def work_for_tag(session: Session, request: ListRequest, event: str | None, now: datetime) -> str:
    """The tag of everything that the work is computed from: as that of the date's list, and the quarter hour where a day is today's."""
    site = known_site(load_catalogue(session), request.site)
    today = site.calendar().business_date(now)
    quarter = quarter_of(site, today, now) if today <= request.on else None
    return hashlib.sha256(repr((prep_list_tag(session, request, now), "work for", event, quarter)).encode()).hexdigest()[:32]

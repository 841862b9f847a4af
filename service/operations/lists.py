"""Prep lists: one site's date, planned from what is stored.

Responsible for loading a site's inputs, asking the kitchen, and for the tag of a list's inputs.
Refuses to store lists and to know HTTP.
"""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import cast

from sqlalchemy.orm import Session

from service import __version__
from service.errors import Fault, Invalid, NotFound, PlanTooLarge
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.lists.documents import PrepList
from service.kitchen.lists.prep_list import Asked
from service.kitchen.lists.prep_list import prep_list as slice_of
from service.kitchen.lists.wording import clock_pinned
from service.kitchen.measures.calendar import quarter_begun
from service.kitchen.measures.units import System
from service.kitchen.planning.demand import foresee
from service.kitchen.planning.horizon import Horizon, Outlook
from service.kitchen.planning.plan import Plan, plan
from service.kitchen.planning.staffing import Staffing
from service.limits import LEAD_DAYS, NEEDS_PLANNED
from service.operations.capacity import capacities_of
from service.operations.forecasts import forecast_of, overrides_of
from service.operations.kept_plans import kept_plans
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid, load_reported, with_words_of_late
from service.operations.schedules import schedule_of
from service.store import forecasts, revisions
from service.store.engine import reads_only

FARTHEST = timedelta(days=62)
# Late work may have had to begin as long before a plan as work begins before its need, and its needs as long before that.
HOURS_BEFORE = timedelta(days=2 * LEAD_DAYS)
PLANNED = "planned"


@dataclass(frozen=True, slots=True, kw_only=True)
class ListRequest:
    """Which list is asked for; ``first`` is the date to plan from, ``pinned`` tells that the service's clock is."""

    site: str
    on: date
    first: date | None = None
    station: str | None = None
    units: str | None = None
    trace: bool = False
    pinned: bool = False


def prep_list(session: Session, request: ListRequest, now: datetime) -> PrepList:
    """One site's prep list of a date; raises NotFound for an unknown site, Invalid for dates and stations that cannot be."""
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    first = first_date(catalogue, site, request, now)
    return document_of(session, plan_site(session, catalogue, site, first, request.on), catalogue, site, request, now)


def document_of(
    session: Session, planned: Plan, catalogue: Catalogue, site: Site, request: ListRequest, now: datetime, at: datetime | None = None
) -> PrepList:
    """The list of a date as a slice of a plan, at the times of its schedule, in the units asked for; a pinned clock is told first.

    Nothing unreported begins before ``at``.
    """
    asked = Asked(
        on=request.on,
        system=cast(System, request.units or site.units),
        station=request.station,
        trace=request.trace,
        quarter=quarter_of(site, request.on, now),
    )
    document = slice_of(planned, catalogue, site, asked, schedule_of(session, catalogue, site, planned, at))
    if "capacity" in document:
        document["capacity"]["schedule"] = path_of_schedule(request)
    if request.pinned:
        document["warnings"].insert(0, clock_pinned(site.calendar(), now))
    return document


def path_of_schedule(request: ListRequest) -> str:
    """Where the schedule of a list is."""
    query = "" if request.first is None else f"?from={request.first}"
    return f"/v1/sites/{request.site}/schedules/{request.on}{query}"


def prep_list_tag(session: Session, request: ListRequest, now: datetime) -> str:
    """The tag of everything that a list is computed from, the release included; costs no planning. Raises as ``prep_list`` does."""
    catalogue = load_catalogue(session)
    known_site(catalogue, request.site)
    return list_tag(catalogue, request, revisions.number(session, revisions.site(request.site)), now)


def list_tag(catalogue: Catalogue, request: ListRequest, current: int, now: datetime) -> str:
    """The tag of a list by the catalogue and the revision of its site; raises as ``prep_list`` does."""
    site = known_site(catalogue, request.site)
    first = first_date(catalogue, site, request, now)
    pinned = now.isoformat() if request.pinned else None
    asked = (first, request.on, request.station, request.units, request.trace)
    inputs = (catalogue.revision, current, *asked, quarter_of(site, request.on, now), pinned)
    return hashlib.sha256(repr((__version__, site.code, *map(str, inputs))).encode()).hexdigest()[:32]


def quarter_of(site: Site, on: date, now: datetime) -> datetime | None:
    """The quarter hour now begun where a date is the site's current one; what other dates' lists tell does not follow the clock (P7)."""
    return quarter_begun(now) if on == site.calendar().business_date(now) else None


def known_site(catalogue: Catalogue, code: str) -> Site:
    """A site of the catalogue; raises NotFound."""
    site = catalogue.sites.get(code)
    if site is None:
        raise NotFound("site", code)
    return site


def today_of(session: Session, site: str, now: datetime) -> date:
    """The business date of a site; raises NotFound."""
    return known_site(load_catalogue(session), site).calendar().business_date(now)


def first_date(catalogue: Catalogue, site: Site, request: ListRequest, now: datetime) -> date:
    """The date to plan from: the given one, else the earlier of the site's today and the date; raises Invalid."""
    today = site.calendar().business_date(now)
    first = request.first or min(today, request.on)
    faults = []
    if request.on < first:
        faults.append(Fault("", "out_of_range", f"the list's date {request.on} is before {first}; plan from it or earlier", "from"))
    if request.on - first > FARTHEST:
        detail = f"{request.on} is more than {FARTHEST.days} days after {first}; plan from a later date"
        faults.append(Fault("", "out_of_range", detail, "from"))
    if request.station is not None and request.station not in catalogue.stations:
        faults.append(Fault("", "unknown_reference", f"there is no station {request.station}", "station"))
    if faults:
        raise Invalid(faults)
    return first


def plan_site(session: Session, catalogue: Catalogue, site: Site, first: date, on: date) -> Plan:
    """The plan of a site from a first date, looking far enough past ``on`` that more would not change that date's list (P14).

    It is kept for the revisions of catalogue and site, so that whoever asks for a slice of it again plans nothing. Raises
    PlanTooLarge where the plans of one reading session are, together.
    """
    if not reads_only(session):
        # What a writer sees may never be: another state can get the same revision.
        return plan_without(session, catalogue, site, first, on, Unsaid())
    revision = revisions.number(session, revisions.site(site.code))
    question, state = (site.code, first, on), (catalogue.revision, revision)
    kept = kept_plans(session.get_bind().engine.pool)
    planned = kept.get(question, state, lambda: plan_without(session, catalogue, site, first, on, Unsaid()))
    # Kept or not, so that what is refused does not depend on who asked before.
    asked: dict[object, int] = session.info.setdefault(PLANNED, {})
    asked[question] = len(planned.needs)
    if sum(asked.values()) > NEEDS_PLANNED:
        raise PlanTooLarge
    return planned


def plan_without(session: Session, catalogue: Catalogue, site: Site, first: date, on: date, unsaid: Unsaid) -> Plan:
    """The plan of a site as it would be had some things not been said."""
    staffing = staffing_of(session, site, first)
    reported = load_reported(session, catalogue, site, first, unsaid, staffing)
    horizon = _horizon(session, Outlook(catalogue, site, first, on, reported.needs, staffing))
    demand = foresee(
        catalogue,
        site,
        site.calendar(),
        [forecast_of(row) for row in forecasts.of_site(session, site.code, first, horizon.until) if row.count],
        overrides_of(session, site.code, first, horizon.until),
        first,
        horizon.until,
    )
    window = (first, horizon.until)
    planned = plan(catalogue, site, demand, (), *window, reported=reported, moments=horizon.moments, staffing=staffing)
    return with_words_of_late(session, site, planned, unsaid)


def staffing_of(session: Session, site: Site, first: date) -> Staffing | None:
    """Who is on shift at a site on all dates that matter for a plan from a first one; None where it states no shifts (K1, K2)."""
    different = capacities_of(session, site.code, first - HOURS_BEFORE, date.max) if site.shifts else {}
    return Staffing.of(site, different)


def _horizon(session: Session, outlook: Outlook) -> Horizon:
    """What counts for a list, given when the events of its site are served."""
    events = forecasts.event_times(session, outlook.site.code, outlook.on, outlook.farthest)
    return outlook.horizon((on, time.fromisoformat(serve_at)) for on, serve_at in events)

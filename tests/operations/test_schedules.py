"""A site's plan is scheduled with what is stated of its shifts, machines and dates (K1, K2)."""

from copy import deepcopy
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.planning.plan import Plan
from service.operations.lists import plan_site
from service.operations.loading import load_catalogue
from service.operations.schedules import schedule_of
from service.store import capacity
from tests.operations.pot import SOUP, TUE, WED, clock, expect, load
from tests.stockpot import CATALOGUE, SITE, Json

DAY = {"name": "Day", "stations": ["veg", "hot"], "weekdays": [1, 2, 3, 4, 5, 6, 7], "from": "06:00", "until": "20:00", "cooks": 1}


def kitchen(session: Session, **stated: Any) -> None:
    """The stockpot with 24 bowls on Wednesday, and what its site states."""
    catalogue: Json = deepcopy(CATALOGUE)
    catalogue["sites"][0] |= stated
    load(session, catalogue)
    expect(session, WED, 24)


def plan(session: Session) -> Plan:
    catalogue = load_catalogue(session)
    return plan_site(session, catalogue, catalogue.sites[SITE], TUE, WED)


def found(session: Session, planned: Plan, at: datetime | None = None) -> Scheduled | None:
    catalogue = load_catalogue(session)
    return schedule_of(session, catalogue, catalogue.sites[SITE], planned, at)


def test_a_site_that_states_nothing_has_no_schedule(session: Session) -> None:
    kitchen(session)
    assert found(session, plan(session)) is None


def test_a_plan_is_scheduled_once_for_a_moment(session: Session) -> None:
    kitchen(session, shifts=[DAY])
    planned = plan(session)
    first = found(session, planned)
    assert first is not None
    assert SOUP in first.runs
    assert found(session, planned) is first
    assert found(session, planned, clock(TUE, 9)) is not first


def test_what_is_different_on_a_date_counts(session: Session) -> None:
    kitchen(session, shifts=[DAY])
    capacity.save(session, SITE, WED, {"shifts": [], "equipment": None, "note": "stock-taking"})
    scheduled = found(session, plan(session))
    assert scheduled is not None
    assert {duty.on for duty in scheduled.duties if duty.on <= WED} == {TUE}

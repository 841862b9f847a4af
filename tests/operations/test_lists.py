"""Lists as they are asked for: what their tag follows (P7, P14)."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy.orm import Session

from service.operations.capacity import put_capacity
from service.operations.lists import ListRequest, prep_list, prep_list_tag
from service.operations.loading import load_catalogue
from tests.laws.listed import Json, tasks
from tests.operations.pot import TUE, WED, clock, expect, listed, load, prepare
from tests.stockpot import CATALOGUE, SITE


def tags(session: Session, on: date, *moments: datetime) -> int:
    """How many tags the list of a date has at some moments."""
    return len({prep_list_tag(session, ListRequest(site=SITE, on=on, first=TUE), moment) for moment in moments})


@pytest.fixture
def kitchen(session: Session) -> Session:
    prepare(session)
    return session


def test_p7_the_list_of_the_current_date_changes_its_tag_each_quarter_hour(kitchen: Session) -> None:
    assert tags(kitchen, WED, clock(WED, 9), clock(WED, 9, 14)) == 1
    assert tags(kitchen, WED, clock(WED, 9, 14), clock(WED, 9, 15), clock(WED, 9, 30)) == 3


def test_p7_no_other_list_does(kitchen: Session) -> None:
    assert tags(kitchen, WED, clock(TUE, 9), clock(TUE, 9, 15)) == 1
    assert tags(kitchen, TUE, clock(WED, 9), clock(WED, 9, 15)) == 1


def test_p7_the_list_tells_what_is_overdue_by_then(kitchen: Session) -> None:
    def overdue(now: datetime) -> int:
        return sum(entry["overdue"] for entry in listed(kitchen, WED, now).values())

    assert overdue(clock(TUE, 23)) == 0
    assert 0 < overdue(clock(WED, 10)) < overdue(clock(WED, 23))
    warned = prep_list(kitchen, ListRequest(site=SITE, on=WED), datetime(2026, 12, 2, 23, tzinfo=UTC))["warnings"]
    assert {"overdue", "last_start_over"} <= {warning["code"] for warning in warned}


def shift(station: str, until: str) -> Json:
    return {"name": station, "stations": [station], "weekdays": [1, 2, 3, 4, 5, 6, 7], "from": "06:00", "until": until, "cooks": 1}


def test_k3_a_list_is_planned_in_the_hours_of_each_date(session: Session) -> None:
    (site, *others) = CATALOGUE["sites"]
    load(session, {**CATALOGUE, "sites": [{**site, "shifts": [shift("hot", "09:00"), shift("veg", "23:30")]}, *others]})
    expect(session, WED, 24)
    request = ListRequest(site=SITE, on=TUE, first=TUE)
    # Soup is cooked while the hot line is there, and its stock simmers until somebody strains it.
    assert [each["start_by"] for each in tasks(dict(prep_list(session, request, clock(TUE, 5))))] == [
        "2026-12-01T08:50:00+00:00",
        "2026-12-01T23:00:00+00:00",
    ]
    tag = prep_list_tag(session, request, clock(TUE, 5))
    closed: Json = {"shifts": [], "equipment": None, "note": "closed"}
    put_capacity(session, SITE, WED, closed, load_catalogue(session), None, clock(TUE, 5))
    assert prep_list_tag(session, request, clock(TUE, 5)) != tag
    # On Wednesday nobody is there: the soup is cooked on Tuesday, and the stock for it has begun on Monday.
    made = [each for each in tasks(dict(prep_list(session, request, clock(TUE, 5)))) if each["kind"] == "make"]
    assert [(each["item"]["recipe"], each["start_by"], each["late"]) for each in made] == [
        ("stock", "2026-11-30T08:50:00+00:00", True),
        ("soup", "2026-12-01T08:00:00+00:00", False),
        ("stock", "2026-11-30T23:00:00+00:00", True),
    ]

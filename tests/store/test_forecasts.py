from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.store import collections, forecasts
from service.store.forecasts import ForecastRow
from service.store.upserts import MANY

DAY = date(2026, 12, 3)
NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)
ROW = ForecastRow(
    site="mill-street",
    date=DAY,
    period="lunch",
    source="till-east",
    event="",
    key_kind="till_code",
    key="1042",
    count=180,
    serve_at=None,
    event_buffer=None,
    as_of=NOW,
)
EVENT = ROW._replace(event="banquet-12", serve_at="19:30", event_buffer=Decimal("0.03"), key_kind="menu_item", key="soup-bowl")


@pytest.fixture
def session(session: Session) -> Session:
    for code in ("mill-street", "harbour"):
        collections.save(session, "sites", code, {"name": code})
    return session


def test_a_count_replaces_the_one_of_its_key_and_no_other(session: Session) -> None:
    forecasts.save(session, [ROW, EVENT])
    later = ROW._replace(count=190, as_of=NOW + timedelta(hours=1))
    forecasts.save(session, [later])
    assert forecasts.of_site(session, "mill-street", DAY) == [later, EVENT]


def test_a_till_code_is_stored_with_every_sign_that_a_database_reads_in_its_own_way(session: Session) -> None:
    keys = ["", r"\.", r"\N", r"a\tb", "a\tb", '"', "'", "%s", "?", "É", "NULL"]
    rows = [ROW._replace(key=key) for key in sorted([*keys, *(f"~{number:03}" for number in range(MANY))])]
    forecasts.save(session, rows)
    forecasts.save(session, rows)
    assert forecasts.of_site(session, "mill-street", DAY) == rows


@pytest.mark.parametrize("number", [1, MANY - 1, MANY, 3 * MANY])
def test_few_counts_and_many_are_stored_alike(session: Session, number: int) -> None:
    rows = [EVENT._replace(key=f"{key:04}") for key in range(number)]
    forecasts.save(session, rows)
    later = [row._replace(count=row.count + 1, event_buffer=None, as_of=NOW + timedelta(hours=1)) for row in rows]
    others = [row._replace(event="") for row in rows]
    forecasts.save(session, [*later, *others])
    assert forecasts.of_site(session, "mill-street", DAY) == [*others, *later]


def test_many_counts_that_are_taken_back_leave_nothing_behind(session: Session) -> None:
    forecasts.save(session, [ROW._replace(key=f"{key:04}") for key in range(MANY)])
    session.rollback()
    collections.save(session, "sites", "mill-street", {"name": "mill-street"})
    rows = [ROW._replace(key=f"{key:04}") for key in range(MANY, 2 * MANY)]
    forecasts.save(session, rows)
    assert forecasts.of_site(session, "mill-street", DAY) == rows


@pytest.mark.parametrize("wrong", [{"site": "nowhere"}, {"date": None}])
def test_many_counts_that_cannot_be_stored_are_refused_as_few_are(session: Session, wrong: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError):
        forecasts.save(session, [ROW._replace(key=f"{key:04}", **wrong) for key in range(MANY)])


def test_the_counts_of_a_source_are_read_for_the_dates_asked_for(session: Session) -> None:
    forecasts.save(session, [ROW, ROW._replace(date=DAY + timedelta(1)), ROW._replace(source="till-west"), ROW._replace(site="harbour")])
    assert forecasts.of_source(session, "mill-street", "till-east", {DAY}) == [ROW]


def test_the_own_times_of_a_sites_events_are_read_once_each(session: Session) -> None:
    tomorrow = DAY + timedelta(1)
    rows = [EVENT, EVENT._replace(key="bread"), EVENT._replace(date=tomorrow), EVENT._replace(event="tea", serve_at="15:00"), ROW]
    elsewhere = [
        EVENT._replace(site="harbour", serve_at="08:00"),
        EVENT._replace(date=DAY + timedelta(2)),
        EVENT._replace(date=DAY - timedelta(1)),
    ]
    forecasts.save(session, [*rows, *elsewhere, EVENT._replace(event="gala", serve_at=None)])
    assert forecasts.event_times(session, "mill-street", DAY, tomorrow) == [(DAY, "15:00"), (DAY, "19:30"), (tomorrow, "19:30")]


def test_a_site_is_read_from_a_date_to_another_both_included(session: Session) -> None:
    rows = [ROW._replace(date=DAY + timedelta(days)) for days in range(4)]
    forecasts.save(session, rows)
    assert forecasts.of_site(session, "mill-street", DAY + timedelta(1), DAY + timedelta(2)) == rows[1:3]
    assert forecasts.of_site(session, "mill-street", DAY + timedelta(1)) == rows[1:]


def test_pages_go_by_the_whole_key_and_miss_nothing(session: Session) -> None:
    rows = [
        ROW._replace(site=site, period=period, event=event, key=key)
        for site in ("harbour", "mill-street")
        for period in ("dinner", "lunch")
        for event in ("", "e-1")
        for key in ("1042", "7")
    ]
    forecasts.save(session, list(reversed(rows)))
    seen: list[ForecastRow] = []
    while page := forecasts.page(session, sites=None, source=None, first=DAY, last=DAY, after=seen[-1].identity if seen else None, limit=3):
        assert len(page) <= 3
        seen += page
    assert seen == rows


def test_a_page_is_limited_to_sites_source_and_dates(session: Session) -> None:
    forecasts.save(session, [ROW, ROW._replace(site="harbour"), ROW._replace(source="till-west"), ROW._replace(date=DAY + timedelta(9))])
    found = forecasts.page(session, sites=["mill-street"], source="till-east", first=DAY, last=DAY, after=None, limit=50)
    assert found == [ROW]


def test_the_sites_that_name_a_menu_item_are_those_with_a_count_under_its_own_code(session: Session) -> None:
    forecasts.save(session, [EVENT, ROW._replace(site="harbour", key="soup-bowl"), EVENT._replace(site="harbour", count=0)])
    assert forecasts.sites_naming(session, "soup-bowl") == ["mill-street"]


def test_the_newest_moment_of_a_source_stays(session: Session) -> None:
    early, late = datetime(2026, 12, 2, 9, tzinfo=UTC), datetime(2026, 12, 2, 9, 0, 1, tzinfo=UTC)
    for source, moment in (("till-east", late), ("till-east", early), ("app", early), ("app", late)):
        forecasts.hear(session, source, moment)
    assert forecasts.heard(session) == {"app": late, "till-east": late}

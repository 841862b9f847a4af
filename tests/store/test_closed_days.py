"""Closed days as rows: the last before a date is found, later ones are opened again, and old ones are let go."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store import closed_days, collections
from service.store.closed_days import ClosedRow
from service.store.tables import closed_days as table

SITE = "mill-street"
DAY = date(2026, 12, 2)


@pytest.fixture
def session(session: Session) -> Session:
    for code in (SITE, "harbour"):
        collections.save(session, "sites", code, {"name": code})
    return session


def row(on: date, **left: int) -> ClosedRow:
    return ClosedRow(date=on, ended_at=datetime.combine(on + timedelta(1), time(4), tzinfo=UTC), document=left)


def dates(session: Session, site: str = SITE) -> list[date]:
    return list(session.execute(select(table.c.date).where(table.c.site == site).order_by(table.c.date)).scalars())


def test_the_last_closed_day_before_a_date_is_found(session: Session) -> None:
    days = [row(DAY + timedelta(days), soup=days) for days in range(3)]
    closed_days.save(session, SITE, days)
    assert closed_days.newest(session, SITE, DAY + timedelta(2)) == days[1]
    assert closed_days.newest(session, SITE, DAY) is None
    assert closed_days.newest(session, "harbour", DAY + timedelta(9)) is None


def test_a_day_is_closed_anew(session: Session) -> None:
    closed_days.save(session, SITE, [row(DAY, soup=1)])
    closed_days.save(session, SITE, [row(DAY, soup=2)])
    assert closed_days.newest(session, SITE, DAY + timedelta(1)) == row(DAY, soup=2)


def test_a_date_and_every_later_one_are_opened_again_at_one_site(session: Session) -> None:
    for site in (SITE, "harbour"):
        closed_days.save(session, site, [row(DAY + timedelta(days)) for days in range(3)])
    closed_days.drop(session, SITE, DAY + timedelta(1))
    assert (dates(session), len(dates(session, "harbour"))) == ([DAY], 3)


def test_of_days_past_some_of_each_month_stay_and_of_those_long_past_the_first(session: Session) -> None:
    closed_days.save(session, SITE, [row(DAY - timedelta(days)) for days in reversed(range(95))])
    assert dates(session) == [
        *(date(2026, month, 1) for month in (9, 10)),
        *(date(2026, 10, number) for number in (8, 15, 22)),
        *(date(2026, 11, number) for number in (1, 8, 15, 22, 29, 30)),
        *(date(2026, 12, number) for number in (1, 2)),
    ]


def test_the_final_day_stays_however_old(session: Session) -> None:
    old = date(2026, 7, 14)
    closed_days.save(session, SITE, [row(old)])
    closed_days.make_final(session, SITE, old)
    closed_days.save(session, SITE, [row(DAY)])
    assert dates(session) == [old, DAY]

"""What the feed makes of the clock: lists of today change by the quarter hour, all lists where a business date ends."""

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy.orm import Session

from service.kitchen.book.catalogue import Catalogue
from service.operations.feed import Feed, State, read_feed
from service.operations.lists import ListRequest, list_tag, prep_list_tag
from service.store import revisions
from tests.operations.pot import THU, TUE, clock, prepare

SITE = "quay"


@pytest.fixture
def session(session: Session) -> Session:
    prepare(session)
    return session


def feed(session: Session, on: date, now: datetime, since: State | None = None) -> Feed:
    def tag(catalogue: Catalogue, site: str, current: int, at: datetime) -> str:
        return list_tag(catalogue, ListRequest(site=site, on=on), current, at)

    revisions.place(session)
    return read_feed(session, tag, now, reach=[SITE], since=since)


def test_a_tag_of_the_feed_is_that_of_the_list(session: Session) -> None:
    for on in (TUE, THU):
        now = clock(TUE, 8, 5)
        assert feed(session, on, now).tags == {SITE: prep_list_tag(session, ListRequest(site=SITE, on=on), now)}


def test_a_list_of_today_has_changed_with_each_quarter_of_an_hour_and_others_have_not(session: Session) -> None:
    now = clock(TUE, 8, 5)
    for on, changes in ((TUE, True), (THU, False)):
        since = feed(session, on, now).state
        assert feed(session, on, clock(TUE, 8, 14), since).tags == {}
        assert (SITE in feed(session, on, clock(TUE, 8, 15), since).tags) == changes


def test_where_a_business_date_ends_the_list_is_planned_from_another_and_has_changed(session: Session) -> None:
    evening = clock(TUE, 23, 50)
    since = feed(session, THU, evening).state
    # The site's day starts at four.
    assert feed(session, THU, clock(TUE, 0) + timedelta(hours=27, minutes=59), since).tags == {}
    assert set(feed(session, THU, clock(TUE, 0) + timedelta(hours=28), since).tags) == {SITE}


def test_a_change_is_told_once_in_the_order_of_all_changes(session: Session) -> None:
    now = clock(TUE, 8)
    first = feed(session, THU, now).state
    revisions.bump(session, revisions.site("elsewhere"))
    second = feed(session, THU, now, first)
    assert (second.tags, second.state.sequence) == ({}, first.sequence + 1)
    revisions.bump(session, revisions.site(SITE))
    third = feed(session, THU, now, second.state)
    assert (set(third.tags), third.state.sequence) == ({SITE}, first.sequence + 2)
    assert feed(session, THU, now, third.state).tags == {}

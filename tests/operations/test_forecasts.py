import itertools
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.operations import forecasts
from service.operations.entries import Loaded
from service.store import closed_days, overrides, revisions
from service.store.closed_days import ClosedRow
from service.store.overrides import OverrideKey
from tests.operations.scenario import CATALOGUE, prepare
from tests.profiles import examples

NOW = datetime(2026, 12, 2, 20, tzinfo=UTC)
AS_OF = "2026-12-02T15:00:00-05:00"
EMPTY = {"accepted": 0, "stored": 0, "unchanged": 0, "superseded": 0, "refused": [], "unmapped": [], "past": []}


@pytest.fixture
def session(session: Session) -> Session:
    prepare(session)
    return session


def load(values: Sequence[Any]) -> Loaded:
    legal = {index: raw for index, raw in enumerate(values) if isinstance(raw, dict) and isinstance(raw.get("count"), int)}
    fault = Fault("/count", "wrong_type", "a whole number")
    return {index: {"till_code": None, "menu_item": None, "event": None} | raw for index, raw in legal.items()}, {
        index: [fault] for index in range(len(values)) if index not in legal
    }


def entry(**fields: Any) -> dict[str, Any]:
    return {"site": "mill-street", "date": "2026-12-03", "period": "lunch", "till_code": "1042", "count": 180} | fields


def item_entry(**fields: Any) -> dict[str, Any]:
    return entry(till_code=None, menu_item="soup-bowl") | fields


def push(session: Session, *entries: Any, as_of: str = AS_OF, source: str = "till-east", sites: list[str] | None = None) -> dict[str, Any]:
    body = {"source": source, "as_of": as_of, "entries": list(entries)}
    return forecasts.push(session, forecasts.read_push(body, CATALOGUE, NOW, load, sites))


def counts(session: Session) -> list[int]:
    return [each["count"] for each in forecasts.entries(session, date(2026, 1, 1), date(2027, 12, 31), None, 500)]


def revision(session: Session, site: str = "mill-street") -> int:
    return revisions.current(session, [f"site:{site}"])[f"site:{site}"]


def faults(answer: dict[str, Any]) -> list[tuple[int, str, str]]:
    return [(refused["index"], error["pointer"], error["code"]) for refused in answer["refused"] for error in refused["errors"]]


def test_a_push_is_stored_under_the_key_it_names(session: Session) -> None:
    event = {"code": "banquet-12", "serve_at": "19:30", "buffer": Decimal("0.03")}
    assert push(session, entry(), item_entry(period="dinner", count=120, event=event)) == EMPTY | {"accepted": 2, "stored": 2}
    shared = {"site": "mill-street", "date": "2026-12-03", "source": "till-east", "as_of": "2026-12-02T20:00:00Z"}
    assert forecasts.entries(session, date(2026, 12, 3), date(2026, 12, 3), None, 50) == [
        shared | {"period": "dinner", "till_code": None, "menu_item": "soup-bowl", "count": 120, "event": event},
        shared | {"period": "lunch", "till_code": "1042", "menu_item": None, "count": 180, "event": None},
    ]


def test_stored_unchanged_superseded_and_refused_add_up_to_the_entries(session: Session) -> None:
    push(session, entry(), entry(period="dinner"))
    answer = push(session, entry(), entry(period="dinner", count=1), entry(date="2026-12-04"), entry(site="nowhere"))
    assert (answer["stored"], answer["unchanged"], answer["superseded"], len(answer["refused"])) == (1, 1, 1, 1)


def test_the_later_as_of_holds_whatever_arrives_last(session: Session) -> None:
    push(session, entry(count=5), as_of="2026-12-02T15:00:00Z")
    assert push(session, entry(count=9), as_of="2026-12-02T14:59:59Z") == EMPTY | {"accepted": 1, "superseded": 1}
    assert counts(session) == [5]
    assert push(session, entry(count=4), as_of="2026-12-02T15:00:01Z") == EMPTY | {"accepted": 1, "stored": 1}
    assert counts(session) == [4]


def test_of_two_counts_at_one_moment_the_larger_holds(session: Session) -> None:
    push(session, entry(count=5))
    assert push(session, entry(count=4)) == EMPTY | {"accepted": 1, "superseded": 1}
    assert push(session, entry(count=6)) == EMPTY | {"accepted": 1, "stored": 1}
    assert counts(session) == [6]


MOMENTS = st.sampled_from(["2026-12-02T15:00:00Z", "2026-12-02T16:00:00Z", "2026-12-02T17:00:00Z"])
EVENTS = st.sampled_from([{"code": "e", "serve_at": at, "buffer": buffer} for at in (None, "19:30") for buffer in (None, Decimal("0.5"))])


# Each example writes to a database, and undoes it: the session is as new for the next.
@settings(max_examples=examples(25), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(MOMENTS, st.integers(0, 3), EVENTS), min_size=2, max_size=4), st.randoms())
def test_the_order_of_arrival_never_decides_what_holds(
    session: Session, pushes: list[tuple[str, int, dict[str, Any]]], chance: Any
) -> None:
    found = []
    for _ in range(2):
        savepoint = session.begin_nested()
        for as_of, count, event in pushes:
            push(session, item_entry(count=count, event=event), as_of=as_of)
        found.append(forecasts.entries(session, date(2026, 12, 3), date(2026, 12, 3), None, 50))
        savepoint.rollback()
        chance.shuffle(pushes)
    assert found[0] == found[1]


def test_a_repeated_count_advances_its_moment_and_leaves_the_sites_revision(session: Session) -> None:
    push(session, entry(count=5), as_of="2026-12-02T15:00:00Z")
    before = revision(session)
    assert push(session, entry(count=5), as_of="2026-12-02T16:00:00Z") == EMPTY | {"accepted": 1, "unchanged": 1}
    assert revision(session) == before
    assert push(session, entry(count=7), as_of="2026-12-02T15:30:00Z") == EMPTY | {"accepted": 1, "superseded": 1}
    assert counts(session) == [5]


def test_a_repeated_count_of_an_earlier_moment_is_superseded(session: Session) -> None:
    push(session, entry(count=5), as_of="2026-12-02T15:00:00Z")
    assert push(session, entry(count=5), as_of="2026-12-02T14:00:00Z") == EMPTY | {"accepted": 1, "superseded": 1}
    assert push(session, entry(count=6), as_of="2026-12-02T14:30:00Z") == EMPTY | {"accepted": 1, "superseded": 1}


@pytest.mark.parametrize("change", [{"serve_at": "20:00"}, {"buffer": Decimal("0.04")}, {"buffer": None}])
def test_another_time_or_buffer_of_an_event_is_a_change_although_the_count_is_the_same(session: Session, change: dict[str, Any]) -> None:
    event = {"code": "banquet-12", "serve_at": "19:30", "buffer": Decimal("0.03")}
    push(session, item_entry(event=event), as_of="2026-12-02T15:00:00Z")
    before = revision(session)
    assert push(session, item_entry(event=event | change), as_of="2026-12-02T16:00:00Z") == EMPTY | {"accepted": 1, "stored": 1}
    assert revision(session) == before + 1


def test_a_push_moves_only_the_revisions_of_the_sites_that_it_changes(session: Session) -> None:
    push(session, entry(), entry(site="harbour"))
    before = revision(session), revision(session, "harbour")
    push(session, entry(count=1), entry(site="harbour"), as_of="2026-12-02T15:00:01-05:00")
    assert (revision(session), revision(session, "harbour")) == (before[0] + 1, before[1])


def test_what_a_push_does_not_name_stays_and_a_count_of_nothing_takes_back(session: Session) -> None:
    push(session, entry(), entry(period="dinner", count=40))
    assert push(session, entry(count=0), as_of="2026-12-02T15:01:00-05:00") == EMPTY | {"accepted": 1, "stored": 1}
    assert counts(session) == [40, 0]
    assert push(session, entry(count=3)) == EMPTY | {"accepted": 1, "superseded": 1}


def test_the_same_key_twice_in_a_body_refuses_both_and_no_other(session: Session) -> None:
    answer = push(session, entry(count=1), entry(count=2, event={"code": "e"}), entry(count=3), item_entry(count=4))
    assert answer["stored"] == 2
    assert faults(answer) == [(0, "/entries/0", "duplicate"), (2, "/entries/2", "duplicate")]
    assert sorted(counts(session)) == [2, 4]


def test_a_till_code_and_the_menu_item_it_means_are_two_keys_that_add_up(session: Session) -> None:
    assert push(session, entry(count=100), item_entry(count=20)) == EMPTY | {"accepted": 2, "stored": 2}
    assert [row["forecast"] for row in forecasts.site_rows(session, CATALOGUE, "mill-street", date(2026, 12, 3), date(2026, 12, 3))] == [
        120
    ]


def test_a_till_code_that_no_menu_item_has_is_kept_and_reported(session: Session) -> None:
    answer = push(session, entry(), entry(till_code="9999"), entry(till_code="1042"), source="till-west")
    assert answer["unmapped"] == [{"index": 1, "till_code": "9999"}]
    assert push(session, entry(till_code="9999")) == EMPTY | {"accepted": 1, "stored": 1, "unmapped": [{"index": 0, "till_code": "9999"}]}


def test_a_till_code_means_what_its_own_source_says(session: Session) -> None:
    assert push(session, entry(), source="till-west")["unmapped"] == [{"index": 0, "till_code": "1042"}]


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        (entry(site="nowhere"), "/site", "unknown_site"),
        (entry(period="brunch"), "/period", "unknown_reference"),
        (item_entry(menu_item="stew"), "/menu_item", "unknown_reference"),
        (entry(date="2026-11-24"), "/date", "out_of_range"),
        (entry(date="2028-01-07"), "/date", "out_of_range"),
        (entry(count="many"), "/count", "wrong_type"),
        ("an entry", "/count", "wrong_type"),
    ],
)
def test_a_wrong_entry_refuses_itself_alone_and_says_where(session: Session, wrong: Any, pointer: str, code: str) -> None:
    answer = push(session, entry(count=1), wrong, entry(period="dinner", count=2))
    assert faults(answer) == [(1, f"/entries/1{pointer}", code)]
    assert answer["stored"] == 2


def test_every_fault_of_an_entry_is_told(session: Session) -> None:
    answer = push(session, item_entry(menu_item="stew", period="brunch", date="2030-01-01"))
    assert faults(answer) == [
        (0, "/entries/0/menu_item", "unknown_reference"),
        (0, "/entries/0/period", "unknown_reference"),
        (0, "/entries/0/date", "out_of_range"),
    ]


def test_an_entry_is_refused_among_others_for_what_it_is_refused_for_alone(session: Session) -> None:
    places = itertools.product(
        ("mill-street", "nowhere"), ("lunch", "brunch"), ("2026-12-03", "2030-01-01"), ("soup-bowl", "stew", "salad")
    )
    values = [item_entry(site=site, period=period, date=day, menu_item=item) for site, period, day, item in places]
    alone = [[error | {"pointer": ""} for refused in push(session, value)["refused"] for error in refused["errors"]] for value in values]
    together = {refused["index"]: [error | {"pointer": ""} for error in refused["errors"]] for refused in push(session, *values)["refused"]}
    assert together == {index: errors for index, errors in enumerate(alone) if errors}
    assert len(together) == len(values) - 2


def test_what_is_told_of_entries_follows_their_order_however_they_were_read(session: Session) -> None:
    def backwards(values: Sequence[Any]) -> Loaded:
        entries, refused = load(values)
        return dict(reversed(entries.items())), refused

    values = [entry(till_code="9"), entry(date="2026-12-01", till_code="7"), entry(till_code="8"), entry(date="2026-12-01", till_code="6")]
    body = {"source": "till-east", "as_of": AS_OF, "entries": values}
    answer = forecasts.push(session, forecasts.read_push(body, CATALOGUE, NOW, backwards))
    assert [each["index"] for told in ("unmapped", "past") for each in answer[told]] == [0, 2, 1, 3]


def test_a_site_that_the_caller_may_not_write_looks_like_one_that_does_not_exist(session: Session) -> None:
    foreign = push(session, entry(site="harbour"), sites=["mill-street"])
    unknown = push(session, entry(site="nowhere"), sites=["mill-street"])
    assert str(foreign).replace("harbour", "nowhere") == str(unknown)
    assert counts(session) == []


@pytest.mark.parametrize(("day", "stored"), [("2026-11-24", 0), ("2026-11-25", 1), ("2028-01-06", 1), ("2028-01-07", 0)])
def test_forecasts_reach_from_7_days_back_to_400_days_ahead_of_the_sites_today(session: Session, day: str, stored: int) -> None:
    # Of a date that is over nothing can be stored any more; it is not refused for its date.
    answer = push(session, entry(date=day))
    assert (answer["stored"] + len(answer["past"]), len(answer["refused"])) == (stored, 1 - stored)


def test_the_sites_today_is_that_of_its_time_zone(session: Session) -> None:
    # 03:00 UTC on 3 December is still 2 December in New York.
    body = {"source": "till-east", "as_of": AS_OF, "entries": [entry(date="2026-11-25")]}
    early = datetime(2026, 12, 3, 3, tzinfo=UTC)
    assert forecasts.push(session, forecasts.read_push(body, CATALOGUE, early, load))["refused"] == []


def test_an_as_of_more_than_5_minutes_ahead_refuses_the_whole_push(session: Session) -> None:
    assert push(session, entry(), as_of="2026-12-02T20:05:00Z")["stored"] == 1
    with pytest.raises(Invalid) as caught:
        push(session, entry(), as_of="2026-12-02T20:05:01Z")
    assert [(fault.pointer, fault.code) for fault in caught.value.faults] == [("/as_of", "as_of_in_future")]


def test_reading_back_is_limited_to_sites_and_source_and_goes_on_behind_a_key(session: Session) -> None:
    push(session, entry(), item_entry(), entry(site="harbour"))
    push(session, entry(), source="till-west")
    day = date(2026, 12, 3)
    own = forecasts.entries(session, day, day, None, 50, sites=["mill-street"], source="till-east")
    assert [(each["site"], each["source"]) for each in own] == [("mill-street", "till-east")] * 2
    everything = forecasts.entries(session, day, day, None, 50)
    assert len(everything) == 4
    for position, last in enumerate(everything, start=1):
        assert forecasts.entries(session, day, day, forecasts.key_of(last), 50) == everything[position:]


def test_a_site_row_has_the_sum_as_pushed_and_the_count_with_buffers(session: Session) -> None:
    push(session, entry(count=100), item_entry(count=20, event={"code": "e", "buffer": Decimal("0.5")}))
    push(session, item_entry(count=10), source="till-west")
    push(session, item_entry(count=10, menu_item="salad"))
    day = date(2026, 12, 3)
    shared = {"date": "2026-12-03", "period": "lunch", "override": None, "add": 0}
    assert forecasts.site_rows(session, CATALOGUE, "mill-street", day, day) == [
        shared | {"menu_item": "salad", "forecast": 10, "count": Decimal("10.5"), "sources": ["till-east"]},
        shared | {"menu_item": "soup-bowl", "forecast": 130, "count": 151, "sources": ["till-east", "till-west"]},
    ]


@pytest.mark.parametrize(
    ("override", "count"),
    [({"count": 50, "add": 0}, 50), ({"count": None, "add": 7}, 117), ({"count": 50, "add": 7}, 57), ({"count": 0, "add": 0}, 0)],
)
def test_an_override_replaces_or_adds_without_a_buffer(session: Session, override: dict[str, Any], count: int) -> None:
    push(session, entry(count=100))
    day = date(2026, 12, 3)
    overrides.save(session, OverrideKey("mill-street", day, "lunch", "soup-bowl"), override | {"note": ""})
    [row] = forecasts.site_rows(session, CATALOGUE, "mill-street", day, day)
    assert (row["forecast"], row["override"], row["add"], row["count"]) == (100, override["count"], override["add"], count)


def test_an_override_alone_is_a_row_without_a_forecast(session: Session) -> None:
    day = date(2026, 12, 3)
    overrides.save(session, OverrideKey("mill-street", day, "dinner", "salad"), {"count": 5, "add": 0, "note": ""})
    [row] = forecasts.site_rows(session, CATALOGUE, "mill-street", day, day)
    assert (row["forecast"], row["count"], row["sources"]) == (None, 5, [])


def test_site_rows_go_by_date_the_order_of_the_sites_periods_and_menu_item(session: Session) -> None:
    days, periods, items = ("2026-12-03", "2026-12-04"), ("dinner", "lunch"), ("soup-bowl", "salad")
    push(session, *(item_entry(date=day, period=period, menu_item=item) for day, period, item in itertools.product(days, periods, items)))
    rows = forecasts.site_rows(session, CATALOGUE, "mill-street", date(2026, 12, 3), date(2026, 12, 4))
    expected = list(itertools.product(days, reversed(periods), reversed(items)))
    assert [(row["date"], row["period"], row["menu_item"]) for row in rows] == expected


def test_the_rows_of_a_site_that_does_not_exist_are_not_found(session: Session) -> None:
    with pytest.raises(NotFound):
        forecasts.site_rows(session, CATALOGUE, "nowhere", date(2026, 12, 3), date(2026, 12, 3))


def test_ten_thousand_entries_are_taken_in_with_one_read_and_one_write_a_site(session: Session) -> None:
    days = [str(date(2026, 12, 3) + timedelta(days)) for days in range(50)]
    body = [entry(site=site, date=day, till_code=str(code)) for site in CATALOGUE.sites for day in days for code in range(100)]
    assert len(body) == 10_000
    began = time.process_time()
    assert push(session, *body)["stored"] == 10_000
    assert push(session, *body)["unchanged"] == 10_000
    # Row by row both pushes take far longer; the limit leaves a slow machine room.
    assert time.process_time() - began < 10


def test_p1_what_is_said_after_the_end_of_a_period_changes_nothing_that_was_cooked_for_it(session: Session) -> None:
    """Lunch ends at 14:00, dinner with the date, at 04:00 of the next one."""
    lunch, dinner = entry(date="2026-12-02"), entry(date="2026-12-02", period="dinner")
    answer = push(session, lunch, dinner, as_of="2026-12-02T14:00:00-05:00")
    assert (answer["stored"], answer["past"]) == (2, [])
    answer = push(session, {**lunch, "count": 9}, {**dinner, "count": 9}, as_of="2026-12-02T14:00:01-05:00")
    assert (answer["stored"], answer["past"]) == (1, [{"index": 0, "period": "lunch", "ended": "2026-12-02T14:00:00-05:00"}])
    assert sorted(counts(session)) == [9, 180]


def test_p1_a_period_that_does_not_say_when_it_ends_ends_with_its_date(session: Session) -> None:
    dinner = entry(date="2026-12-01", period="dinner")
    assert push(session, dinner, as_of="2026-12-02T04:00:00-05:00")["stored"] == 1
    answer = push(session, {**dinner, "count": 9}, as_of="2026-12-02T04:00:01-05:00")
    assert answer["past"] == [{"index": 0, "period": "dinner", "ended": "2026-12-02T04:00:00-05:00"}]
    assert counts(session) == [180]


def test_p15_an_earlier_word_that_arrives_late_opens_its_date_again(session: Session) -> None:
    days = [ClosedRow(date=date(2026, 11, 30) + timedelta(days), ended_at=NOW, document={}) for days in range(3)]
    closed_days.save(session, "mill-street", days)
    push(session, entry(date="2026-12-03"))
    assert closed_days.newest(session, "mill-street", date(2026, 12, 9)) == days[-1]
    push(session, entry(date="2026-12-01"), as_of="2026-12-01T12:00:00-05:00")
    assert closed_days.newest(session, "mill-street", date(2026, 12, 9)) == days[0]


OFF_MENU = replace(
    CATALOGUE, menu_items={**CATALOGUE.menu_items, "soup-bowl": replace(CATALOGUE.menu_items["soup-bowl"], sold_until=date(2026, 12, 2))}
)


def push_off_menu(session: Session, *entries: Any) -> dict[str, Any]:
    body = {"source": "till-east", "as_of": AS_OF, "entries": list(entries)}
    return forecasts.push(session, forecasts.read_push(body, OFF_MENU, NOW, load, None))


def test_p1_an_entry_for_a_date_on_which_the_menu_item_is_not_sold_is_refused_by_either_key(session: Session) -> None:
    push(session, entry(count=5))
    answer = push_off_menu(session, entry(), item_entry(), item_entry(menu_item="salad"), entry(date="2026-12-02", period="dinner"))
    assert answer["stored"] == 2
    assert faults(answer) == [(0, "/entries/0/till_code", "not_on_menu"), (1, "/entries/1/menu_item", "not_on_menu")]
    assert answer["refused"][0]["errors"][0]["detail"] == "soup-bowl is not on the menu on 2026-12-03: it is sold until 2026-12-02"
    # What was expected of it before may be taken back.
    assert push_off_menu(session, entry(count=0))["refused"] == []


def test_p1_of_what_is_not_on_the_menu_the_row_shows_what_was_pushed_and_counts_nobody(session: Session) -> None:
    push(session, entry(count=100))
    day = date(2026, 12, 3)
    (row,) = forecasts.site_rows(session, OFF_MENU, "mill-street", day, day)
    assert (row["forecast"], row["count"]) == (100, 0)

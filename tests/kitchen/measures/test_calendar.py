"""Kitchen time: rules T1, T3, T4 and T6."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.measures.calendar import FOREVER, Calendar, Keeps, UseBy, parse_duration, write_duration

BERLIN = Calendar.of("Europe/Berlin", time(4))
NEW_YORK = Calendar.of("America/New_York", time(4))
TICK = timedelta(microseconds=1)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("PT1H30M", 90), ("P1D", 24 * 60), ("P1DT2H30M", 26 * 60 + 30), ("PT90M", 90), ("PT45S", 0.75), ("P0D", 0), ("PT0S", 0)],
)
def test_t1_a_duration_is_iso_8601_in_days_hours_minutes_and_seconds(text: str, minutes: float) -> None:
    assert parse_duration(text) == timedelta(minutes=minutes)


@pytest.mark.parametrize("text", ["", "P", "PT", "P1DT", "1H", "P1M", "P1Y", "P1W", "PT1.5H", "-PT1H", "PT1M1H", "pt1h", "PT1H ", "PT١H"])
def test_t1_any_other_duration_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="ISO 8601"):
        parse_duration(text)


@given(st.integers(0, 10**7))
def test_t1_a_written_duration_reads_as_the_same(seconds: int) -> None:
    duration = timedelta(seconds=seconds)
    assert parse_duration(write_duration(duration)) == duration


def test_t3_a_clock_time_in_a_gap_moves_forward_by_the_gaps_length() -> None:
    # On 29 March 2026 Berlin's clocks go from 02:00 (+1) to 03:00 (+2): 02:30 does not exist and means 03:30 (+2), 01:30 in UTC.
    assert BERLIN.clock(date(2026, 3, 29), time(2, 30)) == utc("2026-03-29 01:30")
    assert BERLIN.write(BERLIN.clock(date(2026, 3, 29), time(2, 30))) == "2026-03-29T03:30:00+02:00"
    # In New York it is 8 March, from 02:00 (-5) to 03:00 (-4).
    assert NEW_YORK.write(NEW_YORK.clock(date(2026, 3, 8), time(2, 15))) == "2026-03-08T03:15:00-04:00"


def test_t3_a_doubled_clock_time_is_the_first() -> None:
    # On 25 October 2026 Berlin's clocks go from 03:00 (+2) back to 02:00 (+1): 02:30 happens twice, first at 00:30 in UTC.
    assert BERLIN.clock(date(2026, 10, 25), time(2, 30)) == utc("2026-10-25 00:30")
    assert BERLIN.write(BERLIN.clock(date(2026, 10, 25), time(2, 30))) == "2026-10-25T02:30:00+02:00"
    # In New York it is 1 November, from 02:00 (-4) back to 01:00 (-5).
    assert NEW_YORK.write(NEW_YORK.clock(date(2026, 11, 1), time(1, 30))) == "2026-11-01T01:30:00-04:00"


def test_t3_eighteen_hours_across_a_clock_change_are_eighteen_hours() -> None:
    # Noon of 1 November 2026 in New York is 17:00 in UTC; 18 h before is 23:00 of 31 October, when the clock still reads -4: 19:00.
    ready = NEW_YORK.clock(date(2026, 11, 1), time(12))
    assert NEW_YORK.write(ready - timedelta(hours=18)) == "2026-10-31T19:00:00-04:00"
    # Noon of 8 March 2026 is 16:00 in UTC; 18 h before is 22:00 of 7 March, at -5: 17:00.
    ready = NEW_YORK.clock(date(2026, 3, 8), time(12))
    assert NEW_YORK.write(ready - timedelta(hours=18)) == "2026-03-07T17:00:00-05:00"


def test_t3_a_use_by_in_hours_is_elapsed_time_across_a_clock_change() -> None:
    ready = NEW_YORK.clock(date(2026, 10, 31), time(19))
    assert NEW_YORK.write(NEW_YORK.use_by(ready, Keeps.read("PT18H")).moment) == "2026-11-01T12:00:00-05:00"


def test_t4_a_business_date_begins_at_day_starts_and_lasts_until_the_next_begins() -> None:
    on = date(2026, 12, 1)
    assert NEW_YORK.start(on) == utc("2026-12-01 09:00")
    assert NEW_YORK.end(on) == utc("2026-12-02 09:00")
    assert NEW_YORK.business_date(NEW_YORK.start(on)) == on
    assert NEW_YORK.business_date(NEW_YORK.start(on) - TICK) == date(2026, 11, 30)
    assert NEW_YORK.business_date(NEW_YORK.end(on) - TICK) == on


def test_t4_the_small_hours_belong_to_the_date_before() -> None:
    # 03:59 of 2 December is still 1 December's business date.
    assert NEW_YORK.business_date(utc("2026-12-02 08:59")) == date(2026, 12, 1)


def test_t4_a_time_before_day_starts_is_on_the_next_civil_day() -> None:
    on = date(2026, 12, 1)
    assert NEW_YORK.write(NEW_YORK.moment(on, time(0, 30))) == "2026-12-02T00:30:00-05:00"
    assert NEW_YORK.write(NEW_YORK.moment(on, time(3, 59))) == "2026-12-02T03:59:00-05:00"
    assert NEW_YORK.write(NEW_YORK.moment(on, time(4))) == "2026-12-01T04:00:00-05:00"
    assert NEW_YORK.write(NEW_YORK.moment(on, time(12))) == "2026-12-01T12:00:00-05:00"


def test_t4_a_business_date_over_a_clock_change_is_an_hour_shorter_or_longer() -> None:
    spring, autumn = date(2026, 3, 28), date(2026, 10, 24)
    assert BERLIN.end(spring) - BERLIN.start(spring) == timedelta(hours=23)
    assert BERLIN.end(autumn) - BERLIN.start(autumn) == timedelta(hours=25)


def test_t4_a_day_start_in_a_gap_or_a_doubled_hour_is_the_first_moment_that_reads_it() -> None:
    early = Calendar.of("Europe/Berlin", time(2, 30))
    assert early.start(date(2026, 3, 29)) == utc("2026-03-29 01:30")
    assert early.start(date(2026, 10, 25)) == utc("2026-10-25 00:30")
    assert early.business_date(utc("2026-10-25 00:29")) == date(2026, 10, 24)
    # The second 02:15 of the night comes after the first 02:30, so it is in the new date already.
    assert early.business_date(utc("2026-10-25 01:15")) == date(2026, 10, 25)


@given(
    st.integers(0, 2 * 365 * 24 * 3600),
    st.sampled_from(["Europe/Berlin", "America/New_York", "Asia/Kathmandu"]),
    st.times(),
)
def test_t4_every_moment_is_in_exactly_one_business_date(seconds: int, zone: str, day_starts: time) -> None:
    calendar = Calendar.of(zone, day_starts)
    when = utc("2026-01-01 00:00") + timedelta(seconds=seconds)
    on = calendar.business_date(when)
    assert calendar.start(on) <= when < calendar.end(on)


def test_t6_days_last_until_the_end_of_the_business_date_and_that_moment_is_excluded() -> None:
    ready = NEW_YORK.clock(date(2026, 12, 1), time(15))
    use_by = NEW_YORK.use_by(ready, Keeps.read("P2D"))
    # Ready on 1 December and keeping two days: until 4 December 04:00.
    assert use_by == UseBy(NEW_YORK.clock(date(2026, 12, 4), time(4)), included=False)
    assert use_by.covers(use_by.moment - TICK)
    assert not use_by.covers(use_by.moment)


def test_t6_hours_count_from_the_moment_it_is_ready_and_the_last_moment_is_included() -> None:
    ready = NEW_YORK.clock(date(2026, 12, 1), time(15))
    use_by = NEW_YORK.use_by(ready, Keeps.read("PT4H"))
    assert use_by == UseBy(NEW_YORK.clock(date(2026, 12, 1), time(19)), included=True)
    assert use_by.covers(use_by.moment)
    assert not use_by.covers(use_by.moment + TICK)


def test_t6_one_day_and_twenty_four_hours_are_not_the_same() -> None:
    ready = NEW_YORK.clock(date(2026, 12, 1), time(15))
    assert NEW_YORK.use_by(ready, Keeps.read("P1D")).moment == NEW_YORK.clock(date(2026, 12, 3), time(4))
    assert NEW_YORK.use_by(ready, Keeps.read("PT24H")).moment == NEW_YORK.clock(date(2026, 12, 2), time(15))


def test_t6_keeping_nothing_stated_is_the_business_date_of_making() -> None:
    ready = NEW_YORK.clock(date(2026, 12, 1), time(15))
    assert Keeps.read(None) == Keeps.read("P0D") == Keeps()
    assert NEW_YORK.use_by(ready, Keeps.read(None)).moment == NEW_YORK.end(date(2026, 12, 1))


def test_t6_days_count_from_the_business_date_and_not_from_the_civil_day() -> None:
    # Ready at 02:00 of 2 December, which is 1 December's business date.
    ready = NEW_YORK.clock(date(2026, 12, 2), time(2))
    assert NEW_YORK.use_by(ready, Keeps.read("P0D")).moment == NEW_YORK.clock(date(2026, 12, 2), time(4))


def test_t6_the_day_of_making_is_day_one_so_seven_days_are_six_after_it() -> None:
    # Made on 1 December, the seventh day is 7 December.
    use_by = NEW_YORK.use_by(NEW_YORK.clock(date(2026, 12, 1), time(9)), Keeps.read("P6D"))
    assert use_by.covers(NEW_YORK.clock(date(2026, 12, 7), time(23)))
    assert not use_by.covers(NEW_YORK.clock(date(2026, 12, 8), time(4)))


def test_t6_what_excludes_its_last_moment_expires_before_what_includes_it() -> None:
    at = utc("2026-12-01 17:00")
    assert UseBy(at, included=False) < UseBy(at, included=True) < FOREVER


def test_t6_what_keeps_days_is_used_to_the_end_of_a_date_and_what_keeps_hours_to_a_moment() -> None:
    ready = NEW_YORK.clock(date(2026, 12, 1), time(15))
    assert NEW_YORK.last_date(NEW_YORK.use_by(ready, Keeps.read("P2D"))) == date(2026, 12, 3)
    assert NEW_YORK.last_date(NEW_YORK.use_by(ready, Keeps.read("PT13H"))) is None

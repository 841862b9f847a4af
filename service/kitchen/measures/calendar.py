"""Kitchen time: business dates, elapsed durations, and how long food keeps.

Responsible for turning a site's dates and clock times into moments and back (domain T). Refuses to
know what happens at those moments, and what the time is now.
"""

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from service.kitchen.measures.batches import round_up

DURATION = re.compile(r"P(?:(\d{1,6})D)?(?:T(?:(\d{1,8})H)?(?:(\d{1,8})M)?(?:(\d{1,9})S)?)?", re.ASCII)
ONE_DAY = timedelta(days=1)
TICK = timedelta(microseconds=1)
MINUTE = timedelta(minutes=1)
QUARTER = timedelta(minutes=15)
ZERO = timedelta(0)


def quarter_begun(now: datetime) -> datetime:
    """The quarter of an hour that has begun by a moment (P7): a list tells what is overdue four times an hour, not at any time."""
    return now - timedelta(minutes=now.minute % 15, seconds=now.second, microseconds=now.microsecond)


@lru_cache(maxsize=1_024)
def parse_duration(text: str) -> timedelta:
    """The elapsed time that an ISO 8601 duration in days, hours, minutes and seconds states (T1); ValueError otherwise.

    >>> parse_duration("P1DT2H30M")
    datetime.timedelta(days=1, seconds=9000)
    """
    match = DURATION.fullmatch(text)
    if match is None or text.endswith("T") or text == "P":
        raise ValueError("write a duration as ISO 8601 in days, hours, minutes and seconds, for instance PT1H30M or P2D")
    days, hours, minutes, seconds = (int(part or 0) for part in match.groups())
    return timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)


def write_duration(duration: timedelta) -> str:
    """A duration as ISO 8601, in days, hours, minutes and seconds.

    >>> write_duration(timedelta(minutes=95)), write_duration(timedelta(0))
    ('PT1H35M', 'PT0S')
    """
    hours, rest = divmod(duration.seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    clock = "".join(f"{value}{letter}" for value, letter in ((hours, "H"), (minutes, "M"), (seconds, "S")) if value)
    days = f"{duration.days}D" if duration.days else ""
    return f"P{days}" + (f"T{clock}" if clock else "") if days or clock else "PT0S"


def spoken(duration: str) -> str:
    """A duration as a cook says it.

    >>> spoken("PT1H30M"), spoken("P1DT12H"), spoken("PT0S")
    ('1 h 30 min', '1 d 12 h', '0 s')
    """
    total = parse_duration(duration)
    hours, rest = divmod(total.seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    parts = ((total.days, "d"), (hours, "h"), (minutes, "min"), (seconds, "s"))
    return " ".join(f"{number} {unit}" for number, unit in parts if number) or "0 s"


def whole_minutes(duration: timedelta) -> timedelta:
    """A hands-on time up to whole minutes."""
    minutes = duration / MINUTE
    return round_up(minutes) * MINUTE if minutes > 0 else ZERO


@dataclass(frozen=True, slots=True)
class Keeps:
    """How long an item keeps: whole business dates after the one it is ready on, or an elapsed time (T6)."""

    days: int = 0
    elapsed: timedelta | None = None

    @classmethod
    def read(cls, text: str | None) -> "Keeps":
        """Read ``P<n>D`` or ``PT<n>H``; None is P0D (T6)."""
        if text is None:
            return cls()
        duration = parse_duration(text)
        return cls(elapsed=duration) if "T" in text else cls(days=duration.days)


class UseBy(NamedTuple):
    """The last moment of use; ``included`` tells whether that moment itself still serves (hours) or not (days). Sorts by expiry."""

    moment: datetime
    included: bool

    def covers(self, moment: datetime) -> bool:
        """Whether the thing may still be used at that moment (T6)."""
        return moment < self.moment or (self.included and moment == self.moment)

    def lasts(self, since: datetime) -> bool:
        """Whether there is a moment of use from some moment on."""
        return self.moment > since or self.covers(since)


FOREVER = UseBy(datetime.max.replace(tzinfo=UTC), included=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """The dates and clock of one site: its IANA time zone and when its business date begins (T3, T4)."""

    zone: ZoneInfo
    day_starts: time
    _starts: dict[date, datetime] = field(default_factory=dict, repr=False, compare=False)
    _dates: dict[datetime, date] = field(default_factory=dict, repr=False, compare=False)
    _written: dict[datetime, str] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, time_zone: str, day_starts: time) -> "Calendar":
        """The calendar of a site in an IANA time zone."""
        return cls(zone=ZoneInfo(time_zone), day_starts=day_starts)

    def clock(self, on: date, at: time) -> datetime:
        """The UTC moment of a civil date and time; a time in a gap moves forward by its length, a doubled one is the first (T3)."""
        # The zone's rules do both: the first of a doubled time is what they give unless asked otherwise.
        return datetime.combine(on, at, tzinfo=self.zone).astimezone(UTC)

    def moment(self, on: date, at: time) -> datetime:
        """The moment that a clock time of a business date means: before ``day_starts`` it is on the next civil day (T4)."""
        return self.clock(on + ONE_DAY if at < self.day_starts else on, at)

    def start(self, on: date) -> datetime:
        """The first moment of a business date (T4)."""
        known = self._starts.get(on)
        if known is None:
            known = self._starts[on] = self.clock(on, self.day_starts)
        return known

    def end(self, on: date) -> datetime:
        """The first moment after a business date (T4)."""
        return self.start(on + ONE_DAY)

    def business_date(self, moment: datetime) -> date:
        """The business date that a moment falls in (T4)."""
        known = self._dates.get(moment)
        if known is None:
            known = self._dates[moment] = self._date_of(moment)
        return known

    def _date_of(self, moment: datetime) -> date:
        civil = moment.astimezone(self.zone).date()
        # The civil date is a day off before ``day_starts``, and where clocks change about then.
        while moment < self.start(civil):
            civil -= ONE_DAY
        while moment >= self.end(civil):
            civil += ONE_DAY
        return civil

    def use_by(self, ready: datetime, keeps: Keeps) -> UseBy:
        """When a thing ready at a moment may last be used (T6)."""
        if keeps.elapsed is not None:
            return UseBy(ready + keeps.elapsed, included=True)
        return self.use_by_date(self.business_date(ready), keeps.days)

    def use_by_date(self, made: date, days: int) -> UseBy:
        """When a thing made on a business date and keeping whole days may last be used (T6)."""
        return UseBy(self.end(made + days * ONE_DAY), included=False)

    def last_date(self, use_by: UseBy) -> date | None:
        """The business date at whose end a use-by lies; None where it is a moment of the clock (T6)."""
        return None if use_by.included else self.business_date(use_by.moment - TICK)

    def write(self, moment: datetime) -> str:
        """A moment as RFC 3339 text with the site's offset."""
        known = self._written.get(moment)
        if known is None:
            precision = "seconds" if moment.microsecond == 0 else "microseconds"
            known = self._written[moment] = moment.astimezone(self.zone).isoformat(timespec=precision)
        return known

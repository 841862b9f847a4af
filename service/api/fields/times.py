"""Dates, moments, clock times, durations and time zones.

Responsible for the ISO 8601 and RFC 3339 texts of the interface and their ranges; a document keeps
the text as written. Refuses to know business dates.
"""

import re
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any, ClassVar
from zoneinfo import available_timezones

from service.api.fields.faults import flaw
from service.api.fields.shape import Field, expect_text
from service.kitchen.measures.calendar import parse_duration, write_duration
from service.limits import DURATION_DAYS, FIRST_YEAR, KEEPS_DAYS, LAST_YEAR

DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?(Z|[+-]\d\d:\d\d)", re.ASCII)
CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)
KEEPS = re.compile(r"P(?P<days>\d{1,4})D|PT(?P<hours>\d{1,5})H", re.ASCII)

# ISO 8601 has weeks, months and years as well, which are no elapsed times; the format alone would allow them.
TIME_PATTERN = "T([0-9]{1,8}H([0-9]{1,8}M)?([0-9]{1,9}S)?|[0-9]{1,8}M([0-9]{1,9}S)?|[0-9]{1,9}S)"
DURATION_PATTERN = f"^P([0-9]{{1,6}}D({TIME_PATTERN})?|{TIME_PATTERN})$"


def read_date(text: str) -> date | None:
    """The date that YYYY-MM-DD names, from 2000 to 2099; None where the text names none."""
    if not DATE.fullmatch(text):
        return None
    try:
        on = date.fromisoformat(text)
    except ValueError:
        return None
    return on if FIRST_YEAR <= on.year <= LAST_YEAR else None


class CivilDate(Field):
    """A date, YYYY-MM-DD."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "format": "date", "examples": ["2026-12-03"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "a date as YYYY-MM-DD")
        if not DATE.fullmatch(text):
            raise flaw("wrong_type", "write a date as YYYY-MM-DD, for instance 2026-12-01")
        if read_date(text) is None:
            raise flaw("out_of_range", f"write a date that exists, from {FIRST_YEAR} to {LAST_YEAR}")
        return text


class Moment(Field):
    """A moment, RFC 3339 with its offset."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "format": "date-time"}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "a moment with its offset").upper()
        if not MOMENT.fullmatch(text):
            raise flaw("wrong_type", "write a moment as RFC 3339 with its offset, for instance 2026-12-02T15:00:00-05:00")
        try:
            year = datetime.fromisoformat(text).year
        except ValueError:
            raise flaw("out_of_range", "this moment does not exist: look at its date, clock time and offset") from None
        if not FIRST_YEAR <= year <= LAST_YEAR:
            raise flaw("out_of_range", f"write a moment from {FIRST_YEAR} to {LAST_YEAR}")
        return text


class TimeOfDay(Field):
    """A clock time, HH:MM."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$", "examples": ["11:30"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "a clock time as HH:MM")
        if not CLOCK.fullmatch(text):
            raise flaw("wrong_type", "write a clock time as HH:MM from 00:00 to 23:59, for instance 09:30")
        return text


class Duration(Field):
    """An elapsed time in days, hours, minutes and seconds; whole numbers alone, no weeks, months or years."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "format": "duration", "pattern": DURATION_PATTERN, "examples": ["PT1H30M"]}

    def __init__(self, most: timedelta = timedelta(days=DURATION_DAYS), **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.most = most

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "a duration such as PT1H30M")
        if read_duration(text) > self.most:
            raise flaw("out_of_range", f"write at most {write_duration(self.most)}")
        return text


def read_duration(text: str) -> timedelta:
    """The elapsed time of an ISO 8601 duration; raises ValidationError."""
    try:
        return parse_duration(text)
    except ValueError as error:
        raise flaw("wrong_type", str(error)) from None


class Keeps(Field):
    """How long a thing keeps: P<n>D, to the end of a business date, or PT<n>H, an elapsed time."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": "^(P[0-9]{1,4}D|PT[0-9]{1,5}H)$", "examples": ["P2D"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "how long it keeps, as P2D or PT4H")
        match = KEEPS.fullmatch(text)
        if match is None:
            raise flaw("wrong_type", "write P<n>D for days, such as P2D, or PT<n>H for hours, such as PT4H")
        if int(match["days"] or 0) > KEEPS_DAYS or int(match["hours"] or 0) > KEEPS_DAYS * 24:
            raise flaw("out_of_range", f"write at most P{KEEPS_DAYS}D, or as many hours")
        return text


class Zone(Field):
    """An IANA time zone."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": "^[A-Za-z0-9_+/-]{1,64}$", "examples": ["America/New_York"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "a time zone")
        if text not in _zones():
            raise flaw("not_in_list", "write the name of an IANA time zone, for instance America/New_York or Europe/Vienna")
        return text


@cache
def _zones() -> frozenset[str]:
    return frozenset(available_timezones())

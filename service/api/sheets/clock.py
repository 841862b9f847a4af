"""Clock times: the moments of a list as its cooks read them from the wall.

Responsible for dates and times of day as text, in the offset that each moment carries. Refuses to know
time zones: the list has put every moment into the site's local time.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.kitchen.lists.documents import Kept, PrepList
from service.kitchen.lists.wording import day, end_of

QUARTER = 15
WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Clock:
    """How the moments of one date's list are worded; ``doubtful`` where the clocks change on that date."""

    day: date
    doubtful: bool = False

    @classmethod
    def of(cls, document: PrepList) -> "Clock":
        """The clock of a list. On a date whose moments carry two offsets a time of day alone may mean two moments."""
        day = date.fromisoformat(document["date"])
        offsets = {moment.utcoffset() for moment in _starts(document) if moment.date() == day}
        return cls(day, len(offsets) > 1)

    def time(self, text: str) -> str:
        """A moment's time of day, with its offset where the clocks change.

        >>> Clock(date(2026, 12, 3)).time("2026-12-03T05:52:00-05:00")
        '05:52'
        >>> Clock(date(2026, 11, 1), doubtful=True).time("2026-11-01T01:30:00-06:00")
        '01:30 (UTC-06:00)'
        """
        at = datetime.fromisoformat(text)
        return f"{at:%H:%M} ({at:%Z})" if self.doubtful and at.date() == self.day else f"{at:%H:%M}"

    def date(self, text: str) -> str:
        """A moment's date where it is another than the list's, else nothing.

        >>> Clock(date(2026, 12, 3)).date("2026-12-02T17:00:00-05:00")
        'Wed 2 Dec'
        """
        on = datetime.fromisoformat(text).date()
        return "" if on == self.day else day(on)

    def day_near(self, text: str) -> str:
        """A moment's date where it is another than the list's, as short as it can be mistaken for no other; else nothing.

        >>> clock = Clock(date(2026, 12, 3))
        >>> clock.day_near("2026-12-02T17:00:00-05:00"), clock.day_near("2026-12-13T17:00:00-05:00")
        ('Wed', 'Sun 13 Dec')
        """
        on = datetime.fromisoformat(text).date()
        return "" if on == self.day else day(on).split()[0] if abs(on - self.day) < WEEK / 2 else day(on)

    def near(self, text: str) -> str:
        """A moment's time of day, after its date as short as can be where that is another than the list's.

        >>> Clock(date(2026, 12, 3)).near("2026-12-04T02:00:00-05:00")
        'Fri 02:00'
        """
        return f"{self.day_near(text)} {self.time(text)}".lstrip()

    def moment(self, text: str) -> str:
        """A moment's time of day, after its date where that is another than the list's.

        >>> Clock(date(2026, 12, 3)).moment("2026-12-05T02:00:00-05:00")
        'Sat 5 Dec 02:00'
        """
        return f"{self.date(text)} {self.time(text)}".lstrip()

    def until(self, kept: Kept) -> str:
        """The last moment of use: of what keeps whole days the end of a date, else the moment; nothing where there is none (D3).

        >>> Clock(date(2026, 12, 3)).until({"use_by": "2026-12-04T02:00:00-05:00", "use_by_date": "2026-12-03"})
        'the end of Thu 3 Dec'
        >>> Clock(date(2026, 12, 3)).until({"use_by": "2026-12-03T15:00:00-05:00", "use_by_date": None})
        '15:00'
        """
        on, moment = kept.get("use_by_date"), kept["use_by"]
        if on is not None:
            return end_of(date.fromisoformat(on))
        return "" if moment is None else self.moment(moment)

    def quarter(self, text: str) -> str:
        """The quarter hour before a moment; nothing where the moment is on the quarter itself.

        >>> Clock(date(2026, 12, 3)).quarter("2026-12-03T05:52:00-05:00")
        '05:45'
        """
        at = datetime.fromisoformat(text)
        before = at.replace(minute=at.minute - at.minute % QUARTER, second=0, microsecond=0)
        return "" if before == at else self.time(before.isoformat())


def date_of(text: str) -> date:
    """A date as the interface writes it."""
    return date.fromisoformat(text)


def long_date(text: str) -> str:
    """A date of the interface as a heading.

    >>> long_date("2026-12-03")
    'Thu 3 Dec 2026'
    """
    on = date.fromisoformat(text)
    return f"{day(on)} {on.year}"


def _starts(document: PrepList) -> Iterator[datetime]:
    """When the tasks of a list start and are ready, and when its pulls start and are needed."""
    for station in document["stations"]:
        for task in station["tasks"]:
            yield from map(datetime.fromisoformat, (task["start_by"], task["ready_by"]))
    for pull in document["pulls"]:
        yield from map(datetime.fromisoformat, (pull["start_by"], pull["need_by"]))

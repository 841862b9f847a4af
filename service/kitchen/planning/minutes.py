"""Minutes: moments and times as the whole minutes in which hours and schedules count, and back.

Responsible for one epoch, 1970-01-01 00:00 UTC, and for rounding so that nothing is promised that does not hold: what must be over
by then is cut off, what takes time goes up (domain K2, K5, K6). Refuses to know what happens then.
"""

from datetime import UTC, datetime, timedelta

from service.kitchen.book.step import Passive
from service.kitchen.measures.calendar import MINUTE
from service.kitchen.schedule.problem import Minute, Rest

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def minute_of(moment: datetime) -> Minute:
    """The minute that has begun by a moment."""
    return (moment - EPOCH) // MINUTE


def minute_up(moment: datetime) -> Minute:
    """The first minute that begins at a moment or later.

    >>> minute_up(EPOCH + timedelta(seconds=61)), minute_of(EPOCH + timedelta(seconds=61))
    (2, 1)
    """
    return -((EPOCH - moment) // MINUTE)


def moment_of(minutes: Minute) -> datetime:
    """The moment at which a minute begins."""
    return EPOCH + minutes * MINUTE


def whole(duration: timedelta) -> int:
    """A duration in whole minutes, up."""
    return -(-duration // MINUTE)


def rest_of(passive: Passive) -> Rest:
    """A time without hands in whole minutes: up, but for its most (K6)."""
    target = whole(passive.target)
    if passive.least is None or passive.most is None:
        return Rest(target, target, target)
    least = whole(passive.least)
    most = max(least, passive.most // MINUTE)
    return Rest(least, min(max(target, least), most), most)

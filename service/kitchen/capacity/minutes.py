"""Minutes: moments as the whole minutes that a schedule counts in, and back.

Responsible for one epoch, 1970-01-01 00:00 UTC, and for rounding so that nothing is promised that does not hold: what must be
over is cut off, what must not have begun goes up (domain K). Refuses to know what happens then.
"""

from datetime import UTC, date, datetime, timedelta

from service.kitchen.book.step import Passive
from service.kitchen.measures.calendar import FOREVER, MINUTE, TICK, Calendar, Keeps, UseBy
from service.kitchen.schedule import problem
from service.kitchen.schedule.problem import Minute, Rest

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def minute(moment: datetime) -> Minute:
    """The minute that has begun by a moment."""
    return (moment - EPOCH) // MINUTE


def minute_up(moment: datetime) -> Minute:
    """The first minute that begins at a moment or later.

    >>> minute_up(EPOCH + timedelta(seconds=61)), minute(EPOCH + timedelta(seconds=61))
    (2, 1)
    """
    return -((EPOCH - moment) // MINUTE)


def moment_of(minutes: Minute) -> datetime:
    """The moment at which a minute begins."""
    return EPOCH + minutes * MINUTE


def whole(duration: timedelta) -> int:
    """A duration in whole minutes, up."""
    return -(-duration // MINUTE)


def latest(*minutes: Minute | None) -> Minute | None:
    """The latest of some minutes, of which any may be missing."""
    return max((each for each in minutes if each is not None), default=None)


def earliest(*minutes: Minute | None) -> Minute | None:
    """The earliest of some minutes, of which any may be missing."""
    return min((each for each in minutes if each is not None), default=None)


def rest_of(passive: Passive) -> Rest:
    """A time without hands in whole minutes: at least what is stated, and at most (K6)."""
    least, target = (whole(each) for each in (passive.target if passive.least is None else passive.least, passive.target))
    most = target if passive.most is None else max(passive.most // MINUTE, target)
    return Rest(least, target, most)


def last_minute(use_by: UseBy) -> Minute | None:
    """The last minute in which a thing may still be used; None where it keeps (T6)."""
    if use_by == FOREVER:
        return None
    return minute(use_by.moment if use_by.included else use_by.moment - TICK)


def keeps_of(keeps: Keeps | None) -> problem.Keeps | None:
    """How long a thing keeps as a schedule counts it (T6); None where it keeps."""
    if keeps is None:
        return None
    return problem.Keeps("d", keeps.days) if keeps.elapsed is None else problem.Keeps("h", keeps.elapsed // MINUTE)


def earliest_ready(at: datetime, keeps: Keeps, calendar: Calendar) -> Minute:
    """The first minute in which a thing may be ready that is still to be used at a moment (K8, T6)."""
    if keeps.elapsed is not None:
        return minute_up(at - keeps.elapsed)
    made: date = calendar.business_date(at) - timedelta(days=keeps.days)
    return minute_up(calendar.start(made))

"""Bounds: between which minutes something may be ready or be drawn.

Responsible for how long things keep, as a schedule counts it (domain T6, K8). Refuses to know loads.
"""

from datetime import datetime, timedelta

from service.kitchen.measures.calendar import FOREVER, MINUTE, TICK, Calendar, Keeps, UseBy
from service.kitchen.planning.minutes import minute_of, minute_up
from service.kitchen.schedule import problem
from service.kitchen.schedule.problem import Minute


def latest(*minutes: Minute | None) -> Minute | None:
    """The latest of some minutes, of which any may be missing."""
    return max((each for each in minutes if each is not None), default=None)


def earliest(*minutes: Minute | None) -> Minute | None:
    """The earliest of some minutes, of which any may be missing."""
    return min((each for each in minutes if each is not None), default=None)


def last_minute(use_by: UseBy) -> Minute | None:
    """The last minute in which a thing may still be used; None where it keeps (T6)."""
    if use_by == FOREVER:
        return None
    return minute_of(use_by.moment if use_by.included else use_by.moment - TICK)


def keeps_of(keeps: Keeps | None) -> problem.Keeps | None:
    """How long a thing keeps as a schedule counts it (T6); None where it keeps."""
    if keeps is None:
        return None
    return problem.Keeps("d", keeps.days) if keeps.elapsed is None else problem.Keeps("h", keeps.elapsed // MINUTE)


def earliest_ready(at: datetime, keeps: Keeps, calendar: Calendar) -> Minute:
    """The first minute in which a thing may be ready that is still to be used at a moment (K8, T6)."""
    if keeps.elapsed is not None:
        return minute_up(at - keeps.elapsed)
    return minute_up(calendar.start(calendar.business_date(at) - timedelta(days=keeps.days)))

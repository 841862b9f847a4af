"""Kept schedules: what was scheduled of a plan stays beside it for as long as the plan does.

Responsible for scheduling each plan once for a moment that nothing begins before, however many ask it at a time. Refuses to know
how anything is scheduled, and how long plans are kept.
"""

from collections import OrderedDict
from collections.abc import Callable
from datetime import datetime
from threading import Lock
from weakref import WeakKeyDictionary

from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.planning.plan import Plan

# As planned, and for the minutes at which somebody asked what now.
MOMENTS_KEPT = 4


class _Beside:
    """The schedules of one plan by their moments, newest last."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.schedules: OrderedDict[datetime | None, Scheduled | None] = OrderedDict()
        self.loads = 0


_kept: WeakKeyDictionary[Plan, _Beside] = WeakKeyDictionary()
_lock = Lock()


def kept_schedule(planned: Plan, at: datetime | None, compute: Callable[[], Scheduled | None]) -> Scheduled | None:
    """The schedule of a plan from a moment on: kept, or computed by the first who asks while others wait.

    What that raises goes to whoever computed it; the next one tries again.
    """
    with _lock:
        beside = _kept.setdefault(planned, _Beside())
    with beside.lock:
        if at not in beside.schedules:
            beside.schedules[at] = compute()
            while len(beside.schedules) > MOMENTS_KEPT:
                beside.schedules.popitem(last=False)
            beside.loads = sum(len(each.loads) for each in beside.schedules.values() if each is not None)
        beside.schedules.move_to_end(at)
        return beside.schedules[at]


def loads_beside(planned: Plan) -> int:
    """How many loads the schedules that are kept beside a plan hold together."""
    beside = _kept.get(planned)
    return 0 if beside is None else beside.loads

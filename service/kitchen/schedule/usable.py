"""Until when what is ready may be used, and from when it may be ready to be usable at a draw (T6, K8).

Responsible for ``keeps`` in whole minutes and business dates. Refuses to know loads.
"""

from bisect import bisect_right
from collections.abc import Sequence

from service.kitchen.schedule.gaps import FUTURE, PAST
from service.kitchen.schedule.problem import Keeps, Minute


def usable_until(ready: Minute, keeps: Keeps | None, day_starts: Sequence[Minute]) -> Minute:
    """The last minute at which what is ready then may be used: after so many minutes, or the last one of a business date.

    >>> usable_until(500, Keeps("h", 120), (240, 1680, 3120)), usable_until(500, Keeps("d", 0), (240, 1680, 3120))
    (620, 1679)
    """
    if keeps is None:
        return FUTURE
    if keeps.unit == "h":
        return ready + keeps.amount
    past = bisect_right(day_starts, ready) + keeps.amount
    return day_starts[past] - 1 if past < len(day_starts) else FUTURE


def ready_from(draw: Minute, keeps: Keeps | None, day_starts: Sequence[Minute]) -> Minute:
    """The first minute from which what is ready may still be used at a draw.

    >>> ready_from(700, Keeps("h", 120), (240, 1680, 3120)), ready_from(1700, Keeps("d", 1), (240, 1680, 3120))
    (580, 240)
    """
    if keeps is None:
        return PAST
    if keeps.unit == "h":
        return draw - keeps.amount
    on = bisect_right(day_starts, draw) - 1 - keeps.amount
    return day_starts[on] if on >= 0 else PAST

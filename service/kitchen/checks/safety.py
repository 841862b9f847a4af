"""Checks of food safety: steps that are laxer than the food code, and ready-to-eat food that keeps too long.

Responsible for what domain H1 and H2 refuse at publishing unless a reason is recorded. Refuses to judge
the reason.
"""

from collections.abc import Iterator
from datetime import timedelta

from service.errors import Fault
from service.kitchen.book.recipe import Version
from service.kitchen.measures.calendar import Keeps
from service.kitchen.safety.safety import laxer

# 3-501.17 (A): at most seven days with the day of preparation as day 1, so six whole dates after it.
DATES_AFTER_MAKING = 6


def safety_faults(version: Version) -> Iterator[Fault]:
    """Every step laxer than the code (H1) and a cold ready-to-eat item that keeps over P6D (H2), where no reason is recorded."""
    for index, step in enumerate(version.steps):
        if step.safety is None or step.safety["reason"] is not None:
            continue
        for field, detail in laxer(step.safety):
            yield Fault(f"/steps/{index}/safety/{field}", "safety_laxer", detail)
    if version.ready_to_eat and version.storage == "cold" and version.keeps_reason is None and keeps_too_long(version.keeps):
        detail = (
            f"cold ready-to-eat food keeps at most P{DATES_AFTER_MAKING}D, seven days with that of making "
            "(FDA Food Code 2022, 3-501.17(A)); write that, or record keeps_reason"
        )
        yield Fault("/keeps", "safety_laxer", detail)


def keeps_too_long(keeps: Keeps) -> bool:
    """Whether a thing keeps past the seventh day, that of making counted as the first (H2, T6).

    >>> keeps_too_long(Keeps.read("P6D")), keeps_too_long(Keeps.read("P7D")), keeps_too_long(Keeps.read("PT145H"))
    (False, True, True)
    """
    if keeps.elapsed is not None:
        return keeps.elapsed > timedelta(days=DATES_AFTER_MAKING)
    return keeps.days > DATES_AFTER_MAKING

"""The figures of a morning as text."""

import math
from collections.abc import Sequence

from tests.load.morning import Book

PERCENTS = (50, 90, 95, 99, 100)


def percentile(seconds: Sequence[float], percent: int) -> float:
    """The smallest of these within which so many per cent lie.

    >>> percentile([3, 1, 2, 4], 50), percentile([3, 1, 2, 4], 99)
    (2, 4)
    """
    ordered = sorted(seconds)
    return ordered[max(0, math.ceil(len(ordered) * percent / 100) - 1)]


def lines(book: Book) -> list[str]:
    """A table of latencies in milliseconds, the statuses, and what must not be."""
    told = [f"{'milliseconds':<28}{'number':>8}" + "".join(f"{'max' if percent == 100 else f'{percent} %':>9}" for percent in PERCENTS)]
    for kind, seconds in sorted(book.seconds.items()):
        told.append(f"{kind:<28}{len(seconds):>8}" + "".join(f"{percentile(seconds, percent) * 1000:>9.1f}" for percent in PERCENTS))
    told.append("statuses: " + ", ".join(f"{kind} {status}: {number}" for (kind, status), number in sorted(book.statuses.items())))
    told.append(f"counts acknowledged and read back: {len(book.acknowledged)}")
    told += [f"FAULT: {fault}" for fault in book.faults] or ["nothing lost, no failure"]
    return told

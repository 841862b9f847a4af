"""Timing: the CPU seconds of a piece of work, best of several.

Responsible for what a figure is. Refuses to know what is measured.
"""

import gc
import time
from collections.abc import Callable
from typing import NamedTuple


class Row(NamedTuple):
    """One line of the table: a job and its baseline in CPU seconds, and by how much it may be more."""

    job: str
    seconds: float
    baseline: str
    baseline_seconds: float
    most: float | None = None

    @property
    def ratio(self) -> float:
        """How many times its baseline the job costs."""
        return self.seconds / self.baseline_seconds


def best(work: Callable[[], object], rounds: int, times: int = 1, prepare: Callable[[], object] | None = None) -> float:
    """The least CPU seconds of so many rounds of so many times, for one time; what each round begins with is not counted."""
    least = float("inf")
    for _ in range(rounds):
        if prepare is not None:
            prepare()
        gc.collect()
        began = time.process_time()
        for _ in range(times):
            work()
        least = min(least, time.process_time() - began)
    return least / times


HEADER = ("| job | ms | baseline | ms | ratio | at most |", "| --- | ---: | --- | ---: | ---: | ---: |")


def line(row: Row) -> str:
    """A row of a Markdown table, in milliseconds."""
    most = "" if row.most is None else f"{row.most:g}"
    return f"| {row.job} | {row.seconds * 1000:.3g} | {row.baseline} | {row.baseline_seconds * 1000:.3g} | {row.ratio:.2f} | {most} |"

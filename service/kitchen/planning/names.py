"""Names: the ids by which a kitchen speaks of runs, pulls, uses and their stages.

Responsible for ids that follow the time of what is needed, so that work which joins later renames nothing (domain P15 f).
Refuses to know what the work is.
"""

import re
from collections.abc import Iterable
from datetime import date, datetime
from itertools import count
from typing import NamedTuple

from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import FOREVER, Calendar, UseBy

RUN, PULL, USE = "run", "pull", "use"
DATE = re.compile(r"\.([0-9]{4}-[0-9]{2}-[0-9]{2})(?=[T.-]|$)")


class RunKey(NamedTuple):
    """A run as others know it: by what it makes, and its id."""

    item: Item
    id: str


class Names:
    """The ids of one plan of a site; ``taken`` are those of work that was fixed before (P15 f)."""

    def __init__(self, site: str, calendar: Calendar, taken: Iterable[str] = ()) -> None:
        self._site = site
        self._calendar = calendar
        self._taken = set(taken)
        self._clocks: dict[tuple[date, datetime], str] = {}

    def run(self, item: Item, on: date, at: datetime) -> str:
        """The id of a new run: item, business date and local time of its need_by; ``-2`` … only where another has the same."""
        return self._free(f"{'make' if item.is_recipe else 'prep'}.{self._site}.{item_part(item)}.{self._clock(on, at)}")

    def pull(self, item: Item, on: date, at: datetime) -> str:
        """The id of a new pull: item, business date and the local time that names the first need that it meets."""
        return self._free(f"pull.{self._site}.{item_part(item)}.{self._clock(on, at)}")

    def use(self, item: Item, on: date, at: datetime, use_by: UseBy) -> str:
        """The id of a use: item, business date and local time of its first need, and the use-by of the lots."""
        return f"use.{self._site}.{item_part(item)}.{self._clock(on, at)}.{_use_by(use_by)}"

    def _clock(self, on: date, at: datetime) -> str:
        """A business date and a local time; hundreds of runs share one."""
        known = self._clocks.get((on, at))
        if known is None:
            known = self._clocks[on, at] = f"{on.isoformat()}T{at.astimezone(self._calendar.zone):%H%M}"
        return known

    def _free(self, name: str) -> str:
        """The name itself, else with the lowest ordinal that is free."""
        free = name if name not in self._taken else next(f"{name}-{n}" for n in count(2) if f"{name}-{n}" not in self._taken)
        self._taken.add(free)
        return free


def task_id(run: str, stage: int) -> str:
    """A task's id: that of its run, and the number of its stage."""
    return f"{run}.{stage}"


def work_of(task: str) -> tuple[str, str, int]:
    """The kind of work that a task's id names, the id of that work, and the stage (0 for pulls and uses).

    >>> work_of("make.mill-street.soup.2026-12-03T1130.2")
    ('run', 'make.mill-street.soup.2026-12-03T1130', 2)
    """
    kind = task.partition(".")[0]
    if kind in (PULL, USE):
        return kind, task, 0
    work, _, stage = task.rpartition(".")
    return RUN, work, int(stage) if stage.isascii() and stage.isdigit() else 0


def needed_on(work: str) -> date:
    """The business date in the id of a run, pull or use; of a text without one, which names none of them, the first of all dates.

    >>> needed_on("use.mill-street.soup.2026-12-03T1130.20261205T080000")
    datetime.date(2026, 12, 3)
    """
    dates = DATE.findall(work)
    try:
        return date.fromisoformat(dates[-1]) if dates else date.min
    except ValueError:
        return date.min


def item_part(item: Item) -> str:
    """An item within an id."""
    return f"{item.code}.{item.form}" if item.form else item.code


def _use_by(use_by: UseBy) -> str:
    """A use-by within an id; a moment that itself still serves is another one than the same moment excluded (T6)."""
    if use_by == FOREVER:
        return "none"
    return f"{use_by.moment:%Y%m%dT%H%M%S}" + ("-included" if use_by.included else "")

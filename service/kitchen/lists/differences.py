"""Differences: what one list asks of the kitchen that another did not.

Responsible for comparing the entries of two lists of a date, of which the older may be a print of an older release: by amounts
and times, and by what both of them tell. Refuses to know prints, and why a list asks for something.
"""

import math
import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, TypedDict

from service.kitchen.lists.documents import PrepList
from service.kitchen.measures.calendar import ZERO

# What an entry tells and does not ask for: what was reported of it, which stations take it, and what is at risk by now.
TOLD = {"progress", "stations", "overdue", "last_start", "at_risk"}
# What follows from other fields of an entry: how much of a recipe a batch is, and what food code and version say of a step.
IMPLIED = {"factor", "safety", "set_to"}
# What a load tells beside when it is done: who and what has it, and how it lies to others (K17).
BESIDE = {"cook", "equipment", "due", "held", "slack"}
NO_CHANGE = TOLD | IMPLIED | BESIDE
SAME = 1e-9
# A load that moved by less is where it was (K17).
MOVED = timedelta(minutes=15)
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\S*")
# The first release named work by its date alone, with an ordinal in order of time; a time of the day joined since (P15 f).
THEN = re.compile(r"(?P<work>.+\.\d{4}-\d\d-\d\d)(?:-(?P<ordinal>\d+))?(?P<rest>\..+)?")
SINCE = re.compile(r"(?P<work>.+\.\d{4}-\d\d-\d\d)T\d{4}(?:-\d+)?(?P<rest>\..+)?")
Entry = Mapping[str, Any]
Entries = Mapping[str, Entry]


class ChangedEntry(TypedDict):
    """A task or pull that asks for something else than a print did, by its id of today."""

    id: str
    old: Mapping[str, Any]
    new: Mapping[str, Any]


class EntryChanges(TypedDict):
    """What one list asks for that another did not, no longer asks for, or asks for otherwise: tasks with their station, and pulls."""

    added: list[Mapping[str, Any]]
    dropped: list[Mapping[str, Any]]
    changed: list[ChangedEntry]


def entry_changes(
    old: PrepList, new: PrepList, implied: Collection[str] = (), *, as_kept: Callable[[Entry], Entry] = lambda entry: entry
) -> EntryChanges:
    """Tasks and pulls of two lists by id: added, dropped, and changed with both; what was reported of a task is no change of it.

    Amounts are equal that agree to 1e-9 or are displayed alike, and moments of two lists with schedules that lie 15 minutes apart or
    less (K17). What only one of the lists tells is no change: an older release did not tell all. Uses that are ``implied`` by other
    entries are not told as added. Where the old list was kept and the new one was not, ``as_kept`` makes of an entry what would come
    back of it: one at a time, since all entries of a large kitchen would fill a worker.
    """
    before, after = _entries(old), _entries(new)
    within = MOVED if "capacity" in old and "capacity" in new else ZERO
    names = _names_since(before, after)
    kept = {names.get(id_, id_): entry for id_, entry in before.items()}
    both = ((id_, kept[id_], as_kept(entry)) for id_, entry in after.items() if id_ in kept)
    return {
        "added": [as_kept(entry) for id_, entry in after.items() if id_ not in kept and id_ not in implied],
        "dropped": [entry for id_, entry in kept.items() if id_ not in after],
        "changed": [{"id": id_, "old": then, "new": now} for id_, then, now in both if not _alike(then, now, within)],
    }


def _entries(document: PrepList) -> Entries:
    """Tasks with their station, and pulls, by id."""
    entries: dict[str, Mapping[str, Any]] = {}
    for station in document["stations"]:
        entries.update({task["id"]: {"station": station["code"], **task} for task in station["tasks"]})
    entries.update({pull["id"]: pull for pull in document["pulls"]})
    return entries


def _names_since(before: Entries, after: Entries) -> dict[str, str]:
    """The ids of today of what the first release named by date: of one item, date and stage, in order of time."""
    today = defaultdict(list)
    for id_ in sorted(after.keys() - before.keys()):
        if found := SINCE.fullmatch(id_):
            today[found["work"], found["rest"]].append(id_)
    dated = [(id_, found) for id_ in before.keys() - after.keys() if (found := THEN.fullmatch(id_))]
    names = {}
    for id_, found in sorted(dated, key=lambda each: int(each[1]["ordinal"] or 1)):
        if waiting := today[found["work"], found["rest"]]:
            names[id_] = waiting.pop(0)
    return names


def _alike(old: Any, new: Any, within: timedelta) -> bool:
    """Whether two values ask for the same, as far as both tell; moments may lie apart ``within`` a time."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        if "amount" in old and "amount" in new:
            return bool(old["unit"] == new["unit"] and (_alike(old["amount"], new["amount"], within) or old["display"] == new["display"]))
        return all(_alike(old[name], new[name], within) for name in _asked(old, new))
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(_alike(*pair, within) for pair in zip(old, new, strict=True))
    if isinstance(old, float | Decimal) or isinstance(new, float | Decimal):
        return math.isclose(old, new, rel_tol=SAME)
    return bool(old == new) or (within > ZERO and _near(old, new, within))


def _near(old: Any, new: Any, within: timedelta) -> bool:
    """Whether two values are moments that lie apart within a time."""
    if not all(isinstance(each, str) and MOMENT.fullmatch(each) for each in (old, new)):
        return False
    return abs(datetime.fromisoformat(old) - datetime.fromisoformat(new)) <= within


def _asked(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    """What two documents both ask for; of the same work only the name may differ."""
    return (name for name in old if name in new and name != "id" and name not in NO_CHANGE)

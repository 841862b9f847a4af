"""Listed: the entries of a prep list, wherever they stand on it.

Responsible for walking a list's document. Refuses to judge it.
"""

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]


def tasks(listed: Json) -> Iterator[Json]:
    for station in listed["stations"]:
        yield from station["tasks"]


def entries(listed: Json) -> Iterator[Json]:
    """Tasks, what each form of a cut gets (under its task's id), and pulls."""
    for task in tasks(listed):
        yield task
        yield from ({"id": task["id"], **row} for row in task.get("gives", ()))
    yield from listed["pulls"]

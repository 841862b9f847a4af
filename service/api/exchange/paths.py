"""What stands in a path: codes, dates, numbers and ids.

Responsible for their shape; a path with anything else in it names nothing, which is a 404. Refuses to
know whether the thing exists.
"""

import re
from collections.abc import Iterable
from datetime import date
from typing import Any

from flask import Flask
from werkzeug.routing import BaseConverter

from service.api.fields.times import read_date
from service.errors import NotFound
from service.limits import CODE_PATTERN, FIRST_YEAR, LAST_YEAR


class CodeInPath(BaseConverter):
    """A code."""

    regex = CODE_PATTERN


class NumberInPath(BaseConverter):
    """A positive whole number, without leading zeros."""

    regex = "[1-9][0-9]{0,8}"

    def to_python(self, value: str) -> int:
        """The number itself."""
        return int(value)


class DateInPath(BaseConverter):
    """A date as YYYY-MM-DD; one that does not exist names nothing.

    It is None then, for the routing layer to refuse: refused here, it would count as a path that only
    takes other methods.
    """

    regex = "[0-9]{4}-[0-9]{2}-[0-9]{2}"

    def to_python(self, value: str) -> date | None:
        """The date itself."""
        return read_date(value)


class IdInPath(BaseConverter):
    """An id that the service gave out."""

    regex = "[A-Za-z0-9_-]{1,64}"


class TaskInPath(BaseConverter):
    """The id of a task or pull of a list."""

    regex = r"[a-z]{1,8}\.[A-Za-z0-9.-]{1,310}"


CONVERTERS: dict[str, type[BaseConverter]] = {
    "code": CodeInPath,
    "number": NumberInPath,
    "date": DateInPath,
    "id": IdInPath,
    "task": TaskInPath,
}
KINDS = {"period": "code", "site": "code", "menu_item": "code", "secret": "id"} | {name: name for name in CONVERTERS}
SHAPES: dict[str, dict[str, Any]] = {
    "code": {"type": "string", "pattern": f"^{CODE_PATTERN}$"},
    "number": {"type": "integer", "minimum": 1, "maximum": 999_999_999},
    "date": {"type": "string", "format": "date"},
    "id": {"type": "string", "pattern": f"^{IdInPath.regex}$"},
    "task": {"type": "string", "pattern": f"^{TaskInPath.regex}$"},
}


HINTS = {
    "code": "A code is made of a-z, 0-9 and -, up to 64 characters.",
    "number": "A number is written in digits, from 1 on.",
    "date": f"A date is written YYYY-MM-DD, from {FIRST_YEAR} to {LAST_YEAR}.",
    "id": "An id stands as the service gave it.",
    "task": "The id of a task or pull stands as a list gave it.",
}
SHOWN = 80


def nowhere(path: str, known: Iterable[str]) -> NotFound:
    """Which segment of a path is the first that leads nowhere, of all ``known`` paths taken along the one that leads furthest.

    >>> str(nowhere("/v1/sites/quay/prep-lists/tomorrow", ["/v1/sites/{site}/prep-lists/{date}"]).detail)
    'There is no date tomorrow. A date is written YYYY-MM-DD, from 2000 to 2099.'
    """
    parts = path.split("/")
    furthest, expected = max((_taken(parts, pattern.split("/")) for pattern in known), default=(0, ""))
    if furthest < len(parts) and parts[furthest] and expected.startswith("{"):
        kind = KINDS[expected[1:-1]]
        return NotFound(kind, parts[furthest][:SHOWN], HINTS[kind])
    return NotFound("route", "/".join(parts[: furthest + 1])[: 4 * SHOWN])


def _taken(parts: list[str], pattern: list[str]) -> tuple[int, str]:
    """How many segments a pattern takes, and what it expects instead of the next one."""
    for place, expected in enumerate(pattern):
        if place == len(parts):
            return place - 1, ""
        named = expected.startswith("{")
        if not (re.fullmatch(CONVERTERS[KINDS[expected[1:-1]]].regex, parts[place]) if named else expected == parts[place]):
            return place, expected
    return len(pattern), ""


def no_date(path: str) -> NotFound:
    """The refusal of a path with the shape of a date in it that is none."""
    text = next(part for part in path.split("/") if re.fullmatch(DateInPath.regex, part) and read_date(part) is None)
    return NotFound("date", text, HINTS["date"])


def install(app: Flask) -> None:
    """Teach an application's paths these shapes."""
    app.url_map.converters.update(CONVERTERS)
    # Else the framework would send who asks for //v1 to /v1, where the contract says 404.
    app.url_map.merge_slashes = False


def names_in(path: str) -> list[str]:
    """The parameters of a path, in order.

    >>> names_in("/v1/sites/{site}/prep-lists/{date}")
    ['site', 'date']
    """
    return [part[1:-1] for part in path.split("/") if part.startswith("{")]


def rule_of(path: str) -> str:
    """The path as the web framework writes it.

    >>> rule_of("/v1/stations/{code}")
    '/v1/stations/<code:code>'
    """
    return "/".join(f"<{KINDS[part[1:-1]]}:{part[1:-1]}>" if part.startswith("{") else part for part in path.split("/"))

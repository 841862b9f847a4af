"""Answers that the service really gave to the examples of requests, and to mistakes, as the document's examples, and their dates.

Responsible for reading them (``openapi/examples.json``, written by ``python -m tests.contract.record``), and for moving the dates of
examples to the day on which they are shown. Refuses to make answers up.
"""

import json
import re
from datetime import date, timedelta
from functools import cache
from typing import Any

from service.resources import folder

# The day on which the examples were sent.
TODAY = date(2026, 12, 2)
DATE = re.compile(r"(?<![0-9])20[0-9]{2}-[0-9]{2}-[0-9]{2}(?![0-9])")
SHOWN = ("example", "examples")


@cache
def recorded() -> dict[str, dict[str, Any]]:
    """The recorded answers by operation and status; those of 409 and 422 by cause."""
    file = folder("openapi") / "examples.json"
    answers: dict[str, dict[str, Any]] = json.loads(file.read_text("utf-8"))
    return answers


def dated(value: Any, later: timedelta, *, shown: bool = False) -> Any:
    """A part of the document with every date of its examples so much later.

    >>> dated({"example": {"id": "make.quay.soup.2026-12-03T1200.1"}, "from": "2026-12-03"}, timedelta(30))
    {'example': {'id': 'make.quay.soup.2027-01-02T1200.1'}, 'from': '2026-12-03'}
    """
    if not later:
        return value
    if isinstance(value, dict):
        return {key: dated(inner, later, shown=shown or key in SHOWN) for key, inner in value.items()}
    if isinstance(value, list):
        return [dated(inner, later, shown=shown) for inner in value]
    return DATE.sub(lambda found: moved(found.group(), later), value) if shown and isinstance(value, str) else value


def moved(text: str, later: timedelta) -> str:
    """A date so much later; what is no date stays."""
    try:
        return (date.fromisoformat(text) + later).isoformat()
    except ValueError:
        return text

"""Pages: rows, and the path of the next page.

Responsible for cutting a page off what a use case read and for the path that goes on behind it. Refuses
to know what a row is.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any
from urllib.parse import urlencode

from service.api.exchange.call import Call
from service.api.schemas.queries import write_cursor


def page(call: Call, rows: Sequence[dict[str, Any]], *names: str) -> dict[str, Any]:
    """A page of rows that are known by the fields of some names, as ``page_by``."""
    return page_by(call, rows, lambda row: [row[name] for name in names])


def page_by(call: Call, rows: Sequence[dict[str, Any]], key: Callable[[dict[str, Any]], Iterable[Any]]) -> dict[str, Any]:
    """A page of up to the asked limit out of one row more; ``next`` leads behind the parts of the last row's key."""
    limit: int = call.query["limit"]
    shown = list(rows[:limit])
    following = next_path(call, "|".join("" if part is None else str(part) for part in key(shown[-1]))) if len(rows) > limit else None
    return {"items": shown, "next": following}


def next_path(call: Call, key: str) -> str:
    """The path of the page behind a key, which the answer links to; it keeps every other query parameter."""
    kept = [(name, text) for name, text in call.arguments if name != "cursor"]
    path = f"{call.address}?{urlencode([*kept, ('cursor', write_cursor(key))])}"
    call.links["next"] = path
    return path


def room(call: Call) -> int:
    """How many rows to read: one more than the page shows tells whether there is a next one."""
    return int(call.query["limit"]) + 1

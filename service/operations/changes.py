"""Changes between versions, as documents.

Responsible for choosing the version to compare with. Refuses to compare itself, and to know HTTP.
"""

from collections.abc import Container
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.kitchen.book.changes import differences
from service.store import recipes


def version_changes(session: Session, code: str, number: int, first: int | None, seen: Container[int] | None) -> dict[str, Any]:
    """What differs between version ``first`` (the one before, where none is given) and version ``number`` of a recipe.

    ``seen`` are the versions that the caller may see (None: all). Raises NotFound, and Invalid for a first one that is not there.
    """
    rows = {row.number: row for row in recipes.versions(session, code) if seen is None or row.number in seen}
    if number not in rows:
        raise NotFound(f"version of the recipe {code} with the number", number)
    if first is not None and first not in rows:
        known = ", ".join(map(str, rows))
        raise Invalid([Fault("", "unknown_reference", f"{code} has no version {first} (its versions: {known})", parameter="from")])
    since = max((each for each in rows if each < number), default=None) if first is None else first
    old = None if since is None else rows[since].document
    return {"recipe": code, "from": since, "version": number, **differences(old, rows[number].document)}

"""Portions: rows removed a few at a time, so that nobody waits for it.

Responsible for the one form of DELETE with a limit that both databases spell alike. Refuses to know which rows are old.
"""

from typing import Any

from sqlalchemy import ColumnElement, CursorResult, Table, delete, select, tuple_
from sqlalchemy.orm import Session


def remove(session: Session, rows: Table, which: ColumnElement[bool], limit: int) -> int:
    """Remove up to ``limit`` of some rows, whichever are found first; returns how many. What another is removing is left to it."""
    chosen = select(*rows.primary_key).where(which).limit(limit).with_for_update(skip_locked=True)
    removed: CursorResult[Any] = session.connection().execute(delete(rows).where(tuple_(*rows.primary_key).in_(chosen)))
    return removed.rowcount

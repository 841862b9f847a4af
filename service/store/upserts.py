"""Rows that replace the ones with the same key, in one statement for many.

Responsible for the one form of INSERT that both databases spell alike. Refuses to know tables.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Table
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session


def insert_into(session: Session, table: Table) -> sqlite.Insert | postgresql.Insert:
    """An INSERT that may say what happens on a conflict, in the session's dialect."""
    return postgresql.insert(table) if session.get_bind().dialect.name == "postgresql" else sqlite.insert(table)


def upsert(session: Session, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write rows, each with every key column; where the key exists, the other columns given take the row's values."""
    if not rows:
        return
    statement = insert_into(session, table)
    keys = [column.name for column in table.primary_key]
    changed = {name: statement.excluded[name] for name in rows[0] if name not in keys}
    session.execute(
        statement.on_conflict_do_update(index_elements=keys, set_=changed)
        if changed
        else statement.on_conflict_do_nothing(index_elements=keys),
        list(rows),
    )

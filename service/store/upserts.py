"""Rows that replace the ones with the same key, in one statement for many.

Responsible for the one form of INSERT that both databases spell alike, and for the shortest way to the driver for thousands of rows.
Refuses to know tables.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import ARRAY, Column, Dialect, Table, func, literal, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

Upsert = sqlite.Insert | postgresql.Insert


def insert_into(session: Session, into: Table) -> Upsert:
    """An INSERT that may say what happens on a conflict, in the session's dialect."""
    return postgresql.insert(into) if session.get_bind().dialect.name == "postgresql" else sqlite.insert(into)


def replacing(statement: Upsert, into: Table, names: Iterable[str]) -> Upsert:
    """The INSERT of the columns named, each key column among them: where the key exists, the others take the row's values."""
    keys = [each.name for each in into.primary_key]
    changed = {name: statement.excluded[name] for name in names if name not in keys}
    if not changed:
        return statement.on_conflict_do_nothing(index_elements=keys)
    return statement.on_conflict_do_update(index_elements=keys, set_=changed)


def upsert(session: Session, into: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write rows, each with every key column; where the key exists, the other columns given take the row's values."""
    if rows:
        session.execute(replacing(insert_into(session, into), into, rows[0]), list(rows))


def pour(session: Session, into: Table, rows: Sequence[tuple[Any, ...]]) -> None:
    """Write many whole rows, values in the order of the columns, each key once; what is there under a key is replaced.

    SQLite gets the rows, one after the other, straight from its driver; PostgreSQL gets a statement with a list for each column.
    """
    if not rows:
        return
    dialect = session.get_bind().dialect
    columns = dict(zip(into.columns, zip(*rows, strict=True), strict=True))
    names = [column.name for column in columns]
    statement = insert_into(session, into)
    if dialect.name == "postgresql":
        lists = [literal(values, ARRAY(column.type, dimensions=1)) for column, values in columns.items()]
        session.execute(
            replacing(statement.from_select(names, select(func.unnest(*lists).table_valued(*names).render_derived())), into, names)
        )
    else:
        plain = zip(*(written(column, dialect, values) for column, values in columns.items()), strict=True)
        session.connection().exec_driver_sql(str(replacing(statement, into, names).compile(dialect=dialect)), list(plain))


def written(column: Column[Any], dialect: Dialect, values: Iterable[Any]) -> Iterable[Any]:
    """The values of a column as the driver takes them."""
    write = column.type.dialect_impl(dialect).bind_processor(dialect)
    return values if write is None else map(write, values)

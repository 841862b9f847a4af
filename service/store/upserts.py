"""Rows that replace the ones with the same key, in one statement for many.

Responsible for the one form of INSERT that both databases spell alike, and for the shortest way to the driver for thousands of rows.
Refuses to know tables.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Column, Connection, Dialect, MetaData, Table, delete, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session
from sqlalchemy.schema import CreateTable

# From so many rows on, preparing the shortest way costs less than going it saves.
MANY = 500
Upsert = sqlite.Insert | postgresql.Insert
# An INSERT that may say what happens on a conflict, in each dialect.
INSERTS: dict[str, Callable[[Table], Upsert]] = {"sqlite": sqlite.insert, "postgresql": postgresql.insert}


def dialect_of(session: Session) -> str:
    """The name of the dialect that a session speaks."""
    return session.get_bind().dialect.name


def insert_into(session: Session, into: Table) -> Upsert:
    """An INSERT that may say what happens on a conflict, in the session's dialect."""
    return INSERTS[dialect_of(session)](into)


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
        session.execute(_upserting(dialect_of(session), into, tuple(rows[0])), list(rows))


@cache
def _upserting(dialect: str, into: Table, names: tuple[str, ...]) -> Upsert:
    # Made once: that takes as long as the answer.
    return replacing(INSERTS[dialect](into), into, names)


def pour(session: Session, into: Table, rows: Sequence[tuple[Any, ...]]) -> None:
    """Write whole rows, values in the order of the columns, each key once; what is there under a key is replaced.

    Many go straight to SQLite's driver one after the other, and to PostgreSQL by COPY through a table that lasts as long as the
    connection. Each way has its price, which few rows do not pay back.
    """
    columns = list(into.columns)
    if len(rows) < MANY:
        upsert(session, into, [dict(zip(into.columns.keys(), row, strict=True)) for row in rows])
        return
    connection = session.connection()
    values = zip(*rows, strict=True)
    plain = zip(*(written(column, connection.dialect, each) for column, each in zip(columns, values, strict=True)), strict=True)
    names = [column.name for column in columns]
    statement = insert_into(session, into)
    if connection.dialect.name == "postgresql":
        staged = stage(into)
        connection.execute(CreateTable(staged, if_not_exists=True))
        # A commit empties it; here this may not be the transaction's first call.
        connection.execute(delete(staged))
        copy(connection, staged, plain)
        session.execute(replacing(statement.from_select(names, select(*staged.columns)), into, names))
    else:
        connection.exec_driver_sql(str(replacing(statement, into, names).compile(dialect=connection.dialect)), list(plain))


def stage(into: Table) -> Table:
    """A table of one connection, with the columns of another."""
    columns = (Column(each.name, each.type) for each in into.columns)
    return Table(f"staged_{into.name}", MetaData(), *columns, prefixes=["TEMPORARY"], postgresql_on_commit="DELETE ROWS")


def copy(connection: Connection, into: Table, rows: Iterable[tuple[Any, ...]]) -> None:
    """Add rows to a table of PostgreSQL by its COPY; raises DBAPIError, as a statement does."""
    dialect = connection.dialect
    # COPY is the driver's own: it is in no common interface.
    driver: Any = connection.connection.driver_connection
    quote = dialect.identifier_preparer.quote
    statement = f"COPY {quote(into.name)} ({', '.join(quote(each.name) for each in into.columns)}) FROM STDIN"
    try:
        with driver.cursor() as cursor, cursor.copy(statement) as target:
            for row in rows:
                target.write_row(row)
    except dialect.loaded_dbapi.Error as error:
        raise DBAPIError.instance("COPY", None, error, dialect.loaded_dbapi.Error, hide_parameters=True, dialect=dialect) from error


def written(column: Column[Any], dialect: Dialect, values: Iterable[Any]) -> Iterable[Any]:
    """The values of a column as the driver takes them."""
    write = column.type.dialect_impl(dialect).bind_processor(dialect)
    # Most rows say the same dates and moments.
    return values if write is None else map(cache(write), values)

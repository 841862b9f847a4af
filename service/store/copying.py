"""Copying: a whole database into another, of either kind, and the proof that nothing differs.

Responsible for order, sequences and the comparison row for row. Refuses to change what it copies from, to
mix two databases, and to know what the rows mean.
"""

from collections.abc import Callable
from itertools import zip_longest
from typing import Any

from sqlalchemy import Column, ColumnElement, Connection, CursorResult, Engine, Integer, MetaData, String, Table, func, insert, select

from service.store.engine import READ_ONLY
from service.store.tables import metadata
from service.store.types import Document, Packed

CHUNK = 1_000
Tell = Callable[[str, int, int], None]


class NotEmpty(Exception):
    """The target holds rows already."""


class Differs(Exception):
    """A copied row is not the one that it was copied from."""


def copy(source: Engine, target: Engine, tell: Tell) -> dict[str, int]:
    """Copy every table in one transaction, from one state of the source; returns the rows by table.

    Each row is read back and compared before the transaction ends, so that the target holds all of it or
    nothing. Both must have been reached by the newest migration. ``tell`` hears the table, the rows done
    and the rows there are. Raises NotEmpty, Differs.
    """
    with reading(source) as origin, target.begin() as goal:
        if filled := [table.name for table in metadata.sorted_tables if count(goal, table)]:
            raise NotEmpty(f"the target holds rows already, in {', '.join(sorted(filled))}: copy into a new database")
        copied = {}
        for table in (plain(table) for table in metadata.sorted_tables):
            copied[table.name] = fill(origin, goal, table, tell)
            advance_sequence(goal, table)
            check_equal(origin, goal, table)
    return copied


def reading(engine: Engine) -> Connection:
    """A connection that sees one state of the database and cannot change it."""
    options: dict[str, Any] = {READ_ONLY: True}
    if engine.dialect.name == "postgresql":
        options |= {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    return engine.execution_options(**options).connect()


def plain(table: Table) -> Table:
    """The same table with documents as the text or the bytes that they are stored as, so that it is these that are copied and compared."""
    copied = table.to_metadata(MetaData())
    for column in copied.columns:
        if isinstance(column.type, Document | Packed):
            column.type = column.type.impl_instance
    return copied


def count(connection: Connection, table: Table) -> int:
    """How many rows a table has."""
    return int(connection.execute(select(func.count()).select_from(table)).scalar_one())


def fill(origin: Connection, goal: Connection, table: Table, tell: Tell) -> int:
    """Copy the rows of one table; returns how many."""
    total, done = count(origin, table), 0
    tell(table.name, 0, total)
    with rows_of(origin, table) as rows:
        for part in rows.mappings().partitions(CHUNK):
            goal.execute(insert(table), [dict(row) for row in part])
            done += len(part)
            tell(table.name, done, total)
    return done


def rows_of(connection: Connection, table: Table) -> CursorResult[Any]:
    """The rows of a table in order of its key, read piece by piece."""
    wanted = select(table).order_by(*(in_byte_order(connection, column) for column in table.primary_key))
    return connection.execute(wanted, execution_options={"yield_per": CHUNK})


def in_byte_order(connection: Connection, column: Column[Any]) -> ColumnElement[Any]:
    """A column to sort by, alike on both databases: a language's rules would sort texts otherwise than SQLite does."""
    return column.collate("C") if connection.dialect.name == "postgresql" and isinstance(column.type, String) else column


def check_equal(origin: Connection, goal: Connection, table: Table) -> None:
    """Raise Differs unless both hold the same rows, to the last digit: a row's text tells 2.50 from 2.5."""
    with rows_of(origin, table) as rows, rows_of(goal, table) as twins:
        for number, (row, twin) in enumerate(zip_longest(rows, twins), 1):
            if row is None or twin is None or repr(tuple(row)) != repr(tuple(twin)):
                raise Differs(f"row {number} of {table.name} differs from what it was copied from: nothing was kept")


def advance_sequence(goal: Connection, table: Table) -> None:
    """Let a key that the database numbers itself go on behind the rows that came with theirs; SQLite does so by itself."""
    [*keys] = table.primary_key
    if goal.dialect.name != "postgresql" or len(keys) > 1 or not isinstance(keys[0].type, Integer):
        return
    newest = goal.execute(select(func.max(keys[0]))).scalar_one()
    if newest is not None:
        goal.execute(select(func.setval(func.pg_get_serial_sequence(table.name, keys[0].name), newest)))

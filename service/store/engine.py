"""The engine: how the service talks to either database.

Responsible for connections, for one writer at a time (of single sites on PostgreSQL: one for each), and for readers that
see one state and hold nobody up. Refuses to know tables.
"""

import os
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from time import monotonic, sleep
from typing import Any
from zlib import crc32

from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, Engine, Select, create_engine, event, make_url
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session, sessionmaker

BUSY_SECONDS = 10
STATEMENT_SECONDS = 30
# Any number that nothing else in the database locks: the letters kp_w.
WRITER_LOCK = 0x6B705F77
READ_ONLY = "read_only"
ALONE = "alone"
SITE = "site"
AT_ONCE = "at_once"
WAIT = "wait"
SETTINGS = "settings"
AT_ONCE_SECONDS = 0.05
LOOK_AGAIN_SECONDS = 0.002
# Connections to PostgreSQL that a process keeps: one for each of a worker's threads and some that count. Another costs more to open
# than most requests ask.
KEPT_OPEN, MORE_OPEN = 10, 5


Ask = Callable[[Mapping[str, Any]], tuple[Any, ...] | None]


class TwinInFlight(Exception):
    """Another transaction is under way under the same key."""


def make_engine(url: str, statement_seconds: int = STATEMENT_SECONDS) -> Engine:
    """An engine for a database address; its sessions write one at a time, on both databases.

    On PostgreSQL a statement ends after so many seconds (0: it takes as long as it takes).

    SQLite takes its write lock when a writer begins: one that begins as a reader and then writes would
    find the database locked. PostgreSQL's writers take advisory locks, which end with the transaction,
    so that "read the current state, check, write" needs no retries on either. There, those that write for
    one ``site`` each write at the same time, if nobody writes for the whole group. Errors do not repeat the
    parameters of their statement: they may be what somebody sent, and errors are logged.
    """
    if make_url(url).get_backend_name() == "sqlite":
        engine = create_engine(url, connect_args={"timeout": BUSY_SECONDS, "isolation_level": None}, hide_parameters=True)
        event.listen(engine, "do_connect", make_file)
        event.listen(engine, "connect", prepare_sqlite)
        event.listen(engine, "begin", begin_sqlite)
    else:
        pool = {"pool_size": KEPT_OPEN, "max_overflow": MORE_OPEN, "pool_timeout": BUSY_SECONDS, "pool_pre_ping": True}
        engine = create_engine(url, **pool, hide_parameters=True)
        event.listen(engine, "do_connect", partial(connect_postgresql, statement_seconds))
        event.listen(engine, "checkin", forget_reading)
        event.listen(engine, "begin", begin_postgresql)
    return engine


def make_file(dialect: Any, record: Any, positional: Sequence[str], named: Any) -> None:
    """Make SQLite's file, where there is none, for nobody but its owner to read; what is written beside it gets the same rights."""
    del dialect, record, named
    place = Path(positional[0])
    # A name that is more than a path, and a folder that is not there, are the driver's to judge.
    if positional[0].startswith((":memory:", "file:")) or not place.parent.is_dir():
        return
    # A file that is there must not even be opened: closing it would end the locks that this process has on it, and another
    # process could then take away what is written but not yet in the file.
    with suppress(FileExistsError):
        os.close(os.open(place, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))


def connect_postgresql(seconds: int, dialect: Any, record: Any, positional: Any, named: Mapping[str, Any]) -> Any:
    """A connection that does not wait for a server which answers nobody, and for a statement so many seconds (0: to its end)."""
    del dialect, record
    # Its driver is there only where PostgreSQL is asked for.
    from service.store.silence import CONNECT_SECONDS, Doubting  # noqa: PLC0415 - as said above

    connection = Doubting.connect(*positional, **{"connect_timeout": CONNECT_SECONDS, **named})
    connection.execute(f"SET statement_timeout = {seconds * 1000}")
    connection.commit()
    return connection


def forget_reading(connection: Any, record: Any) -> None:
    """Let the server say whether a connection that a reader gives back may write: a standby, or one that was set to read, may not."""
    del record
    if connection is not None and not connection.closed:
        connection.read_only = None


def prepare_sqlite(connection: sqlite3.Connection, record: Any) -> None:
    """Settings that SQLite keeps per connection. What was acknowledged outlives a power failure too: each commit reaches the disk."""
    del record
    for statement in ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL", "PRAGMA foreign_keys = ON"):
        connection.execute(statement)


def begin_sqlite(connection: Connection) -> None:
    """A reader begins without a lock and cannot write; a writer takes the write lock, for which one "at once" hardly waits."""
    options = connection.get_execution_options()
    read_only = options.get(READ_ONLY, False)
    settings = (f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000 if read_only else 0}", f"PRAGMA query_only = {'ON' if read_only else 'OFF'}")
    # By the driver alone, since every request begins like this.
    driver: Any = connection.connection.driver_connection
    if connection.info.get(SETTINGS) != settings:
        for setting in settings:
            driver.execute(setting)
        connection.info[SETTINGS] = settings
    if read_only:
        driver.execute("BEGIN")
    else:
        seconds = AT_ONCE_SECONDS if options.get(AT_ONCE, False) else options.get(WAIT) or BUSY_SECONDS
        begin_to_write(connection, driver, monotonic() + seconds)


def begin_to_write(connection: Connection, driver: sqlite3.Connection, end: float) -> None:
    """Take SQLite's write lock, by a moment. SQLite's own waiting looks again after up to a tenth of a second: meanwhile nobody writes."""
    while monotonic() < end:
        try:
            driver.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                break
            sleep(LOOK_AGAIN_SECONDS)
        else:
            return
    # That another holds it, or whatever is wrong, is told as of any statement.
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def begin_postgresql(connection: Connection) -> None:
    """A writer waits for the one before it, unless its statement needs no other's end: it is "at once".

    One that is to be ``alone`` under a key (two whole numbers) raises TwinInFlight where another is, and does not wait.
    """
    options = connection.get_execution_options()
    alone = options.get(ALONE)
    if alone is not None and not connection.exec_driver_sql("SELECT pg_try_advisory_xact_lock(%s, %s)", alone).scalar_one():
        raise TwinInFlight
    if options.get(AT_ONCE, False):
        # What is counted here is worth no wait for the disk.
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {int(AT_ONCE_SECONDS * 1000)}; SET LOCAL synchronous_commit = off")
    elif not options.get(READ_ONLY, False):
        wait = f"SET LOCAL lock_timeout = {int((options[WAIT] or BUSY_SECONDS) * 1000)}; " if WAIT in options else ""
        connection.exec_driver_sql(wait + turn_to_write(options.get(SITE)))


def turn_to_write(site: str | None) -> str:
    """What waits for every writer before, or (of a site) for those of that site and of the whole group alone.

    All take the group's lock first, and of sites one at most, so that no two wait for each other.
    """
    if site is None:
        return f"SELECT pg_advisory_xact_lock({WRITER_LOCK})"
    # Two sites of the same number by chance wait for each other.
    number = int.from_bytes(crc32(site.encode()).to_bytes(4), signed=True)
    return f"SELECT pg_advisory_xact_lock_shared({WRITER_LOCK}); SELECT pg_advisory_xact_lock({WRITER_LOCK}, {number})"


def session_factory(engine: Engine, *, read_only: bool = False, wait: float | None = None) -> sessionmaker[Session]:
    """Makes sessions: writers, or readers that see one state of the database from their first statement on.

    A writer waits so many seconds (BUSY_SECONDS, unless said) for the one before it, then it fails with OperationalError;
    only migrations wait without end. One whose transaction begins with the option SITE writes nothing that is
    not that site's own, and goes by nothing but that and the catalogue.
    """
    if not read_only:
        return sessionmaker(engine.execution_options(**{WAIT: wait}), expire_on_commit=False)
    options: dict[str, Any] = {READ_ONLY: True}
    if engine.dialect.name == "postgresql":
        options |= {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    return sessionmaker(engine.execution_options(**options), expire_on_commit=False)


def reads_only(session: Session) -> bool:
    """Whether a session sees what is committed, and changes nothing."""
    return bool(session.get_bind().engine.get_execution_options().get(READ_ONLY, False))


def at_once_factory(engine: Engine) -> sessionmaker[Session]:
    """Makes sessions for single statements that are right in any order (adding to a number): they wait for no other writer.

    Where the database cannot take them within AT_ONCE_SECONDS they fail with OperationalError, so that nobody waits for them.
    """
    return sessionmaker(engine.execution_options(**{AT_ONCE: True}), expire_on_commit=False)


def asker(engine: Engine, statement: Select[*tuple[Any, ...]]) -> Ask:
    """A function that reads the first row of a statement for given parameters: by the driver alone, in a fifth of the time.

    It raises as any statement does.
    """
    compiled = statement.compile(dialect=engine.dialect)
    order: Sequence[str] | None = getattr(compiled, "positiontup", None)

    def ask(values: Mapping[str, Any]) -> tuple[Any, ...] | None:
        named = compiled.construct_params(dict(values))
        connection = engine.raw_connection()
        try:
            cursor = connection.cursor()
            cursor.execute(compiled.string, named if order is None else [named[name] for name in order])
            row: tuple[Any, ...] | None = cursor.fetchone()
        except engine.dialect.loaded_dbapi.Error as error:
            raise OperationalError(compiled.string, None, error) from error
        else:
            return row
        finally:
            connection.close()

    return ask


def schema_revision(engine: Engine) -> str | None:
    """The number of the migration that the database has reached, or None of a database without tables."""
    with engine.execution_options(**{READ_ONLY: True}).connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()

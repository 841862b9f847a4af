"""What is wrong with a database is told in one of four words, and never in the database's own."""

from collections.abc import Iterator

import psycopg
import pytest
from sqlalchemy import Engine, event, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.store import revisions
from service.store.engine import make_engine, session_factory
from service.store.troubles import TROUBLES, trouble


def raised(engine: Engine, statement: str | None = None) -> Exception:
    """What a write raises."""
    with pytest.raises(TROUBLES) as caught, session_factory(engine, wait=0.05)() as session:  # noqa: PT012 - each of the two may raise
        if statement:
            session.execute(text(statement))
        revisions.bump(session, "catalogue")
        session.commit()
    return caught.value


def test_a_database_whose_writer_is_busy_is_locked(engine: Engine) -> None:
    with session_factory(engine)() as writer:
        revisions.bump(writer, "catalogue")
        assert trouble(raised(engine)) == "locked"


def test_a_file_that_may_only_be_read_is_read_only(sqlite_url: str) -> None:
    engine = make_engine(f"sqlite:///file:{sqlite_url.removeprefix('sqlite:///')}?mode=ro&uri=true")
    assert trouble(raised(engine)) == "read-only"
    engine.dispose()


def test_a_standby_that_takes_no_writes_is_read_only(postgresql_url: str) -> None:
    engine = make_engine(postgresql_url)
    assert trouble(raised(engine, "SET TRANSACTION READ ONLY")) == "read-only"
    engine.dispose()


@pytest.fixture
def small(sqlite_url: str) -> Iterator[Engine]:
    """A database that has no page left."""
    engine = make_engine(sqlite_url)
    event.listen(engine, "connect", lambda connection, _: connection.execute("PRAGMA max_page_count = 1"))
    yield engine
    engine.dispose()


def test_a_disk_without_room_is_full(small: Engine) -> None:
    error = raised(small, "INSERT INTO stations (code, document) VALUES ('veg', hex(randomblob(1000000)))")
    assert trouble(error) == "full"


@pytest.mark.parametrize(
    ("url", "word"),
    [("sqlite:////nowhere/kitchen.sqlite3", "unreachable"), ("postgresql://nobody@127.0.0.1:1/kitchen", "unreachable")],
)
def test_a_database_that_is_not_there_is_unreachable(url: str, word: str) -> None:
    engine = make_engine(url)
    assert trouble(raised(engine)) == word
    engine.dispose()


@pytest.mark.parametrize(
    ("kind", "word"),
    [
        (psycopg.errors.DiskFull, "full"),
        (psycopg.errors.TooManyConnections, "unreachable"),
        (psycopg.errors.DeadlockDetected, "locked"),
        (psycopg.errors.ReadOnlySqlTransaction, "read-only"),
        (psycopg.errors.AdminShutdown, "unreachable"),
    ],
)
def test_what_postgresql_says_by_its_codes_is_one_of_the_words(kind: type[psycopg.Error], word: str) -> None:
    assert trouble(DBAPIError("SELECT 1", None, kind("told to nobody"))) == word


def test_who_waits_too_long_for_a_connection_finds_it_locked() -> None:
    assert trouble(PoolTimeout()) == "locked"

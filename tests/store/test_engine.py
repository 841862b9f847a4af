import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError
from sqlalchemy.orm import Session

from service.store import revisions
from service.store.engine import LOOK_AGAIN_SECONDS, make_engine, schema_revision, session_factory


def test_a_sqlite_connection_keeps_foreign_keys_writes_ahead_and_leaves_no_commit_in_memory(sqlite_url: str) -> None:
    engine = make_engine(sqlite_url)
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar_one() == 1
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar_one() == 2, "FULL"
    engine.dispose()


def test_another_connection_of_a_process_leaves_the_locks_of_the_first(sqlite_url: str) -> None:
    """Another process that closes the file last, as it believes, would take away what is only written ahead."""
    engine = make_engine(sqlite_url)
    ahead = Path(f"{sqlite_url.removeprefix('sqlite:///')}-wal")
    with engine.connect() as first, engine.connect():
        first.exec_driver_sql("SELECT count(*) FROM sqlite_master")
        stranger = "import sqlite3, sys; other = sqlite3.connect(sys.argv[1]); other.execute('PRAGMA user_version'); other.close()"
        subprocess.run([sys.executable, "-c", stranger, str(ahead).removesuffix("-wal")], check=True)
        assert ahead.exists()
    engine.dispose()


def test_a_reader_is_not_held_up_by_a_writer_and_does_not_see_its_unfinished_work(engine: Engine) -> None:
    with session_factory(engine)() as writer, session_factory(engine, read_only=True)() as reader:
        revisions.bump(writer, "catalogue")
        assert revisions.current(reader, ["catalogue"]) == {"catalogue": 0}


def test_a_reader_sees_one_state_until_it_ends(engine: Engine) -> None:
    read_only = session_factory(engine, read_only=True)
    with session_factory(engine)() as writer, read_only() as reader:
        assert revisions.current(reader, ["catalogue"]) == {"catalogue": 0}
        revisions.bump(writer, "catalogue")
        writer.commit()
        assert revisions.current(reader, ["catalogue"]) == {"catalogue": 0}
    with read_only() as later:
        assert revisions.current(later, ["catalogue"]) == {"catalogue": 1}


def test_a_reader_cannot_write(engine: Engine) -> None:
    with session_factory(engine, read_only=True)() as reader, pytest.raises(DBAPIError, match=r"read-?only"):
        revisions.bump(reader, "catalogue")


def test_a_writer_may_write_on_a_connection_that_a_reader_used_before(engine: Engine) -> None:
    with session_factory(engine, read_only=True)() as reader:
        revisions.current(reader, ["catalogue"])
    with session_factory(engine)() as writer:
        assert revisions.bump(writer, "catalogue") == 1


def test_writers_that_read_first_and_then_write_wait_for_each_other(engine: Engine) -> None:
    factory = session_factory(engine)
    failures: list[Exception] = []

    def read_then_write() -> None:
        try:
            with factory() as writer:
                seen = revisions.current(writer, ["catalogue"])["catalogue"]
                time.sleep(0.01)
                assert revisions.bump(writer, "catalogue") == seen + 1
                writer.commit()
        except Exception as error:  # noqa: BLE001 - a thread hands its failure to the test
            failures.append(error)

    threads = [threading.Thread(target=read_then_write) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with factory() as reader:
        assert revisions.current(reader, ["catalogue"]) == {"catalogue": 12}


def test_a_row_that_refers_to_nothing_is_refused(session: Session) -> None:
    with pytest.raises(IntegrityError):
        session.execute(text("INSERT INTO counted_items (site, item) VALUES ('nowhere', 'recipe:soup')"))


def test_a_database_without_tables_has_no_schema_revision(tmp_path_factory: pytest.TempPathFactory, engine: Engine) -> None:
    empty = make_engine(f"sqlite:///{tmp_path_factory.mktemp('empty') / 'empty.sqlite3'}")
    assert schema_revision(empty) is None
    empty.dispose()
    assert schema_revision(engine) is not None


def test_a_writer_waits_for_another_only_so_long(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.store.engine.BUSY_SECONDS", 0.3)
    with session_factory(engine)() as first, session_factory(engine)() as second:
        revisions.bump(first, "catalogue")
        started = time.monotonic()
        with pytest.raises(OperationalError):
            revisions.bump(second, "catalogue")
        assert 0.2 < time.monotonic() - started < 5


def test_an_error_of_the_database_does_not_repeat_what_was_sent(engine: Engine) -> None:
    insert = text("INSERT INTO stations (code, document) VALUES ('veg', :sent)")
    with session_factory(engine)() as session:
        session.execute(insert, {"sent": '"what was sent"'})
        with pytest.raises(IntegrityError) as refused:
            session.execute(insert, {"sent": '"what was sent"'})
    assert "what was sent" not in str(refused.value)


def test_a_writer_of_sqlite_looks_again_and_again_whether_another_is_through(sqlite_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    engine, slept = make_engine(sqlite_url), list[float]()
    sessions = session_factory(engine)
    with sessions() as first, sessions() as second:
        revisions.bump(first, "catalogue")

        def sleep(seconds: float) -> None:
            slept.append(seconds)
            if len(slept) == 3:
                first.commit()

        monkeypatch.setattr("service.store.engine.sleep", sleep)
        assert revisions.bump(second, "catalogue") == 2
    assert slept == [LOOK_AGAIN_SECONDS] * 3
    engine.dispose()

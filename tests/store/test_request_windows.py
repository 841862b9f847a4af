import threading
import time

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from service.store import request_windows
from service.store.engine import AT_ONCE_SECONDS, at_once_factory, session_factory
from service.store.tables import request_windows as table


def test_what_workers_report_adds_up_by_subject_and_minute(session: Session) -> None:
    assert request_windows.add(session, 7, {"token:b": 2, "token:a": 1}) == {"token:a": 1, "token:b": 2}
    assert request_windows.add(session, 7, {"token:a": 4, "address:c": 1}) == {"token:a": 5, "address:c": 1}
    assert request_windows.add(session, 8, {"token:a": 1}) == {"token:a": 1}
    assert request_windows.add(session, 7, {}) == {}


def test_old_minutes_are_removed(session: Session) -> None:
    for minute in (6, 7, 8):
        request_windows.add(session, minute, {"token:a": minute})
    request_windows.forget(session, 8)
    assert request_windows.add(session, 7, {"token:a": 1}) == {"token:a": 1}
    assert request_windows.add(session, 8, {"token:a": 1}) == {"token:a": 9}


def test_of_very_many_old_rows_some_are_removed_at_a_time(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(request_windows, "AT_ONCE", 2)
    request_windows.add(session, 7, {f"token:{each}": 1 for each in "abc"})
    for left in (1, 0):
        request_windows.forget(session, 8)
        assert session.execute(select(func.count()).select_from(table)).scalar_one() == left


def test_workers_that_report_together_lose_nothing(engine: Engine) -> None:
    reports = at_once_factory(engine)

    def report(done: list[bool]) -> None:
        for _ in range(20):
            while True:
                try:
                    with reports.begin() as session:
                        request_windows.add(session, 7, {"token:b": 1, "token:a": 2})
                except OperationalError:
                    continue
                break
        done.append(True)

    done: list[bool] = []
    workers = [threading.Thread(target=report, args=(done,)) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert len(done) == 4
    with reports.begin() as session:
        assert request_windows.add(session, 7, {"token:b": 0, "token:a": 0}) == {"token:a": 160, "token:b": 80}


def test_a_report_waits_for_no_long_writer(engine: Engine) -> None:
    """PostgreSQL takes it beside the writer; SQLite refuses it at once."""
    with session_factory(engine)() as writer:
        request_windows.add(writer, 7, {"token:other": 1})
        started = time.monotonic()
        if engine.dialect.name == "postgresql":
            with at_once_factory(engine).begin() as session:
                assert request_windows.add(session, 7, {"token:a": 1}) == {"token:a": 1}
        else:
            with pytest.raises(OperationalError), at_once_factory(engine).begin() as session:
                request_windows.add(session, 7, {"token:a": 1})
        assert time.monotonic() - started < 2
        # On the connection of one who would not wait, the next one does.
        threading.Timer(5 * AT_ONCE_SECONDS, writer.rollback).start()
        with session_factory(engine).begin() as patient:
            assert request_windows.add(patient, 7, {"token:other": 1}) == {"token:other": 1}

"""/readyz says what is wrong with the database, in time, /metrics does without one, and trouble is never a 500."""

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import create_engine, text

from service.api.exchange import readiness
from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.store import revisions
from tests.api.bodies import STATION
from tests.api.caller import Caller
from tests.api.conftest import NOW

ANSWERS = "kitchen_prep_database_answers"


@pytest.fixture
def read_only(director: Caller, database_url: str) -> Iterator[Caller]:
    """A director of a database that takes no writes."""
    assert director.get("/readyz").status_code == 200
    url = database_url
    if url.startswith("sqlite"):
        url = f"sqlite:///file:{url.removeprefix('sqlite:///')}?mode=ro&uri=true"
    else:
        allow_writes(url, "on")
    app = create_app(Config.from_env({"DATABASE_URL": url, "KITCHEN_PREP_NOW": NOW}))
    yield Caller(app.test_client(), director.secret)
    Interior.of(app).engine.dispose()
    if not url.startswith("sqlite"):
        allow_writes(url, "off")


def allow_writes(url: str, read_only: str) -> None:
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        name = connection.execute(text("SELECT current_database()")).scalar_one()
        connection.execute(text("SET default_transaction_read_only = off"))
        connection.execute(text(f'ALTER DATABASE "{name}" SET default_transaction_read_only = {read_only}'))
    engine.dispose()


def test_a_database_that_is_written_is_ready_and_read_by_the_metrics(anybody: Caller) -> None:
    assert anybody.get("/readyz").status_code == 200
    assert f"{ANSWERS} 1.0" in anybody.get("/metrics").get_data(as_text=True)


def test_a_database_that_only_reads_is_told_of_and_still_read(read_only: Caller, capsys: pytest.CaptureFixture[str]) -> None:
    for answer in (read_only.get("/readyz"), read_only.put("/v1/stations/veg", STATION)):
        assert (answer.status_code, answer.get_json()["detail"]) == (503, "The database is read-only.")
        assert "Retry-After" in answer.headers
    assert read_only.get("/v1/stations").status_code == 200
    logged = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    assert {line["database"] for line in logged if line["event"] == "database unavailable"} == {"read-only"}


def test_whoever_is_not_answered_in_time_is_told_so_by_readiness_and_not_waited_for_by_metrics(
    app: Flask, anybody: Caller, monkeypatch: pytest.MonkeyPatch
) -> None:
    def hang(*_: Any) -> bool:
        time.sleep(3)
        return True

    monkeypatch.setattr(readiness, "is_current", hang)
    started = time.monotonic()
    answer = anybody.get("/readyz")
    assert time.monotonic() - started < 2
    assert (answer.status_code, answer.get_json()["detail"]) == (503, "The database is unreachable.")
    again = time.monotonic()
    assert anybody.get("/readyz").status_code == 503
    assert time.monotonic() - again < 0.5, "it is asked once a second"
    page = anybody.get("/metrics").get_data(as_text=True)
    assert f"{ANSWERS} 0.0" in page
    assert "kitchen_prep_requests_total" in page
    Interior.of(app).readiness.asking.shutdown()


def test_a_busy_writer_is_no_reason_not_to_be_ready(app: Flask, anybody: Caller) -> None:
    with Interior.of(app).writers() as session:
        revisions.bump(session, "catalogue")
        assert anybody.get("/readyz").status_code == 200

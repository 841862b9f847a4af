"""Standing answers: a list that was answered is answered again without its view, for as long as nothing of it has changed."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from service.api.exchange import standing
from service.api.exchange.interior import Interior
from service.api.exchange.standing import OWN
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.bodies import SITE, STATION
from tests.api.caller import Caller

LIST = "/v1/sites/annex/prep-lists/2026-12-02"
# The annex's business date ends at 04:00 in New York.
NOON = datetime(2026, 12, 2, 17, 1, tzinfo=UTC)


class Clock:
    """The service's clock, which tests set."""

    def __init__(self) -> None:
        self.now = NOON


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr(Config, "now", lambda _: clock.now)
    return clock


@pytest.fixture
def app(database_url: str, clock: Clock) -> Iterator[Flask]:
    made = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_CORS_ORIGINS": "https://screen.example"}))
    yield made
    Interior.of(made).engine.dispose()


@pytest.fixture
def kitchen(app: Flask, director: Caller) -> Caller:
    """A kitchen of one site that has nothing to do."""
    for station in ("veg", "hot"):
        assert director.put(f"/v1/stations/{station}", STATION).status_code == 201
    for site in ("annex", "mill"):
        assert director.put(f"/v1/sites/{site}", SITE).status_code == 201
    return token_of(app, ["annex"])


def token_of(app: Flask, sites: list[str], days: int = 30) -> Caller:
    with Interior.of(app).writers() as session:
        secret, _ = create_token(session, "a kitchen", "kitchen", sites, None, days, NOON)
        session.commit()
    return Caller(app.test_client(), secret)


@pytest.fixture
def views(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The statuses of the answers that a view was asked for."""
    asked: list[str] = []
    keep = standing.StandingAnswers._keep

    def noted(self: Any, key: bytes, known: standing.Known) -> None:
        asked.append(known.status)
        keep(self, key, known)

    monkeypatch.setattr(standing.StandingAnswers, "_keep", noted)
    return asked


def shared(answer: TestResponse) -> set[tuple[str, str]]:
    return {(name, text) for name, text in answer.headers if name not in OWN}


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Accept_Encoding": "gzip"},
        {"Accept": "text/html"},
        {"Accept": "text/csv"},
        {"Origin": "https://screen.example"},
        {"If_None_Match": "*"},
    ],
)
def test_an_answer_that_stands_is_given_again_to_the_byte(kitchen: Caller, views: list[str], headers: dict[str, str]) -> None:
    for path in (LIST, f"{LIST}?units=us&trace=true", "/v1/sites/annex/work-for/2026-12-02"):
        if "work-for" in path and headers.get("Accept"):
            continue
        views.clear()
        first, again = (kitchen.get(path, **headers) for _ in range(2))
        assert (again.status_code, again.data, shared(again)) == (first.status_code, first.data, shared(first))
        assert first.status_code == (304 if "If_None_Match" in headers else 200)
        assert len(views) == 1
        assert first.headers["X-Request-Id"] != again.headers["X-Request-Id"]


def test_each_time_counts_and_is_told_in_log_and_metrics(
    kitchen: Caller, anybody: Caller, views: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    kitchen.get(LIST)
    before = left(kitchen.get(LIST))
    capsys.readouterr()
    assert left(kitchen.get(LIST, X_Request_Id="till-7")) == before - 1
    (line,) = (json.loads(line) for line in capsys.readouterr().err.splitlines())
    assert (line["event"], line["request_id"], line["status"], line["method"]) == ("request", "till-7", 200, "GET")
    assert line["token"] == kitchen.get("/v1/whoami").get_json()["id"]
    assert line["route"].startswith("/v1/sites/")
    counted = [row for row in anybody.get("/metrics").get_data(as_text=True).splitlines() if f'route="{line["route"]}",status="200"' in row]
    assert counted[0].endswith(" 3.0")
    assert len(views) == 1


def left(answer: TestResponse) -> int:
    return int(answer.headers["RateLimit"].split(";r=")[1].split(";")[0])


def test_a_limit_is_held_and_refused_as_ever(app: Flask, kitchen: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    interior = Interior.of(app)
    monkeypatch.setattr(interior.traffic, "clock", lambda: 6_000.0)
    interior.config = replace(interior.config, requests_per_minute=3)
    assert [kitchen.get(LIST).status_code for _ in range(5)] == [200, 200, 200, 429, 429]


def test_a_revoked_token_is_refused_at_once(kitchen: Caller, director: Caller, views: list[str]) -> None:
    assert [kitchen.get(LIST).status_code for _ in range(2)] == [200, 200]
    token_id = kitchen.get("/v1/whoami").get_json()["id"]
    assert director.delete(f"/v1/tokens/{token_id}").status_code == 204
    assert kitchen.get(LIST).status_code == 401


def test_an_expired_token_is_refused(app: Flask, kitchen: Caller, clock: Clock) -> None:
    short = token_of(app, ["annex"], days=1)
    clock.now = NOON + timedelta(days=1) - timedelta(seconds=1)
    assert [short.get(LIST).status_code for _ in range(2)] == [200, 200]
    clock.now += timedelta(seconds=1)
    assert short.get(LIST).status_code == 401


def test_another_token_is_asked_for_its_own_reach(app: Flask, kitchen: Caller, anybody: Caller) -> None:
    assert kitchen.get(LIST).status_code == 200
    assert (token_of(app, ["mill"]).get(LIST).status_code, anybody.get(LIST).status_code) == (404, 401)
    assert kitchen.send("HEAD", LIST).data == b""
    assert kitchen.put(LIST, {}).status_code == 405


def test_a_change_of_the_site_or_the_catalogue_is_seen_at_once(kitchen: Caller, director: Caller, views: list[str]) -> None:
    tags = [kitchen.get(LIST).headers["ETag"], kitchen.get(LIST).headers["ETag"]]
    assert director.post("/v1/sites/annex/counts", {"counted_at": "2026-12-02T07:00:00-05:00", "lots": []}).status_code == 201
    tags += [kitchen.get(LIST).headers["ETag"], kitchen.get(LIST).headers["ETag"]]
    assert director.put("/v1/stations/cold", STATION).status_code == 201
    tags.append(kitchen.get(LIST).headers["ETag"])
    assert (tags[0], tags[2]) == (tags[1], tags[3])
    assert len(set(tags)) == 3
    assert kitchen.get(LIST, If_None_Match=tags[0]).status_code == 200
    assert [kitchen.get(LIST, If_None_Match=tags[4]).status_code for _ in range(2)] == [304, 304]
    assert director.post("/v1/sites/annex/counts", {"counted_at": "2026-12-02T08:00:00-05:00", "lots": []}).status_code == 201
    assert kitchen.get(LIST, If_None_Match=tags[4]).status_code == 200


def test_the_next_quarter_hour_and_the_next_business_date_are_asked_anew(kitchen: Caller, views: list[str], clock: Clock) -> None:
    for moment in (
        NOON,
        NOON + timedelta(minutes=13, seconds=59),
        NOON + timedelta(minutes=14),
        NOON + timedelta(minutes=14, seconds=1),
        NOON,
    ):
        clock.now = moment
        kitchen.get(LIST)
    assert len(views) == 3


def test_a_business_date_may_end_within_a_quarter_hour(kitchen: Caller, director: Caller, views: list[str], clock: Clock) -> None:
    site = director.get("/v1/sites/annex")
    assert director.put("/v1/sites/annex", {**SITE, "day_starts": "04:05"}, If_Match=site.headers["ETag"]).status_code == 200
    for minute in (1, 4, 5, 6):
        clock.now = datetime(2026, 12, 3, 9, minute, tzinfo=UTC)
        kitchen.get(LIST)
    assert len(views) == 2


def test_bytes_that_were_let_go_of_are_made_anew(app: Flask, kitchen: Caller, views: list[str]) -> None:
    first = kitchen.get(LIST)
    Interior.of(app).kept._contents.clear()
    assert kitchen.get(LIST).data == first.data
    assert len(views) == 2


def test_a_crash_is_not_remembered(kitchen: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.api.exchange.turns.keep_in_haste", crash)
    assert kitchen.get(LIST).status_code == 500
    monkeypatch.undo()
    assert kitchen.get(LIST).status_code == 200


def crash(*_: object) -> None:
    raise RuntimeError


def test_a_database_in_trouble_is_told_of(app: Flask, kitchen: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    assert kitchen.get(LIST).status_code == 200
    engine = Interior.of(app).engine
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE tokens RENAME TO gone")
    try:
        assert kitchen.get(LIST).status_code in (500, 503)
    finally:
        with engine.begin() as connection:
            connection.exec_driver_sql("ALTER TABLE gone RENAME TO tokens")
    assert kitchen.get(LIST).status_code == 200


def test_the_oldest_answer_makes_room(kitchen: Caller, views: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(standing, "ANSWERS_KEPT", 2)
    for station in ("", "veg", "hot", "veg", "hot", ""):
        kitchen.get(f"{LIST}?station={station}" if station else LIST)
    assert len(views) == 4

"""What every answer shares: ids, caching headers, compression, and problems instead of crashes."""

import gzip
import json

import pytest
from flask import Flask
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from tests.api.bodies import SITE, STATION
from tests.api.caller import Caller

SECRETLIKE = "kp_" + "s" * 43


def test_every_answer_has_the_common_headers(director: Caller, anybody: Caller) -> None:
    for answer in (
        director.get("/v1/whoami"),
        anybody.get("/v1/whoami"),
        anybody.get("/livez"),
        anybody.get("/nowhere"),
        anybody.get("/docs/"),
    ):
        assert answer.headers["X-Request-Id"]
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"].startswith("private")
        assert {part.strip() for part in answer.headers["Vary"].split(",")} >= {"Accept", "Accept-Encoding", "Authorization"}


def test_a_request_id_of_the_right_shape_is_kept(anybody: Caller) -> None:
    assert anybody.get("/livez", X_Request_Id="till-7.a_B").headers["X-Request-Id"] == "till-7.a_B"
    for given in ("a b", "x" * 65, "ü", "a;b"):
        assert anybody.get("/livez", X_Request_Id=given).headers["X-Request-Id"] != given


def test_gzip_is_used_where_it_is_accepted_and_gives_the_same_bytes(director: Caller) -> None:
    director.put("/v1/stations/veg", STATION)
    first, second = (director.get("/v1/stations/veg", Accept_Encoding="gzip, br") for _ in range(2))
    assert first.headers["Content-Encoding"] == "gzip"
    assert first.get_data() == second.get_data()
    assert json.loads(gzip.decompress(first.get_data()))["code"] == "veg"
    for accepted in ("identity", "br", "gzip;q=0", "gzip;q=0.2, identity"):
        assert "Content-Encoding" not in director.get("/v1/stations/veg", Accept_Encoding=accepted).headers


def test_head_is_get_without_a_body(director: Caller) -> None:
    director.put("/v1/stations/veg", STATION)
    got, head = director.get("/v1/stations/veg"), director.send("HEAD", "/v1/stations/veg")
    assert (head.status_code, head.get_data(), head.headers["ETag"]) == (200, b"", got.headers["ETag"])
    assert head.headers["Content-Length"] == got.headers["Content-Length"]
    assert director.send("HEAD", "/v1/stations/none").status_code == 404


def test_options_tells_the_methods_without_a_token(anybody: Caller) -> None:
    answer = anybody.send("OPTIONS", "/v1/stations/veg")
    assert (answer.status_code, set(answer.headers["Allow"].split(", "))) == (200, {"GET", "HEAD", "PUT", "DELETE", "OPTIONS"})


def test_accept_is_honoured(director: Caller) -> None:
    for accepted in ("*/*", "application/*", "text/html, application/json;q=0.1", "application/json; charset=utf-8", ""):
        assert director.get("/v1/stations", Accept=accepted).status_code == 200
    for accepted in ("text/html", "application/json;q=0", "application/xml"):
        assert director.get("/v1/stations", Accept=accepted).status_code == 406


def test_a_crash_is_a_problem_and_its_log_line_holds_neither_body_nor_token(
    app: Flask, director: Caller, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    message = "secret onion"

    def crash(*_: object, **__: object) -> None:
        raise RuntimeError(message)

    monkeypatch.setattr("service.api.nouns.collections.put_document", crash)
    answer = director.put("/v1/stations/veg", {"name": "secret onion"}, X_Request_Id="crash-1")
    assert (answer.status_code, answer.get_json()["type"]) == (500, "/problems/internal")
    logged = capsys.readouterr().err
    assert "crash-1" in logged
    assert "RuntimeError" in logged
    assert "secret onion" not in logged
    assert str(director.secret) not in logged
    monkeypatch.undo()
    assert director.get("/v1/stations/veg").status_code == 404


def test_a_refused_request_changes_nothing(director: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OperationalError("select", {}, Exception("database is locked"))

    monkeypatch.setattr("service.api.nouns.collections.put_answer", refuse)
    answer = director.put("/v1/stations/veg", STATION)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "1")
    monkeypatch.undo()
    assert director.get("/v1/stations/veg").status_code == 404


def test_a_log_line_tells_route_status_and_token_id(director: Caller, capsys: pytest.CaptureFixture[str]) -> None:
    who = director.get("/v1/whoami").get_json()["id"]
    capsys.readouterr()
    director.get("/v1/stations/veg?limit=" + SECRETLIKE)
    line = json.loads(capsys.readouterr().err.strip().splitlines()[-1])
    assert (line["route"], line["status"], line["token"]) == ("/v1/stations/<code:code>", 404, who)
    assert SECRETLIKE not in str(line)


def test_readiness_tells_a_database_that_is_not_up_to_date_and_a_pinned_clock(app: Flask, anybody: Caller) -> None:
    ready = anybody.get("/readyz")
    assert (ready.status_code, [warning["code"] for warning in ready.get_json()["warnings"]]) == (200, ["clock_pinned"])
    with Interior.of(app).engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0000'"))
    assert anybody.get("/readyz").status_code == 503
    assert anybody.get("/livez").status_code == 200


def test_cors_is_off_unless_origins_are_configured(director: Caller, database_url: str) -> None:
    asked = {"Origin": "https://board.example", "Access-Control-Request-Method": "PUT", "Access-Control-Request-Headers": "if-match"}
    assert "Access-Control-Allow-Origin" not in director.send("OPTIONS", "/v1/stations/veg", headers=asked).headers
    opened = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_CORS_ORIGINS": "https://board.example"}))
    caller = Caller(opened.test_client(), director.secret)
    preflight = caller.send("OPTIONS", "/v1/stations/veg", headers=asked)
    assert preflight.headers["Access-Control-Allow-Origin"] == "https://board.example"
    got = caller.get("/v1/stations", Origin="https://board.example")
    assert "ETag" in got.headers["Access-Control-Expose-Headers"]
    assert "Access-Control-Allow-Origin" not in caller.get("/v1/stations", Origin="https://evil.example").headers
    for answer in (got, preflight, caller.get("/v1/stations"), caller.get("/v1/nowhere")):
        assert "Origin" in answer.headers["Vary"]
    Interior.of(opened).engine.dispose()


def test_pages_follow_next_to_the_end_and_keep_the_query(director: Caller) -> None:
    codes = [f"s{number}" for number in range(1, 6)]
    for code in codes:
        assert director.put(f"/v1/stations/{code}", STATION).status_code == 201
    path, seen = "/v1/stations?limit=2", []
    while path:
        page = director.get(path).get_json()
        seen.append([row["code"] for row in page["items"]])
        path = page["next"]
        assert path is None or "limit=2" in path
    assert seen == [["s1", "s2"], ["s3", "s4"], ["s5"]]


def test_a_site_is_created_and_listed(director: Caller) -> None:
    assert director.put("/v1/sites/mill-street", SITE).status_code == 201
    assert director.get("/v1/sites").get_json() == {"items": [director.get("/v1/sites/mill-street").get_json()], "next": None}

"""Idempotency-Key: a repeated POST does its work once and is answered as the first time, on both databases."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import LargeBinary, func, select, type_coerce
from werkzeug.test import TestResponse

from service.api.exchange import idempotency, turns
from service.api.exchange.interior import Interior
from service.app import create_app
from service.store.tables import idempotency_keys, metadata
from tests.api.caller import Caller, faults
from tests.api.shop import CATALOGUE, measure, open_shop

KEY = "8a1f6a5e-93b1-4c52-8a61-4a3d0e2d7c11"
TOKEN = {"name": "Board", "role": "viewer"}
COUNT = {"counted_at": "2026-12-02T06:30:00-05:00", "lots": [{"item": {"ingredient": "onion"}, "quantity": measure("2 kg")}]}
POSTS: dict[str, tuple[str, Any, str]] = {
    "versions": ("/v1/recipes/soup/versions", {"from": "2026-12-20"}, "recipe_versions"),
    "prints": ("/v1/sites/east/prep-lists/2026-12-03/prints", None, "prints"),
    "counts": ("/v1/sites/east/counts", COUNT, "stock_counts"),
    "imports": ("/v1/imports", CATALOGUE | {"stations": [{"code": "new", "name": "New"}]}, "stations"),
}


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", "2026-12-03"): 10})
    return director


def rows(app: Flask, table: str) -> int:
    with Interior.of(app).readers() as session:
        return int(session.execute(select(func.count()).select_from(metadata.tables[table])).scalar_one())


def told(answer: TestResponse) -> tuple[int, bytes, dict[str, str]]:
    """An answer without what is its own: the id of its request, what is left of the minute, and that it is a repetition."""
    own = ("X-Request-Id", "RateLimit", "Idempotent-Replayed")
    return answer.status_code, answer.get_data(), {name: text for name, text in answer.headers.items() if name not in own}


@pytest.mark.parametrize("name", POSTS)
def test_a_repetition_works_once_and_is_answered_as_the_first_time(app: Flask, shop: Caller, name: str) -> None:
    path, body, table = POSTS[name]
    before = rows(app, table)
    first = shop.post(path, body, Idempotency_Key=KEY)
    assert first.status_code in (200, 201), first.get_json()
    repeated = shop.post(path, body, Idempotency_Key=KEY)
    assert told(repeated) == told(first)
    assert (first.headers.get("Idempotent-Replayed"), repeated.headers["Idempotent-Replayed"]) == (None, "true")
    assert rows(app, table) == before + 1
    packed = shop.post(path, body, Idempotency_Key=KEY, Accept_Encoding="gzip")
    assert (packed.headers["Content-Encoding"], packed.headers.get("Location")) == ("gzip", first.headers.get("Location"))
    assert rows(app, table) == before + 1


@pytest.mark.parametrize("name", POSTS)
def test_an_answer_is_kept_in_few_bytes_and_that_of_a_print_as_the_print_alone(app: Flask, shop: Caller, name: str) -> None:
    path, body, _ = POSTS[name]
    answer = shop.post(path, body, Idempotency_Key=KEY)
    with Interior.of(app).readers() as session:
        # The length of what is stored, on both databases.
        stored = session.execute(select(func.length(type_coerce(idempotency_keys.c.answer, LargeBinary)))).scalar_one()
    assert (stored is None) == (name == "prints")
    assert stored is None or stored < len(answer.get_data()) + 20


def test_the_same_body_is_the_same_value_however_it_is_written(app: Flask, shop: Caller) -> None:
    path, body, table = POSTS["counts"]
    first = shop.post(path, body, Idempotency_Key=KEY)
    turned = json.dumps(dict(reversed(COUNT.items())), indent=4).encode()
    assert told(shop.send("POST", path, raw=turned, headers={"Idempotency-Key": KEY})) == told(first)
    assert rows(app, table) == 1


def test_another_body_or_query_under_the_key_is_refused(app: Flask, shop: Caller) -> None:
    path, body, table = POSTS["counts"]
    assert shop.post(path, body, Idempotency_Key=KEY).status_code == 201
    other = shop.post(path, {**COUNT, "lots": []}, Idempotency_Key=KEY)
    assert (other.status_code, faults(other)) == (422, {("Idempotency-Key", "key_reused")})
    assert rows(app, table) == 1
    assert shop.post("/v1/imports?dry_run=true", CATALOGUE, Idempotency_Key=KEY).status_code == 200
    assert faults(shop.post("/v1/imports", CATALOGUE, Idempotency_Key=KEY)) == {("Idempotency-Key", "key_reused")}


def test_a_key_belongs_to_its_token_and_its_route(app: Flask, shop: Caller, caller_of: Callable[..., Caller]) -> None:
    path, body, table = POSTS["counts"]
    assert shop.post(path, body, Idempotency_Key=KEY).status_code == 201
    assert shop.post(path.replace("east", "west"), {**COUNT, "lots": []}, Idempotency_Key=KEY).status_code == 201
    assert caller_of("kitchen", ["east"]).post(path, {**COUNT, "lots": []}, Idempotency_Key=KEY).status_code == 201
    assert shop.post(POSTS["versions"][0], POSTS["versions"][1], Idempotency_Key=KEY).status_code == 201
    assert rows(app, table) == 3


def test_without_a_key_each_request_is_one_of_its_own(app: Flask, shop: Caller) -> None:
    path, body, table = POSTS["prints"]
    assert [shop.post(path, body).get_json()["print"] for _ in range(2)] == [1, 2]
    assert [shop.post(path, body, Idempotency_Key=key).get_json()["print"] for key in ("a", "b", "a")] == [3, 4, 3]
    assert rows(app, table) == 4


def test_a_refusal_leaves_the_key_free(app: Flask, shop: Caller) -> None:
    path, body, table = POSTS["counts"]
    wrong = {**COUNT, "lots": [{"item": {"ingredient": "nothing"}, "quantity": measure("2 kg")}]}
    assert shop.post(path, wrong, Idempotency_Key=KEY).status_code == 422
    assert rows(app, "idempotency_keys") == 0
    assert shop.post(path, body, Idempotency_Key=KEY).status_code == 201
    assert rows(app, table) == 1


@pytest.mark.parametrize("key", ["x" * 256, "é", "a\tb"])
def test_a_key_that_is_none_is_told_together_with_the_faults_of_the_body(shop: Caller, key: str) -> None:
    answer = shop.post("/v1/tokens", {"role": "viewer"}, Idempotency_Key=key)
    assert (answer.status_code, faults(answer)) == (422, {("Idempotency-Key", "wrong_type"), ("/name", "required")})


def test_a_tokens_secret_is_kept_nowhere_and_a_repetition_makes_no_second_token(app: Flask, director: Caller) -> None:
    secret = director.post("/v1/tokens", TOKEN, Idempotency_Key=KEY).get_json()["token"]
    again = director.post("/v1/tokens", TOKEN, Idempotency_Key=KEY)
    assert (again.status_code, again.get_json()["type"]) == (409, "/problems/shown-once")
    assert faults(director.post("/v1/tokens", {**TOKEN, "name": "Other"}, Idempotency_Key=KEY)) == {("Idempotency-Key", "key_reused")}
    assert rows(app, "tokens") == 2
    with Interior.of(app).readers() as session:
        kept = repr(session.execute(select(idempotency_keys)).all())
    assert secret not in kept
    assert KEY not in kept


@contextmanager
def later(app: Flask, caller: Caller, hours: float) -> Iterator[Caller]:
    """The same caller of the same database some hours later."""
    config = Interior.of(app).config
    moved = create_app(replace(config, pinned=config.now() + timedelta(hours=hours)))
    yield Caller(moved.test_client(), caller.secret)
    Interior.of(moved).engine.dispose()


def test_a_key_is_kept_for_a_day(app: Flask, shop: Caller) -> None:
    path, body, table = POSTS["counts"]
    first = shop.post(path, body, Idempotency_Key=KEY)
    shop.post(path, body, Idempotency_Key="another")
    with later(app, shop, 23.9) as caller:
        assert told(caller.post(path, body, Idempotency_Key=KEY)) == told(first)
    with later(app, shop, 24) as caller:
        assert caller.post(path, {**body, "lots": []}, Idempotency_Key=KEY).status_code == 201
    assert rows(app, table) == 3
    assert rows(app, "idempotency_keys") == 1, "old keys are let go"


def test_of_very_many_old_keys_each_new_one_lets_go_of_some(app: Flask, shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    path, body, _ = POSTS["counts"]
    for key in range(5):
        shop.post(path, body, Idempotency_Key=f"{key}")
    monkeypatch.setattr("service.store.idempotency.AT_ONCE", 2)
    with later(app, shop, 24) as caller:
        for key, left in enumerate((4, 3, 3)):
            assert caller.post(path, body, Idempotency_Key=f"new {key}").status_code == 201
            assert rows(app, "idempotency_keys") == left


def test_what_fails_after_the_work_leaves_neither_work_nor_key(app: Flask, shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    path, body, table = POSTS["counts"]
    kept = idempotency.remember

    def fail(*arguments: Any, **named: Any) -> None:
        kept(*arguments, **named)
        raise OSError

    with monkeypatch.context() as patch:
        patch.setattr(turns, "remember", fail)
        assert shop.post(path, body, Idempotency_Key=KEY).status_code == 500
    assert (rows(app, table), rows(app, "idempotency_keys")) == (0, 0)
    assert shop.post(path, body, Idempotency_Key=KEY).status_code == 201


@pytest.mark.parametrize("workers", [1, 2])
def test_a_twin_in_flight_waits_for_no_answer(
    app: Flask, shop: Caller, caller_of: Callable[..., Caller], monkeypatch: pytest.MonkeyPatch, workers: int, database_url: str
) -> None:
    """In one process, and between processes on PostgreSQL; between processes on SQLite the twin waits, and finds the answer."""
    path, body, table = POSTS["counts"]
    inside, go_on = threading.Event(), threading.Event()
    work, answers = turns.run, list[TestResponse]()

    def hold(*arguments: Any) -> Any:
        if not inside.is_set():
            inside.set()
            go_on.wait(30)
        return work(*arguments)

    monkeypatch.setattr(turns, "run", hold)
    first = threading.Thread(target=lambda: answers.append(shop.post(path, body, Idempotency_Key=KEY)))
    with later(app, shop, 0) as elsewhere:
        twin = elsewhere if workers == 2 else Caller(app.test_client(), shop.secret)
        first.start()
        assert inside.wait(30)
        if workers == 2 and database_url.startswith("sqlite"):
            threading.Timer(0.3, go_on.set).start()
            found = twin.post(path, body, Idempotency_Key=KEY)
            first.join()
            assert told(found) == told(answers[0])
        else:
            refused = twin.post(path, body, Idempotency_Key=KEY)
            assert (refused.status_code, refused.get_json()["type"], refused.headers["Retry-After"]) == (409, "/problems/in-flight", "1")
            go_on.set()
            first.join()
            assert told(twin.post(path, body, Idempotency_Key=KEY)) == told(answers[0])
    assert rows(app, table) == 1


def test_neither_key_nor_secret_is_logged(app: Flask, shop: Caller, capfd: pytest.CaptureFixture[str]) -> None:
    secret = shop.post("/v1/tokens", TOKEN, Idempotency_Key=KEY).get_json()["token"]
    shop.post("/v1/tokens", TOKEN, Idempotency_Key=KEY)
    logged = "".join(capfd.readouterr())
    assert '"route": "/v1/tokens"' in logged
    assert KEY not in logged
    assert secret not in logged

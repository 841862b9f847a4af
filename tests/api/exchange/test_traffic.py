"""Requests a minute: over all workers, with an honest bound, and without anybody waiting for the count."""

import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import Engine, text

from service.api.exchange.interior import Interior
from service.api.exchange.traffic import SHARE, Traffic, address_of
from service.app import create_app
from service.config import Config
from service.store.engine import at_once_factory, session_factory
from tests.api.caller import Caller

BAD = "kp_" + "b" * 43


class Clock:
    """A clock that tests set, in seconds."""

    def __init__(self, seconds: float = 6_000.0) -> None:
        self.seconds = seconds

    def __call__(self) -> float:
        return self.seconds


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def workers(engine: Engine, clock: Clock) -> list[Traffic]:
    return [Traffic(at_once_factory(engine), clock) for _ in range(3)]


def granted(traffic: Traffic, limit: int, tries: int) -> int:
    return sum(traffic.refuse("token:a", limit) is None for _ in range(tries))


def test_a_worker_grants_a_limit_exactly_and_tells_the_seconds_to_the_next_minute(workers: list[Traffic], clock: Clock) -> None:
    assert granted(workers[0], 250, 300) == 250
    clock.seconds += 12.7
    assert workers[0].refuse("token:a", 250) == 48
    clock.seconds += 47
    assert workers[0].refuse("token:a", 250) == 1
    clock.seconds += 1
    assert granted(workers[0], 250, 300) == 250


def test_one_subject_is_not_refused_for_another(workers: list[Traffic]) -> None:
    assert granted(workers[0], 5, 9) == 5
    assert workers[0].refuse("token:b", 5) is None


@pytest.mark.parametrize("limit", [1, 7, 30, 99])
def test_a_small_limit_is_exact_over_all_workers(workers: list[Traffic], limit: int) -> None:
    allowed = 0
    for turn in range(3 * limit):
        allowed += workers[turn % 3].refuse("address:a", limit) is None
    assert allowed == limit


@pytest.mark.parametrize("limit", [300, 1_200])
def test_a_limit_is_exceeded_by_no_more_than_what_other_workers_have_not_reported(workers: list[Traffic], limit: int) -> None:
    allowed = 0
    for turn in range(3 * limit):
        allowed += workers[turn % 3].refuse("token:a", limit) is None
    assert limit <= allowed <= limit + (len(workers) - 1) * (limit // SHARE)


def test_a_worker_that_counts_little_reports_within_a_second(workers: list[Traffic], clock: Clock) -> None:
    for _ in range(3):
        assert workers[0].refuse("token:a", 1_200) is None
    clock.seconds += 1
    assert workers[0].refuse("token:a", 1_200) is None
    assert workers[1].refuse("token:a", 1_200) is None
    assert workers[1].minute.totals == {"token:a": 5}


def test_old_minutes_leave_the_database(workers: list[Traffic], clock: Clock, engine: Engine) -> None:
    for _ in range(5):
        granted(workers[0], 1, 1)
        clock.seconds += 60
    with engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM request_windows")).scalar_one() == 3


def test_nobody_waits_for_a_count_while_another_writes_and_it_is_reported_later(
    workers: list[Traffic], clock: Clock, engine: Engine
) -> None:
    with session_factory(engine)() as writer:
        writer.execute(text("DELETE FROM tokens"))
        started = time.monotonic()
        assert granted(workers[0], 1_200, 1_300) == 1_200
        assert time.monotonic() - started < 2
        writer.rollback()
    # A second later each of the two says something, and so hears of the other.
    clock.seconds += 2
    assert workers[0].refuse("token:b", 1_200) is None
    assert workers[1].refuse("token:a", 1_200) is not None
    assert granted(workers[1], 1_200, 10) == 0


def test_threads_of_a_worker_count_together(workers: list[Traffic]) -> None:
    with ThreadPoolExecutor(8) as pool:
        counts = list(pool.map(lambda _: granted(workers[0], 400, 100), range(8)))
    assert sum(counts) == 400


def test_an_ipv6_host_is_its_network() -> None:
    assert address_of("2001:db8:0:1::5") == address_of("2001:db8:0:1:ffff::9") != address_of("2001:db8:0:2::5")
    assert address_of("192.0.2.1") != address_of("192.0.2.2")
    assert address_of("unix:") == address_of(None)


@pytest.fixture
def two(database_url: str) -> Iterator[list[Flask]]:
    """Two workers of a service with small limits, on one database."""
    variables = {
        "DATABASE_URL": database_url,
        "KITCHEN_PREP_REQUESTS_PER_MINUTE": "10",
        "KITCHEN_PREP_FAILED_AUTHENTICATIONS_PER_MINUTE": "5",
        "KITCHEN_PREP_PROXIES": "1",
    }
    made = [create_app(Config.from_env(variables)) for _ in range(2)]
    for app in made:
        Interior.of(app).traffic.clock = Clock()
    yield made
    for app in made:
        Interior.of(app).engine.dispose()


def test_a_token_that_asks_too_often_is_429_at_every_worker(two: list[Flask], caller_of: Callable[..., Caller]) -> None:
    secret = caller_of("director").secret
    callers = [Caller(app.test_client(), secret) for app in two]
    answers: list[Any] = [callers[turn % 2].get("/v1/whoami") for turn in range(14)]
    assert [answer.status_code for answer in answers] == [200] * 10 + [429] * 4
    refused = answers[-1]
    assert (refused.get_json()["type"], refused.headers["Retry-After"]) == ("/problems/too-many-requests", "60")
    assert "WWW-Authenticate" not in refused.headers
    other = Caller(two[0].test_client(), caller_of("director").secret)
    assert other.get("/v1/whoami").status_code == 200
    assert callers[0].get("/livez").status_code == 200


def test_an_address_that_fails_to_authenticate_too_often_is_429_and_a_valid_token_from_it_is_not(
    two: list[Flask], caller_of: Callable[..., Caller]
) -> None:
    here, elsewhere = {"X_Forwarded_For": "192.0.2.7"}, {"X_Forwarded_For": "192.0.2.8"}
    tries = [Caller(app.test_client(), secret) for app in two for secret in (BAD, None, "nonsense")]
    answers: list[Any] = [tries[turn % 6].get("/v1/whoami", **here) for turn in range(9)]
    assert [answer.status_code for answer in answers] == [401] * 5 + [429] * 4
    assert answers[-1].headers["Retry-After"] == "60"
    assert tries[0].get("/v1/whoami", **elsewhere).status_code == 401
    valid = Caller(two[1].test_client(), caller_of("director").secret)
    assert valid.get("/v1/whoami", **here).status_code == 200


def test_without_a_proxy_what_a_caller_says_of_its_address_counts_for_nothing(app: Flask, anybody: Caller) -> None:
    Interior.of(app).traffic.clock = Clock()
    limit = Interior.of(app).config.failed_authentications_per_minute
    answers = [anybody.get("/v1/whoami", X_Forwarded_For=f"192.0.2.{number}").status_code for number in range(limit + 1)]
    assert answers == [401] * limit + [429]

"""The production server: it stops without losing a request, waits for nobody for ever, and keeps what callers sent out of its log."""

import json
import os
import signal
import socket
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from service.app import NOUNS
from service.config import Config
from service.limits import BODY_BYTES
from service.lines import LIMITS
from service.operations.tokens import create_token
from service.server import settings
from service.shell import writing
from tests.api.bodies import STATION
from tests.serving import Served, serving

BODY = json.dumps(STATION).encode()
HEAD = "PUT /v1/stations/{} HTTP/1.1\r\nHost: here\r\nAuthorization: Bearer {}\r\nContent-Type: application/json\r\n"
STUCK = """
import time
from service.api.nouns import collections
collections.put_document = lambda *_, **__: time.sleep(600)
from service.cli import main
main()
"""


@pytest.fixture
def token(database_url: str) -> str:
    return token_of(database_url)


def token_of(url: str) -> str:
    config = Config(database_url=url)
    with writing(config) as session:
        return create_token(session, "Head office", "director", None, None, 1, config.now())[0]


def begin(served: Served, code: str, token: str, length: int = len(BODY)) -> socket.socket:
    """A request whose body is still to come."""
    line = served.connect()
    line.sendall((HEAD.format(code, token) + f"Content-Length: {length}\r\n\r\n").encode())
    return line


def answer_on(line: socket.socket) -> str:
    """Everything that is answered until the line closes."""
    parts = []
    while part := line.recv(65536):
        parts.append(part)
    return b"".join(parts).decode()


def test_a_stop_lets_a_request_finish(database_url: str, token: str, tmp_path: Path) -> None:
    with serving(database_url, tmp_path) as served:
        line = begin(served, "veg", token)
        line.sendall(BODY[:10])
        time.sleep(0.3)
        served.process.terminate()
        time.sleep(1.0)
        assert served.process.poll() is None
        with pytest.raises(OSError, match="refused"):
            served.connect()
        line.sendall(BODY[10:])
        told = answer_on(line)
        assert told.startswith("HTTP/1.1 201 ")
        assert served.process.wait(30) == 0
    assert list(tmp_path.glob("kitchen-prep-metrics-*")) == []
    assert not (tmp_path / "gunicorn.ctl").exists()


def test_slow_callers_hold_no_thread_beyond_the_time_of_a_request(database_url: str, token: str, tmp_path: Path) -> None:
    with serving(database_url, tmp_path, KITCHEN_PREP_REQUEST_SECONDS="2") as served:
        started = time.monotonic()
        # As many callers as the worker has threads send one byte now and then; others say nothing at all.
        for _ in range(20):
            served.connect()
        slow = [begin(served, f"s{number}", token, 5_000) for number in range(8)]
        with ThreadPoolExecutor(8) as pool:
            answers = list(pool.map(dribble, slow))
        assert {answer.split()[1] for answer in answers} == {"408"}, answers
        assert all("/problems/too-slow" in answer for answer in answers)
        assert 2 <= time.monotonic() - started < 8
        assert served.send("GET", "/v1/whoami", token=token).status == 200
        assert served.send("GET", "/v1/stations", token=token).value["items"] == []


def dribble(line: socket.socket) -> str:
    """What is answered to a caller who sends a byte every tenth of a second."""
    line.settimeout(0.1)
    end = time.monotonic() + 20
    told = b""
    while time.monotonic() < end and b"\r\n\r\n" not in told:
        try:
            line.sendall(b" ")
            told += line.recv(65536)
        except TimeoutError:
            continue
    line.settimeout(5)
    return (told + answer_on(line).encode()).decode()


def test_silent_callers_hold_no_thread(database_url: str, tmp_path: Path) -> None:
    with serving(database_url, tmp_path) as served:
        for _ in range(60):
            served.connect()
        started = time.monotonic()
        assert served.send("GET", "/livez").status == 200
        assert time.monotonic() - started < 4


def test_a_stuck_request_gets_its_worker_replaced(database_url: str, token: str, tmp_path: Path) -> None:
    with serving(database_url, tmp_path, command=STUCK, KITCHEN_PREP_REQUEST_SECONDS="1") as served:
        line = begin(served, "veg", token)
        line.sendall(BODY)
        assert answer_on(line) == ""
        wait_until(lambda: sum(told["event"].startswith("Booting worker") for told in served.told()) == 2)
        assert served.send("GET", "/livez").status == 200
        assert "a request is stuck: this worker is replaced" in {told["event"] for told in served.told()}


def test_half_sent_heads_and_dribbled_bodies_hold_up_nobody(database_url: str, token: str, tmp_path: Path) -> None:
    with serving(database_url, tmp_path, workers=2, KITCHEN_PREP_REQUESTS_PER_MINUTE="100000") as served:
        alone = seconds_of_honest(served, token)
        for _ in range(400):
            served.connect().sendall(b"GET /v1/whoami HTTP/1.1\r\nHost: ")
        slow = [begin(served, f"s{number}", token, 5_000) for number in range(64)]
        for line in slow:
            line.sendall(b" ")
        beside = seconds_of_honest(served, token)
        # Where the machine is busy with others, a moment is added.
        assert beside < 2 * alone + 0.1, (alone, beside)


def seconds_of_honest(served: Served, token: str) -> float:
    """How long half of the requests of twenty honest callers take at most."""

    def ask(_: int) -> float:
        started = time.monotonic()
        assert served.send("GET", "/v1/whoami", token=token).status == 200
        return time.monotonic() - started

    with ThreadPoolExecutor(20) as pool:
        return sorted(pool.map(ask, range(100)))[50]


@pytest.mark.parametrize(
    ("sent", "status", "slug"),
    [
        (b"GARBAGE\r\n\r\n", 400, "unparseable"),
        (b"GET / HTTP/1.1\r\nHost here\r\n\r\n", 400, "unparseable"),
        (b"GET /" + b"a" * 9_000 + b" HTTP/1.1\r\nHost: here\r\n\r\n", 414, "uri-too-long"),
        (b"GET /" + b"a" * 9_000, 414, "uri-too-long"),
        (b"GET / HTTP/1.1\r\nHost: here\r\nExpect: wonders\r\n\r\n", 417, "expectation-failed"),
        (b"GET / HTTP/1.1\r\nHost: here\r\nX-Long: " + b"a" * 40_000, 431, "headers-too-large"),
        (b"POST / HTTP/1.1\r\nHost: here\r\nTransfer-Encoding: br\r\n\r\n", 501, "not-implemented"),
        (b"GET / HTTP/3.0\r\nHost: here\r\n\r\n", 505, "version-not-supported"),
    ],
)
def test_what_the_server_cannot_read_is_a_problem_with_a_request_id(running: Served, sent: bytes, status: int, slug: str) -> None:
    line = running.connect()
    line.sendall(sent)
    head, _, body = answer_on(line).partition("\r\n\r\n")
    assert head.startswith(f"HTTP/1.1 {status} ")
    headers = dict(each.split(": ", 1) for each in head.split("\r\n")[1:])
    assert (headers["Content-Type"], headers["Connection"]) == ("application/problem+json", "close")
    assert (json.loads(body)["type"], json.loads(body)["status"]) == (f"/problems/{slug}", status)
    assert headers["X-Request-Id"] in {told.get("request_id") for told in running.told()}
    assert running.send("GET", f"/problems/{slug}").status == 200


def test_the_body_of_a_caller_who_may_not_send_it_is_not_received(running: Served, secret: str) -> None:
    for token, status in (("kp_unknown", 401), (secret, 413)):
        line = begin(running, "veg", token, 5_000_000)
        # What is left of the body is no second request.
        line.sendall(b"GET /livez HTTP/1.1\r\nHost: here\r\n\r\n" * 100)
        told = answer_on(line)
        assert told.startswith(f"HTTP/1.1 {status} ")
        assert told.count("HTTP/1.1 ") == 1


def test_requests_that_come_at_once_are_answered_one_after_the_other(running: Served) -> None:
    ask = b"GET /livez HTTP/1.1\r\nHost: here\r\n\r\n"
    line = running.connect()
    line.sendall(ask + ask + ask[:20])
    time.sleep(0.5)
    line.sendall(ask[20:])
    line.shutdown(socket.SHUT_WR)
    assert answer_on(line).count("HTTP/1.1 200 OK") == 3


def test_a_line_goes_on_after_an_answer_without_a_body_unless_its_caller_ends_it(running: Served) -> None:
    known = b"GET /livez HTTP/1.1\r\nHost: here\r\nIf-None-Match: *\r\n\r\n"
    last = known.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")
    line = running.connect()
    line.sendall(known + known + last + known)
    heads = answer_on(line).split("\r\n\r\n")
    assert [head.split("\r\n")[0] for head in heads] == ["HTTP/1.1 304 NOT MODIFIED"] * 3 + [""]
    assert [head.count("Connection: close") for head in heads] == [0, 0, 1, 0]


def test_a_caller_who_has_said_all_still_gets_the_answer(running: Served) -> None:
    line = running.connect()
    line.sendall(b"GET /livez HTTP/1.1\r\nHost: here\r\n\r\n")
    line.shutdown(socket.SHUT_WR)
    assert answer_on(line).startswith("HTTP/1.1 200 ")


@pytest.mark.parametrize(
    "body",
    [
        b"Transfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n",
        b"Transfer-Encoding: chunked\r\n\r\n2\r\n{}XX0\r\n\r\n",
        b"Transfer-Encoding: chunked\r\n\r\nff\r\n{",
        b"Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\nbad trailer\r\n\r\n",
        b"Content-Length: 100\r\n\r\n{",
    ],
)
def test_a_body_that_is_not_framed_as_it_says_is_400(running: Served, secret: str, body: bytes) -> None:
    line = running.connect()
    line.sendall(HEAD.format("veg", secret).encode() + body)
    line.shutdown(socket.SHUT_WR)
    told = answer_on(line)
    assert told.startswith("HTTP/1.1 400 ")
    assert "/problems/unparseable" in told


def test_the_server_takes_as_long_a_body_as_the_view_of_its_path() -> None:
    for view in (view for noun in NOUNS for view in noun.views if view.body is not None):
        assert LIMITS.get(view.path, BODY_BYTES) == view.limit, view.path


def test_a_chunked_body_is_read_up_to_its_limit(running: Served, secret: str) -> None:
    line = running.connect()
    line.sendall(HEAD.format("chunked", secret).encode() + b"Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n")
    line.sendall(b"%x\r\n%b\r\n0\r\n\r\n" % (len(BODY), BODY))
    assert answer_on(line).startswith("HTTP/1.1 201 ")
    line = running.connect()
    line.sendall(HEAD.format("chunked", secret).encode() + b"Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n")
    line.sendall(b"".join(b"%x\r\n%b\r\n" % (1 << 16, b" " * (1 << 16)) for _ in range(17)))
    assert line.recv(100).startswith(b"HTTP/1.1 413 ")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("served")


@pytest.fixture(scope="module")
def url(place: Path, migrated_file: Path) -> str:
    file = place / "kitchen.sqlite3"
    file.write_bytes(migrated_file.read_bytes())
    return f"sqlite:///{file}"


@pytest.fixture(scope="module")
def secret(url: str) -> str:
    return token_of(url)


@pytest.fixture(scope="module")
def running(url: str, place: Path) -> Iterator[Served]:
    with serving(url, place, workers=2, KITCHEN_PREP_LOG_LEVEL="DEBUG", KITCHEN_PREP_REQUESTS_PER_MINUTE="100000") as served:
        yield served


def test_who_runs_as_root_is_told_once(running: Served) -> None:
    told = [line for line in running.told() if line["event"].startswith("running as root")]
    assert len(told) == (1 if os.geteuid() == 0 else 0)


def test_every_line_of_the_log_is_an_object_with_a_moment_and_a_level(running: Served) -> None:
    running.send("GET", "/livez")
    assert all({"event", "level", "timestamp"} <= set(told) for told in running.told())


def test_a_line_about_a_request_has_its_id(running: Served, secret: str) -> None:
    running.send("GET", "/v1/whoami", token=secret, X_Request_Id="asked-by-a-test")
    [told] = [told for told in running.told() if told.get("request_id") == "asked-by-a-test"]
    assert (told["event"], told["status"], told["route"]) == ("request", 200, "/v1/whoami")
    assert all("request_id" in told for told in running.told() if "route" in told)


def test_the_metrics_are_those_of_all_workers(running: Served, secret: str) -> None:
    before = requests_of(running)
    with ThreadPoolExecutor(8) as pool:
        assert {pool.submit(running.send, "GET", "/v1/whoami", None, secret).result().status for _ in range(40)} == {200}
    workers = {told["process"] for told in running.told() if told["event"].startswith("Booting worker")}
    assert len(workers) == 2
    assert {requests_of(running) - before for _ in range(6)} == {40}


def test_the_numbers_of_a_worker_go_on_with_the_one_that_takes_its_place(database_url: str, token: str, tmp_path: Path) -> None:
    with serving(database_url, tmp_path) as served:
        for number in range(1, 4):
            assert served.send("GET", "/v1/whoami", token=token).status == 200
            assert requests_of(served) == number
            [worker] = [told["process"] for told in served.told() if told["event"].startswith("Booting worker")][number - 1 :]
            os.kill(worker, signal.SIGKILL)
            wait_until(lambda: sum(told["event"].startswith("Booting worker") for told in served.told()) == number + 1)  # noqa: B023 - called here
        [folder] = tmp_path.glob("kitchen-prep-metrics-*")
        assert {file.name for file in folder.iterdir()} == {"counter_0.db", "histogram_0.db"}


def wait_until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 30
    while not true():
        assert time.monotonic() < end
        time.sleep(0.05)


def requests_of(served: Served) -> float:
    wanted = 'kitchen_prep_requests_total{method="GET",route="/v1/whoami",status="200"} '
    page = served.send("GET", "/metrics").content.decode()
    return sum(float(line.removeprefix(wanted)) for line in page.splitlines() if line.startswith(wanted))


def test_what_the_server_is_told() -> None:
    told = settings(Config(database_url="sqlite:///x", request_seconds=20), "::1", 8000, 3)
    assert told["bind"] == "[::1]:8000"
    assert (told["workers"], told["timeout"], told["graceful_timeout"]) == (3, 40, 20)
    assert told["accesslog"] is None
    assert told["control_socket_disable"] is True

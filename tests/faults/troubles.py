"""Troubles that are lived through: a database that hangs, only reads or has no room, callers who never finish, stuck imports.

Responsible for each trouble and its end, and for what must be answered meanwhile. Refuses to know what is written.
"""

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any

from sqlalchemy import create_engine, text

from tests.faults import imports
from tests.faults.clients import CATALOGUE
from tests.faults.places import Place, PlaceOnServer, children
from tests.faults.rounds import Trial, demand, trial
from tests.serving import Answer

READY_SECONDS, ANSWER_SECONDS, RECOVERY_SECONDS = 2.0, 10.0, 15.0
FILE_BYTES = 2 << 20
LIMITED = f"""
import resource
resource.setrlimit(resource.RLIMIT_FSIZE, ({FILE_BYTES}, {FILE_BYTES}))
from service.cli import main
main()
"""
DRAFT = {name: value for name, value in CATALOGUE["recipes"][0].items() if name not in ("code", "publish_from")}
LONG = {**DRAFT, "steps": [{"text": "x" * 2_000}] * 100}


@contextmanager
def slow(tried: Trial) -> Iterator[None]:
    """Callers send half a head, and no more."""
    for _ in range(200):
        tried.place.served.connect().sendall(b"GET /v1/whoami HTTP/1.1\r\nHost: ")
    yield


@contextmanager
def hanging(tried: Trial) -> Iterator[None]:
    """Every process of the database server is stopped, and goes on in the end."""
    assert isinstance(tried.place, PlaceOnServer)
    stopped = [tried.place.server.pid, *children(tried.place.server.pid)]
    for process in stopped:
        os.kill(process, signal.SIGSTOP)
    try:
        yield
    finally:
        for process in stopped:
            os.kill(process, signal.SIGCONT)


@contextmanager
def reading(tried: Trial) -> Iterator[None]:
    """The database server begins every transaction as one that reads, as a standby does."""
    let_write(tried.place.url, "on")
    try:
        yield
    finally:
        let_write(tried.place.url, "off")


def let_write(url: str, read_only: str) -> None:
    """Say how the database server begins transactions."""
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text("SET default_transaction_read_only = off"))
        connection.execute(text(f"ALTER SYSTEM SET default_transaction_read_only = {read_only}"))
        connection.execute(text("SELECT pg_reload_conf()"))
    engine.dispose()


@contextmanager
def full(tried: Trial) -> Iterator[None]:
    """The service's files may not grow past a limit, as on a disk without room; started again, it has room."""
    restart(tried.place, LIMITED)
    # Where a long draft has no room, a short name may have, many times.
    for noun, body in (("recipes/{}/draft", LONG), ("stations/{}", {"name": "x"})):
        written = 0
        while tried.place.served.send("PUT", "/v1/" + noun.format(f"more-{written}"), body, tried.token).status == 201:
            demand(written < 1_000, "there is room without end")
            written += 1
    try:
        yield
    finally:
        restart(tried.place)


def restart(place: Place, command: str | None = None) -> None:
    """Serve the same database anew."""
    place.stack.close()
    place.start(**({} if command is None else {"command": command}))


Trouble = Callable[[Trial], AbstractContextManager[None]]
ANYWHERE: tuple[tuple[str, Trouble, str | None], ...] = (
    ("slow callers", slow, None),
    ("half an import", imports.half_sent, None),
    ("a worker killed in an import", imports.killed, None),
)
ON: dict[str, tuple[tuple[str, Trouble, str | None], ...]] = {
    "sqlite": (*ANYWHERE, ("a full disk", full, "full")),
    "postgresql": (*ANYWHERE, ("a hang", hanging, "unreachable"), ("a standby", reading, "read-only")),
}


def run(kind: str, tell: Callable[[str], None]) -> None:
    """Live through each trouble of a kind of database; raises Lost where an answer is wrong or late. Ends with a table of seconds."""
    told = ["| trouble | /readyz | /metrics | a push | ready again |", "| --- | --- | --- | --- | --- |"]
    with trial(kind, 1) as tried:
        for name, trouble, word in ON[kind]:
            seconds = live_through(tried, name, trouble, word)
            told.append(f"| {name}, {kind} | " + " | ".join(f"{each:.1f}" for each in seconds) + " |")
    for line in told:
        tell(line)


def live_through(tried: Trial, name: str, trouble: Trouble, word: str | None) -> list[float]:
    """Seconds of three answers in trouble, and until all is well again; ``word`` is what is said to be wrong (None: nothing is)."""
    with trouble(tried):
        wanted = (200, None) if word is None else (503, f"The database is {word}.")
        end = time.monotonic() + READY_SECONDS
        ready, waited = timed(tried, "GET", "/readyz")
        # What it found a second ago it may still believe.
        while (ready.status, ready.value.get("detail")) != wanted:
            demand(time.monotonic() < end, f"{name}: /readyz says {ready.status} {ready.content.decode()}")
            ready, waited = timed(tried, "GET", "/readyz")
        page, read = timed(tried, "GET", "/metrics")
        pushed = {"source": "trouble", "as_of": "2026-01-01T00:00:00Z", "entries": []}
        push, written = timed(tried, "POST", "/v1/forecasts", pushed)
        demand((page.status, push.status in (200, 503)) == (200, True), f"{name}: {page.status} and {push.status}")
        demand(max(waited, read) < READY_SECONDS and written < ANSWER_SECONDS, f"{name}: {waited:.1f}, {read:.1f} and {written:.1f} s")
    started = time.monotonic()
    while timed(tried, "GET", "/readyz")[0].status != 200:
        demand(time.monotonic() - started < RECOVERY_SECONDS, f"{name}: still in trouble after its end")
        time.sleep(0.1)
    return [waited, read, written, time.monotonic() - started]


def timed(tried: Trial, method: str, path: str, body: Any = None) -> tuple[Answer, float]:
    """An answer, and after how many seconds it came."""
    started = time.monotonic()
    answer = tried.place.served.send(method, path, body, tried.token)
    return answer, time.monotonic() - started

"""Imports that get stuck: one whose caller sends half of it and stays, and one whose worker is killed in the middle.

Responsible for nothing of either being there afterwards, and for the same import going through then. Refuses to know what else is
answered meanwhile.
"""

import json
import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPException
from pathlib import Path
from threading import Thread
from typing import Any

from tests.faults.places import children
from tests.faults.rounds import Trial, demand
from tests.serving import Answer

INGREDIENTS, BUSY_SECONDS, PATIENCE_SECONDS = 20_000, 0.3, 30.0
Json = dict[str, Any]


def body_of(name: str, number: int) -> Json:
    """So many ingredients, called after an import."""
    measured = [{"a": {"amount": 1, "unit": "mL"}, "b": {"amount": 1.02, "unit": "g"}}]
    common = {"kind": "mass", "keeps": "P3D", "equivalents": measured}
    return {"ingredients": [{"code": f"{name}-{each}", "name": f"{name} {each}", **common} for each in range(number)]}


def send(tried: Trial, name: str, body: Json) -> Answer:
    """Import a body, under a key of its own."""
    return tried.place.served.send("POST", "/v1/imports", body, tried.token, Idempotency_Key=name)


def check_and_repeat(tried: Trial, name: str, body: Json) -> None:
    """Nothing of an import is there; then it goes through, once: the same again has the first answer."""
    codes = [each["code"] for each in body["ingredients"]]
    for code in (codes[0], codes[-1]):
        demand(tried.place.served.send("GET", f"/v1/ingredients/{code}", token=tried.token).status == 404, f"{code} is there by half")
    answers = [send(tried, name, body) for _ in range(2)]
    for answer in answers:
        demand(answer.status == 200 and answer.value["created"] == len(codes), f"{name}: {answer.status} {answer.content[:200].decode()}")
    demand("Idempotent-Replayed" in answers[1].headers, f"{name} went through twice")


@contextmanager
def half_sent(tried: Trial) -> Iterator[None]:
    """Callers send half an import each, and stay; another import goes through beside them."""
    body = body_of("half", 500)
    raw = json.dumps(body).encode()
    head = f"POST /v1/imports HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {tried.token}\r\nContent-Type: application/json\r\n"
    lines = [tried.place.served.connect() for _ in range(16)]
    for line in lines:
        line.sendall(f"{head}Content-Length: {len(raw)}\r\n\r\n".encode() + raw[: len(raw) // 2])
    demand(send(tried, "beside", body_of("beside", 20)).status == 200, "an import waits for callers who never finish")
    yield
    for line in lines:
        line.close()
    check_and_repeat(tried, "half", body)


@contextmanager
def killed(tried: Trial) -> Iterator[None]:
    """The worker that checks a large import is killed before it has answered."""
    body, answered = body_of("large", INGREDIENTS), list[int]()

    def ask() -> None:
        try:
            answered.append(send(tried, "large", body).status)
        except (OSError, HTTPException):
            return

    workers = {worker: seconds_of(worker) for worker in children(tried.place.served.process.pid)}
    asking = Thread(target=ask, daemon=True)
    asking.start()
    os.kill(busy(workers), signal.SIGKILL)
    asking.join(PATIENCE_SECONDS)
    demand(answered == [] and not asking.is_alive(), f"a worker that was killed answered {answered}, or keeps its caller waiting")
    yield
    check_and_repeat(tried, "large", body)


def busy(workers: dict[int, float]) -> int:
    """The process that has computed for a while since it was looked at last."""
    end = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < end:
        for worker, before in workers.items():
            if seconds_of(worker) - before > BUSY_SECONDS:
                return worker
        time.sleep(0.01)
    raise AssertionError("no worker took the import")


def seconds_of(process: int) -> float:
    """How long a process has computed, in seconds."""
    fields = Path(f"/proc/{process}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

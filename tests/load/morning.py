"""One morning: every kitchen pulls its list at the same moment and keeps it fresh, while the tills push."""

import json
import random
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from http.client import HTTPConnection, HTTPException
from typing import Any

from tests.load.scene import DAY, NOW, Scene, Till
from tests.serving import Served

PAUSE = 10.0
PUSH_PAUSE = 1.0


@dataclass
class Book:
    """What was seen: seconds by kind of exchange, statuses, faults, and the counts that the service said it has."""

    seconds: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    statuses: dict[tuple[str, int], int] = field(default_factory=lambda: defaultdict(int))
    faults: list[str] = field(default_factory=list)
    acknowledged: dict[tuple[str, ...], tuple[str, int]] = field(default_factory=dict)
    writing: threading.Lock = field(default_factory=threading.Lock)

    def note(self, kind: str, status: int, seconds: float) -> None:
        """One exchange."""
        with self.writing:
            self.seconds[kind].append(seconds)
            self.statuses[kind, status] += 1

    def fault(self, text: str) -> None:
        """Something that must not be."""
        with self.writing:
            self.faults.append(text)


class Client:
    """One caller with a line that is kept open, who comes back when told to."""

    def __init__(self, served: Served, token: str, book: Book, end: float, pace: float) -> None:
        self.port, self.token, self.book, self.end, self.pace = served.port, token, book, end, pace
        self.line: HTTPConnection | None = None

    def ask(self, kind: str, method: str, path: str, body: Any = None, tag: str | None = None) -> tuple[int, dict[str, str], bytes]:
        """The final answer to a request: after every 503 and 429 it is sent again when Retry-After says."""
        started = time.monotonic()
        while True:
            began = time.monotonic()
            status, headers, content = self.exchange(method, path, body, tag)
            taken = time.monotonic() - began
            if status not in (503, 429):
                self.book.note(kind if status != 304 else f"{kind}, unchanged", status, taken)
                if kind == "list" and status == 200:
                    self.book.note("list, with all waiting", status, time.monotonic() - started)
                return status, headers, content
            self.book.note(f"{kind}, refused", status, taken)
            if "Retry-After" not in headers:
                self.book.fault(f"{status} without Retry-After on {path}")
            if time.monotonic() > self.end:
                self.book.fault(f"{kind} was not answered in time: {path}")
                return status, headers, content
            time.sleep(int(headers.get("Retry-After", "1")) - random.random() / 2)

    def exchange(self, method: str, path: str, body: Any, tag: str | None) -> tuple[int, dict[str, str], bytes]:
        """One request and its answer; a line that the server closed in a pause is opened anew, once."""
        headers = {"Authorization": f"Bearer {self.token}"}
        if body is not None:
            headers["Content-Type"] = "application/json"
        if tag is not None:
            headers["If-None-Match"] = tag
        for fresh in (False, True):
            if fresh or self.line is None:
                self.line = HTTPConnection("127.0.0.1", self.port, timeout=60)
            try:
                self.line.request(method, path, None if body is None else json.dumps(body), headers)
                answer = self.line.getresponse()
                return answer.status, dict(answer.headers), answer.read()
            except (OSError, HTTPException):
                self.line.close()
                if fresh:
                    raise
        raise AssertionError

    def close(self) -> None:
        """Hang up."""
        if self.line is not None:
            self.line.close()


def pull(client: Client, site: str, polls: int, begin: threading.Barrier) -> None:
    """A kitchen's screen: the whole list at the same moment as all others, and then whatever changed, every ten seconds or so."""
    path = f"/v1/sites/{site}/prep-lists/{DAY}"
    begin.wait()
    status, headers, _ = client.ask("list", "GET", path)
    for _ in range(polls):
        time.sleep(client.pace * PAUSE * (0.5 + random.random()))
        status, headers, _ = client.ask("list", "GET", path, tag=headers.get("ETag"))
        if status not in (200, 304):
            client.book.fault(f"{status} on {path}")


def push(client: Client, till: Till, pushes: int, begin: threading.Barrier) -> None:
    """A till: about once a second the counts of one site; now and then an older push that arrives late, or one that is sent again."""
    dice = random.Random(till.source)
    begin.wait()
    for number in range(1, pushes + 1):
        site = dice.choice(till.keys)["site"]
        keys = [key for key in till.keys if key["site"] == site]
        minutes = number if number % 5 else number - 4
        as_of = (NOW - timedelta(hours=1) + timedelta(seconds=minutes)).isoformat()
        entries = [{**key, "count": dice.randint(0, 300)} for key in keys]
        for _ in range(2 if number % 7 == 0 else 1):
            status, _, content = client.ask("push", "POST", "/v1/forecasts", {"source": till.source, "as_of": as_of, "entries": entries})
            if status != 200:
                client.book.fault(f"{status} on a push: {content[:200]!r}")
                continue
            answer = json.loads(content)
            if answer["refused"] or answer["stored"] + answer["unchanged"] + answer["superseded"] != len(entries):
                client.book.fault(f"a push was not taken whole: {content[:200]!r}")
        acknowledge(client.book, till.source, as_of, entries)
        time.sleep(client.pace * PUSH_PAUSE * (0.5 + random.random()))


def acknowledge(book: Book, source: str, as_of: str, entries: list[dict[str, Any]]) -> None:
    """Keep what must be stored now: of two counts of a key the later moment, of one moment the larger count."""
    with book.writing:
        for entry in entries:
            key = (source, entry["site"], entry["date"], entry["period"], entry["menu_item"])
            book.acknowledged[key] = max(book.acknowledged.get(key, ("", 0)), (as_of, entry["count"]))


def read_back(served: Served, till: Till) -> dict[tuple[str, ...], int]:
    """All that the service has of a till."""
    found: dict[tuple[str, ...], int] = {}
    path: str | None = f"/v1/forecasts?from={DAY}&to={DAY + timedelta(1)}&limit=500"
    while path:
        page = served.send("GET", path, token=till.token).value
        found |= {(row["source"], row["site"], row["date"], row["period"], row["menu_item"]): row["count"] for row in page["items"]}
        path = page["next"]
    return found


def run(served: Served, scene: Scene, *, pushes: int, polls: int, seconds: float, pace: float = 1) -> Book:
    """The whole morning, its pauses times ``pace``, and the reading back; ``seconds`` after its beginning nobody asks again."""
    book, end = Book(), time.monotonic() + seconds
    begin = threading.Barrier(len(scene.kitchens) + len(scene.tills))

    def guarded(work: Callable[..., None], client: Client, *arguments: Any) -> None:
        try:
            work(client, *arguments)
        except (OSError, HTTPException, ValueError) as error:
            book.fault(f"{type(error).__name__}: {error}")
        finally:
            client.close()

    threads = [
        threading.Thread(target=guarded, args=(pull, Client(served, token, book, end, pace), site, polls, begin))
        for site, token in scene.kitchens.items()
    ]
    threads += [
        threading.Thread(target=guarded, args=(push, Client(served, till.token, book, end, pace), till, pushes, begin))
        for till in scene.tills
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    stored: dict[tuple[str, ...], int] = {}
    for till in scene.tills:
        stored |= read_back(served, till)
    lost = {key for key, (_, count) in book.acknowledged.items() if stored.get(key) != count}
    if lost or stored.keys() != book.acknowledged.keys():
        book.fault(f"{len(lost)} counts that were acknowledged are not there, such as {sorted(lost)[:3]}")
    if crashes := [told for told in served.told() if told["level"] in ("error", "critical")]:
        book.fault(f"the log tells of {len(crashes)} failures, such as {crashes[0]}")
    return book

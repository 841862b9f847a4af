"""Jobs behind the server: what a worker's CPU costs for answers over the wire, beside a static route in the same worker.

Responsible for the rows of the table that need a server. Refuses to make the workload.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import timedelta
from http.client import HTTPConnection
from itertools import islice
from pathlib import Path
from typing import Any

from tests.bench import beside, trade
from tests.bench.scene import LARGEST_PUSH, Scene, push
from tests.bench.timing import Row
from tests.bench.workload import NOW, START
from tests.serving import serving

MANY = 500
# When nothing else of the benchmark is expected.
LATER = START + timedelta(300)
HASTE = {"KITCHEN_PREP_REQUESTS_PER_MINUTE": "10000000", "KITCHEN_PREP_NOW": NOW.isoformat()}


class Line:
    """A connection that is kept, as a screen or a till keeps it."""

    def __init__(self, connection: HTTPConnection, token: str) -> None:
        self.connection = connection
        self.given = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}

    def send(self, method: str, path: str, body: bytes | None = None, **headers: str) -> tuple[bytes, str | None]:
        """The content of an answer and its ETag; fails where it is a refusal."""
        given = self.given | {name.replace("_", "-"): text for name, text in headers.items()}
        self.connection.request(method, path, body, given)
        answer = self.connection.getresponse()
        content = answer.read()
        if answer.status >= 400:
            raise AssertionError(f"{method} {path}: {answer.status} {content[:500]!r}")
        return content, answer.headers["ETag"]

    def used(self, what: str) -> float:
        """The CPU ``seconds`` that the worker has used, or the most ``megabytes`` that it had."""
        return float(json.loads(self.send("GET", beside.USED)[0])[what])

    def best(self, works: Sequence[Callable[[], object]], rounds: int, times: int) -> list[float]:
        """The least CPU seconds of the worker for each of some pieces of work, of so many rounds of so many times, in turns."""
        least = [float("inf")] * len(works)
        for _ in range(rounds):
            for place, work in enumerate(works):
                began = self.used("seconds")
                for _ in range(times):
                    work()
                least[place] = min(least[place], (self.used("seconds") - began) / times)
        return least


@contextmanager
def line_to(scene: Scene, place: Path, content: bytes = b"") -> Iterator[Line]:
    """A line to a worker that serves a scene's database, and some bytes beside it."""
    (place / "content.json").write_bytes(content)
    variables: dict[str, Any] = HASTE | {beside.CONTENT: str(place / "content.json")}
    with (
        serving(f"sqlite:///{scene.file}", place, command=beside.COMMAND, **variables) as server,
        closing(HTTPConnection("127.0.0.1", server.port)) as connection,
    ):
        yield Line(connection, scene.token)


def served(scene: Scene, place: Path, rounds: int) -> Iterator[Row]:
    """Lists that are sent again, lists that have not changed, and a push."""
    path = f"/v1/sites/s-0/prep-lists/{START}"
    with line_to(scene, place, scene.send("GET", path)) as line:
        _, tag = line.send("GET", path)
        reads = (
            lambda: line.send("GET", path),
            lambda: line.send("GET", beside.STATIC),
            lambda: line.send("GET", path, If_None_Match=tag or ""),
            lambda: line.send("GET", beside.STATIC, If_None_Match=beside.TAG),
        )
        again, same, unchanged, nothing = line.best(reads, rounds, MANY)
        fresh = trade.pushes(scene.workload, LATER, 90, LARGEST_PUSH)
        bodies = [json.dumps(push(entries)).encode() for entries in islice(fresh, rounds)]
        waiting = iter(bodies)
        pushes = (
            lambda: line.send("POST", "/v1/forecasts", next(waiting)),
            lambda: line.send("POST", beside.STATIC, bodies[0]),
        )
        pushed, taken = line.best(pushes, len(bodies), 1)
    yield Row("send a list again, served", again, "static route, same bytes, served", same, 3)
    yield Row("say that it has not changed, served", unchanged, "static route, 304, served", nothing, 1.25)
    yield Row("push as many new counts, served", pushed, "static route that reads them, served", taken)

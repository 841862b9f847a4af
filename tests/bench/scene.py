"""The scene of a benchmark: a database filled with a workload over the interface, and the application on it.

Responsible for requests that cost little beside their answers. Refuses to know what is measured.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from flask import Flask
from sqlalchemy.orm import Session
from werkzeug.datastructures import Headers
from werkzeug.test import EnvironBuilder, run_wsgi_app

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from service.store import migration
from tests.bench import trade
from tests.bench.shares import SOURCE
from tests.bench.workload import NOW, START, Workload

LARGEST_PUSH = 10_000


class Scene:
    """An application on a database of its own; ``days`` of forecasts are pushed where the workload is filled in."""

    def __init__(self, file: Path, workload: Workload) -> None:
        self.file = file
        self.workload = workload
        url = f"sqlite:///{file}"
        migration.upgrade(url)
        self.app: Flask = create_app(Config(database_url=url, pinned=NOW, log_level="ERROR", requests_per_minute=10**9))
        with self.writing() as session:
            self.token = create_token(session, "bench", "director", None, None, 1, NOW)[0]

    def fill(self, days: int) -> None:
        """Put the whole workload: catalogue, forecasts, counts and overrides."""
        self.send("POST", "/v1/imports", self.workload.catalogue())
        for entries in trade.pushes(self.workload, START, days, LARGEST_PUSH):
            self.send("POST", "/v1/forecasts", push(entries))
        for site in range(self.workload.size.sites):
            lots = trade.lots(self.workload, site)[:2_000]
            self.send("POST", f"/v1/sites/s-{site}/counts", {"counted_at": "2026-12-01T21:00:00-06:00", "lots": lots})
            for period, item in trade.overrides(self.workload, site):
                self.send("PUT", f"/v1/sites/s-{site}/overrides/{START}/{period}/{item}", {"add": 5})

    def send(self, method: str, path: str, body: Any = None, **headers: str) -> bytes:
        """The content of an answer; fails where it is a refusal, or refuses a part."""
        content, status = call(self.app, self.request(method, path, body, **headers))
        if status >= 400 or b'"refused":[{' in content:
            raise AssertionError(f"{method} {path}: {status} {content[:500]!r}")
        return content

    def request(self, method: str, path: str, body: Any = None, **headers: str) -> dict[str, Any]:
        """A request as the application gets it."""
        given = Headers({"Authorization": f"Bearer {self.token}"})
        given.update({name.replace("_", "-"): text for name, text in headers.items()})
        data = body if body is None or isinstance(body, bytes) else json.dumps(body).encode()
        kind = None if data is None else "application/json"
        return EnvironBuilder(path=path, method=method, data=data, headers=given, content_type=kind).get_environ()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session whose work is committed."""
        with Interior.of(self.app).writers() as session:
            yield session
            session.commit()

    def close(self) -> None:
        """Let go of the database."""
        Interior.of(self.app).engine.dispose()


def call(app: Flask, environ: dict[str, Any]) -> tuple[bytes, int]:
    """An application's answer to a request, without a server between."""
    content, status, _ = run_wsgi_app(app, environ, buffered=True)
    return b"".join(content), int(status.split()[0])


def push(entries: list[dict[str, Any]], minute: int = 0) -> dict[str, Any]:
    """Entries as the body of a push that is true at some minute."""
    return {"source": SOURCE, "as_of": f"2026-12-02T06:{minute:02}:00Z", "entries": entries}

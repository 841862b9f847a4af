"""The service as it runs in production, for tests that need its processes: on a free port of this machine, stopped at the end."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any

TOP = Path(__file__).resolve().parent.parent
SECONDS = 60
COMMAND = "from service.cli import main; main()"


class NotServing(Exception):
    """The server ended, or did not answer in time; the message is its log."""


@dataclass(frozen=True)
class Answer:
    """An answer over the wire."""

    status: int
    headers: dict[str, str]
    content: bytes

    @property
    def value(self) -> Any:
        """The JSON value."""
        return json.loads(self.content)


@dataclass(frozen=True)
class Served:
    """A running server: where it listens, its process, the file of its log, and the lines that tests opened to it."""

    port: int
    process: "subprocess.Popen[bytes]"
    log: Path
    lines: list[socket.socket] = field(default_factory=list)

    def send(self, method: str, path: str, body: Any = None, token: str | None = None, **headers: str) -> Answer:
        """Send one request on a connection of its own."""
        line = HTTPConnection("127.0.0.1", self.port, timeout=SECONDS)
        given = {name.replace("_", "-"): text for name, text in headers.items()}
        if token is not None:
            given.setdefault("Authorization", f"Bearer {token}")
        if body is not None:
            given.setdefault("Content-Type", "application/json")
        try:
            line.request(method, path, body if body is None or isinstance(body, bytes) else json.dumps(body).encode(), given)
            answer = line.getresponse()
            return Answer(answer.status, dict(answer.headers), answer.read())
        finally:
            line.close()

    def connect(self) -> socket.socket:
        """An open line, for requests that no client library would send; closed with the server."""
        line = socket.create_connection(("127.0.0.1", self.port), timeout=SECONDS)
        self.lines.append(line)
        return line

    def told(self) -> list[dict[str, Any]]:
        """The lines of the log."""
        return [json.loads(line) for line in self.log.read_text("utf-8").splitlines()]

    def stop(self) -> int:
        """Ask the server to stop, and wait until it has; its status."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(SECONDS)


def free_port() -> int:
    """A port that nothing listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def serving(url: str, place: Path, *, workers: int = 1, command: str = COMMAND, **variables: str) -> Iterator[Served]:
    """The service on a migrated database, with some variables set; ``command`` may prepare it otherwise."""
    port, log = free_port(), place / "server.log"
    program = [sys.executable, "-c", command, "serve", "--port", str(port), "--workers", str(workers)]
    environment = {"DATABASE_URL": url, "PATH": os.environ.get("PATH", ""), "PYTHONPATH": str(TOP), "TMPDIR": str(place), **variables}
    with log.open("wb") as output, subprocess.Popen(program, env=environment, cwd=place, stdout=output, stderr=output) as process:
        served = Served(port, process, log)
        try:
            wait_for(served)
            yield served
        finally:
            for line in served.lines:
                line.close()
            if process.poll() is None:
                process.terminate()
                try:
                    process.wait(SECONDS)
                except subprocess.TimeoutExpired:
                    process.kill()


def wait_for(served: Served) -> None:
    """Wait for the first answer; raises NotServing."""
    end = time.monotonic() + SECONDS
    while time.monotonic() < end and served.process.poll() is None:
        try:
            if served.send("GET", "/livez").status == 200:
                return
        except (OSError, HTTPException):
            time.sleep(0.05)
    raise NotServing(served.log.read_text("utf-8"))

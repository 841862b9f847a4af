"""The log: one JSON object a line on standard error, with the id of the request that the line is of.

Responsible for the form of a line, and for the level from which on one is written. Refuses to know what is told; the lines of the
server itself are the worker's.
"""

import json
import sys
from contextvars import ContextVar
from datetime import UTC, datetime

LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL")


class Log:
    """The log of a process. A thread answers one request at a time, whose id each of its lines tells."""

    def __init__(self) -> None:
        self._least = 0
        self._request: ContextVar[str | None] = ContextVar("request", default=None)
        self._encode = json.JSONEncoder(default=repr).encode

    def begin(self, level: str) -> None:
        """Write from a level on."""
        self._least = LEVELS.index(level)

    def belong(self, request: str | None) -> None:
        """From now on the lines of this thread are of a request, or of none."""
        self._request.set(request)

    def info(self, event: str, **told: object) -> None:
        """Tell of something usual."""
        self._write("INFO", event, told)

    def warning(self, event: str, **told: object) -> None:
        """Tell of something that somebody should look at."""
        self._write("WARNING", event, told)

    def error(self, event: str, **told: object) -> None:
        """Tell of something that failed."""
        self._write("ERROR", event, told)

    def _write(self, level: str, event: str, told: dict[str, object]) -> None:
        if LEVELS.index(level) < self._least:
            return
        request = self._request.get()
        if request is not None:
            told.setdefault("request_id", request)
        told |= {"event": event, "level": level.lower(), "timestamp": datetime.now(UTC).isoformat().replace("+00:00", "Z")}
        # In one go with its end: in two, lines of two workers would run into one another. Tests and servers exchange the stream.
        sys.stderr.write(self._encode(told) + "\n")


log = Log()

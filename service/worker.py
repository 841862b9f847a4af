"""The worker process: its threads, and its patience with callers.

Responsible for how long a request may take to arrive, to be answered and to be taken, and for log lines of
the server itself. Refuses to know what is asked. The threads of this kind of worker have no time limit of
their own: without this module one byte a minute would hold a thread for ever, and eight of them a worker.
"""

import json
import logging
import os
import re
import selectors
import socket
import sys
import time
import traceback
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from functools import partial
from typing import Any

from gunicorn import glogging
from gunicorn.http.errors import ParseException
from gunicorn.workers import gthread

from service.garbage import search_seldom
from service.limits import HEADER_SECONDS, TOKEN_PATTERN

LATE = "kitchen_prep.late"
SECRET = re.compile(TOKEN_PATTERN)
QUOTING = re.compile(
    r"(Invalid request from ip=\S+: [^:]*|Error handling request|Ignored premature client disconnection|Closing connection)\b.*", re.DOTALL
)
"""Messages of the server that go on with what a caller sent."""


# A thread that plans gives way to the others after so long. With the usual 5 ms, a request that only writes a few rows
# waits as long after each of its statements, and whoever writes next waits for all of that.
SWITCH_SECONDS = 0.001


class Worker(gthread.ThreadWorker):
    """A worker whose threads wait for nobody longer than a request may take.

    Headers must arrive within HEADER_SECONDS, the whole request within the time of a request: then the line is closed
    for reading, which the thread that reads sees as its end. After twice that time it is closed altogether, which ends
    writing to a caller who does not read; and if the thread is still at it a while later, the worker is replaced.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.place = 0
        self.seconds = self.cfg.timeout / 2
        self.deadlines: dict[Any, float] = {}
        self.late: set[Any] = set()

    def run(self) -> None:
        """Work until told to stop, with threads that give way quickly.

        Leave at once where a request is still stuck then: its thread would be waited for without end.
        """
        sys.setswitchinterval(SWITCH_SECONDS)
        super().run()
        if self.deadlines:
            os._exit(1)

    def load_wsgi(self) -> None:
        """Load the application, with a mark on requests whose headers are there, and a body that ends where its line does."""
        super().load_wsgi()
        search_seldom()
        self.wsgi = partial(self.answer, self.wsgi)

    def answer(self, application: Callable[..., Iterable[bytes]], environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Let the application answer a request, which has all of its time from here on."""
        line = environ["gunicorn.socket"]
        self.deadlines[line] = time.monotonic() + self.seconds
        environ[LATE] = partial(self.late.__contains__, line)
        environ["wsgi.input"] = Received(environ["wsgi.input"])
        return application(environ, start_response)

    def enqueue_req(self, conn: Any) -> None:
        """Give a connection to a thread once it has sent something; a silent one waits with the poller."""
        if conn.initialized or conn.data_ready or not self.alive:
            super().enqueue_req(conn)
            return
        conn.sock.settimeout(0)
        conn.set_timeout()
        self.pending_conns.append(conn)
        self.poller.register(conn.sock, selectors.EVENT_READ, partial(self.on_pending_socket_readable, conn))

    def set_accept_enabled(self, enabled: bool | None) -> None:  # noqa: FBT001 - the server's own signature
        """Accept connections or not; a worker that stops lets go of its ports, so that callers are refused at once and not left waiting."""
        super().set_accept_enabled(enabled)
        if not self.alive:
            for listener in self.sockets:
                listener.close()

    def handle(self, conn: Any) -> Any:
        """Read and answer one request, in a thread."""
        self.deadlines[conn.sock] = time.monotonic() + HEADER_SECONDS
        try:
            return super().handle(conn)
        finally:
            self.deadlines.pop(conn.sock, None)
            self.late.discard(conn.sock)

    def wait_for_and_dispatch_events(self, timeout: float | None) -> None:
        """Wait for events, as the server does about once a second, and then look who is late."""
        super().wait_for_and_dispatch_events(timeout)
        now = time.monotonic()
        for line, deadline in list(self.deadlines.items()):
            if now > deadline:
                self.lose_patience(line, now - deadline)

    def lose_patience(self, line: socket.socket, seconds: float) -> None:
        """Close what is open too long, by how long it is over its time; replace the worker where that does not help."""
        if seconds > 2 * self.seconds and self.alive:
            self.log.critical("a request is stuck: this worker is replaced")
            self.alive = False
        if line not in self.late or seconds > self.seconds:
            self.late.add(line)
            try:
                line.shutdown(socket.SHUT_RDWR if seconds > self.seconds else socket.SHUT_RD)
            except OSError as error:
                self.log.debug("the caller was gone already: %s", error)


class Received:
    """The body of a request as the server reads it; whatever is wrong with its framing is an OSError."""

    def __init__(self, body: Any) -> None:
        self.body = body

    def read(self, size: int = -1) -> bytes:
        """Up to so many bytes; raises OSError."""
        try:
            data: bytes = self.body.read(None if size < 0 else size)
        except ParseException as error:
            raise OSError("the body is not framed as its headers say") from error
        return data


class Log(glogging.Logger):
    """The server's own log: one JSON object a line, as the application's; the log of accesses is the application's."""

    def setup(self, cfg: Any) -> None:
        """Set up the handlers, and the form of their lines."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(LineFormat())


class LineFormat(logging.Formatter):
    """One line of the server's log.

    What a caller sent stays out of it: of malformed requests the kind of fault is told, of a crash its type and place.
    """

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        crash = record.exc_info or (None, None, None)
        told = {
            "event": SECRET.sub("kp_…", QUOTING.sub(r"\1", record.getMessage())),
            **({"error": crash[0].__name__, "frames": "".join(traceback.format_tb(crash[2]))} if crash[0] else {}),
            "process": record.process,
            "level": record.levelname.lower(),
            "timestamp": datetime.fromtimestamp(record.created, UTC).isoformat().replace("+00:00", "Z"),
        }
        return json.dumps(told, ensure_ascii=False)

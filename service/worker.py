"""The worker process: its lines and its threads, until it stops or is replaced.

Responsible for when it does, and for log lines of the server itself. Refuses to know what is asked, and how it is read.
"""

import json
import logging
import os
import re
import sys
import time
import traceback
from datetime import UTC, datetime
from typing import Any

from gunicorn import glogging
from gunicorn.workers import base
from waitress import wasyncore
from waitress.task import ThreadedTaskDispatcher

from service.garbage import search_seldom
from service.limits import TOKEN_PATTERN
from service.lines import Listener, adjustments

SECRET = re.compile(TOKEN_PATTERN)
QUOTING = re.compile(r"((?:Exception|Client disconnected) while serving)\b.*", re.DOTALL)
"""Messages of the server that go on with what a caller sent."""


# A thread that plans gives way to the others after so long. With the usual 5 ms, a request that only writes a few rows
# waits as long after each of its statements, and whoever writes next waits for all of that.
SWITCH_SECONDS = 0.001
# A worker that is to stop notices after so long.
TURN_SECONDS = 0.25


class Worker(base.Worker):
    """A worker that reads requests whole, and answers each in one of its threads.

    Who stops accepts nobody, lets everybody who has begun finish for the time of a request, and leaves. A worker with a request that
    a thread is stuck in does so too, and is replaced: Python cannot stop a thread that computes.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.place = 0
        self.seconds = self.cfg.timeout / 2
        self.lines: dict[int, Any] = {}
        self.threads = ThreadedTaskDispatcher()

    def run(self) -> None:
        """Work until told to stop."""
        sys.setswitchinterval(SWITCH_SECONDS)
        search_seldom()
        self.threads.set_thread_count(self.cfg.threads)
        told = adjustments(self.cfg.threads, self.cfg.worker_connections)
        ports = [Listener(self.wsgi, self.lines, self.threads, told, port, self.seconds) for port in self.sockets]
        while self.alive and self.ppid == os.getppid():
            self.turn()
            if max(port.longest() for port in ports) > 2 * self.seconds:
                self.log.critical("a request is stuck: this worker is replaced")
                break
            if sum(port.answered for port in ports) >= self.max_requests:
                self.log.info("this worker has answered enough: it is replaced")
                break
        for port in ports:
            port.stop_accepting()
        end = time.monotonic() + self.seconds
        while any(port.busy for port in ports) and time.monotonic() < end:
            self.turn()
        if any(port.working for port in ports):
            # A thread that is stuck would be waited for without end.
            os._exit(0)

    def turn(self) -> None:
        """Read and write what can be; where nothing happens, for a moment."""
        wasyncore.loop(timeout=TURN_SECONDS, use_poll=True, map=self.lines, count=1)
        self.notify()


class Log(glogging.Logger):
    """The server's own log: one JSON object a line, as the application's; the log of accesses is the application's."""

    def setup(self, cfg: Any) -> None:
        """Set up the handlers, and the form of their lines."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(LineFormat())
        lines = logging.getLogger("waitress")
        lines.handlers, lines.propagate = self.error_log.handlers, False
        lines.setLevel(self.error_log.level)
        # Requests that wait for a thread are no fault.
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)


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

"""A static route beside the service, in the same worker of the same server.

Responsible for what the served application is compared with, and for telling what the worker has used. Refuses to know what is measured.
"""

import json
import os
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from werkzeug.middleware.dispatcher import DispatcherMiddleware

from service import server
from tests.bench import baselines

COMMAND = "from tests.bench import beside; beside.install(); from service.cli import main; main()"
"""The service's command, with the routes beside it."""
CONTENT = "BENCH_CONTENT"
"""The variable that names the file of what the static route sends."""
# What the system counts the peak in, to a megabyte.
KILOBYTES = 1_000_000 if sys.platform == "darwin" else 1_000
STATIC, USED = "/bench/static/", "/bench/used/"
TAG = '"tag"'


class Beside(server.Server):
    """The server of the service, with a static application under a path of its own."""

    def load(self) -> Callable[..., Any]:
        """The application of a worker."""
        static = baselines.static(Path(os.environ[CONTENT]).read_bytes(), TAG)
        return DispatcherMiddleware(super().load(), {STATIC.rstrip("/"): static, USED.rstrip("/"): used})


def used(environ: dict[str, Any], start_response: Callable[..., Any]) -> list[bytes]:
    """An application that answers what its process has used: seconds of CPU, and at most so many megabytes at a time."""
    del environ
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KILOBYTES
    start_response("200 OK", [("Content-Type", "application/json")])
    return [json.dumps({"seconds": time.process_time(), "megabytes": peak}).encode()]


def install() -> None:
    """Let the service's own command serve both."""
    server.Server = Beside  # type: ignore[misc]

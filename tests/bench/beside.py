"""A static route beside the service, in the same worker of the same server.

Responsible for what the served application is compared with, and for telling the CPU time of the worker. Refuses to know what is measured.
"""

import os
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
STATIC, CPU = "/bench/static/", "/bench/cpu/"
TAG = '"tag"'


class Beside(server.Server):
    """The server of the service, with a static application under a path of its own."""

    def load(self) -> Callable[..., Any]:
        """The application of a worker."""
        static = baselines.static(Path(os.environ[CONTENT]).read_bytes(), TAG)
        return DispatcherMiddleware(super().load(), {STATIC.rstrip("/"): static, CPU.rstrip("/"): seconds_used})


def seconds_used(environ: dict[str, Any], start_response: Callable[..., Any]) -> list[bytes]:
    """An application that answers how many seconds of CPU its process has used."""
    del environ
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [repr(time.process_time()).encode()]


def install() -> None:
    """Let the service's own command serve both."""
    server.Server = Beside  # type: ignore[misc]

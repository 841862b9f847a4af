"""The production server: worker processes with threads.

Responsible for how the application is served, and for the folder in which the workers keep their metrics.
Refuses to know what it answers.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from gunicorn.app.base import BaseApplication
from gunicorn.arbiter import Arbiter

from service.config import Config
from service.worker import Log, Worker

THREADS = 8
CONNECTIONS = 1_000
# A worker is replaced now and then, so that memory which any library loses is given back.
REQUESTS_OF_A_WORKER = 50_000
METRICS_FOLDER = "PROMETHEUS_MULTIPROC_DIR"


class Server(BaseApplication):
    """Serves one configuration until it is told to stop."""

    def __init__(self, config: Config, settings: dict[str, Any]) -> None:
        self.config = config
        self.settings = settings
        self.place = 0
        super().__init__()

    def load_config(self) -> None:
        """Give the server its settings; it reads no file and no variable of its own."""
        for name, value in self.settings.items():
            self.cfg.set(name, value)
        self.cfg.set("on_starting", warn_of_root)
        self.cfg.set("pre_fork", take_place)
        self.cfg.set("post_fork", self.remember_place)

    def remember_place(self, arbiter: Arbiter, worker: Worker) -> None:
        """In the new process, keep which of the workers it is."""
        del arbiter
        self.place = worker.place

    def load(self) -> Callable[..., Any]:
        """The application, made anew in each worker, so that no connection is shared."""
        from prometheus_client import values  # noqa: PLC0415 - as below

        from service.app import create_app  # noqa: PLC0415 - its metrics look for their folder when they are loaded

        # A worker goes on with the files of the one in whose place it came, so that they do not grow in number.
        values.ValueClass = values.MultiProcessValue(lambda: self.place)  # type: ignore[no-untyped-call] # The library leaves it so.
        return create_app(self.config)


def serve(config: Config, host: str, port: int, workers: int) -> None:
    """Serve until stopped; a stop lets requests finish for as long as a request may take."""
    with metrics_folder():
        Server(config, settings(config, host, port, workers)).run()


def settings(config: Config, host: str, port: int, workers: int) -> dict[str, Any]:
    """What the server is told."""
    return {
        "bind": f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
        "workers": workers,
        "worker_class": Worker,
        "threads": THREADS,
        "timeout": 2 * config.request_seconds,
        "graceful_timeout": config.request_seconds,
        "worker_connections": CONNECTIONS,
        "max_requests": REQUESTS_OF_A_WORKER,
        "max_requests_jitter": REQUESTS_OF_A_WORKER // 10,
        "loglevel": config.log_level.lower(),
        "logger_class": Log,
        # The application logs each request itself, without what the caller wrote into it.
        "accesslog": None,
        # A control socket in the working folder is of no use here.
        "control_socket_disable": True,
    }


def warn_of_root(arbiter: Any) -> None:
    """Say once that nothing here needs the rights of root."""
    if os.geteuid() == 0:
        arbiter.log.warning("running as root: give the service an account of its own, it needs no rights but to its database")


def take_place(arbiter: Arbiter, worker: Worker) -> None:
    """Give a worker the lowest number that none of the living has."""
    taken = {other.place for other in arbiter.WORKERS.values() if isinstance(other, Worker)}
    worker.place = next(number for number in range(len(taken) + 1) if number not in taken)


@contextmanager
def metrics_folder() -> Iterator[None]:
    """A folder for the metrics of all workers, removed at the end by the process that made it."""
    owner, place = os.getpid(), tempfile.mkdtemp(prefix="kitchen-prep-metrics-")
    os.environ[METRICS_FOLDER] = place
    try:
        yield
    finally:
        # A worker leaves through here too, and the others still work.
        if os.getpid() == owner:
            del os.environ[METRICS_FOLDER]
            shutil.rmtree(place, ignore_errors=True)

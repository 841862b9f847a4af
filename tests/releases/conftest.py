"""Databases as releases left them, brought up to date on both kinds of database, and what each release answered on its own."""

import json
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from flask import Flask
from sqlalchemy import URL, Engine

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.store import copying, migration
from service.store.engine import make_engine
from service.store.tables import metadata
from tests import postgresql
from tests.api.caller import Caller

HERE = Path(__file__).parent
VERSIONS = sorted(file.stem for file in HERE.glob("*.sql"))


@dataclass(frozen=True, kw_only=True)
class Release:
    """A release: its number, its database as statements, and the requests and answers that were kept with it."""

    version: str
    statements: list[str]
    kept: dict[str, Any]

    @property
    def rows(self) -> list[str]:
        """The statements that bring the rows, but for the one that tells the migration."""
        return [each for each in self.statements if each.startswith("INSERT") and "alembic_version" not in each]

    @property
    def migration(self) -> str:
        """The number of the release's newest migration."""
        [told] = [each for each in self.statements if each.startswith("INSERT INTO alembic_version")]
        return told.split("'")[1]

    def config(self, url: str) -> Config:
        """The service at the hour of that time, for as many requests as there are tests."""
        return Config.from_env({"DATABASE_URL": url, "KITCHEN_PREP_NOW": self.kept["now"], "KITCHEN_PREP_REQUESTS_PER_MINUTE": "1000000"})


@pytest.fixture(scope="session", params=VERSIONS)
def release(request: pytest.FixtureRequest) -> Release:
    """Each release that a database was kept of."""
    version: str = request.param
    return read(HERE, version)


def read(folder: Path, version: str) -> Release:
    """A release as its two files keep it."""
    statements = (folder / f"{version}.sql").read_text("utf-8").splitlines()
    return Release(version=version, statements=statements, kept=json.loads((folder / f"{version}.json").read_text("utf-8")))


@pytest.fixture(scope="session")
def sqlite_database(release: Release, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of the release's SQLite database, migrated."""
    url = f"sqlite:///{tmp_path_factory.mktemp('release') / 'kitchen.sqlite3'}"
    fill(url, release.statements, lambda _: None)
    return url


@pytest.fixture(scope="session")
def postgresql_database(release: Release, server: URL) -> Iterator[str]:
    """The address of a PostgreSQL database with the release's rows in the tables of that time, migrated."""
    name = f"release_{uuid.uuid4().hex}"
    postgresql.execute(server, f"CREATE DATABASE {name}")
    url = postgresql.address(server, name)
    fill(url, release.rows, lambda engine: command.upgrade(migration.settings(engine), release.migration))
    yield url
    postgresql.execute(server, f"DROP DATABASE {name} WITH (FORCE)")


def fill(url: str, statements: list[str], prepare: Callable[[Engine], None]) -> None:
    """Make a database of a release and bring it up to date."""
    engine = make_engine(url)
    prepare(engine)
    with engine.execution_options(no_parameters=True).begin() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
        for table in metadata.sorted_tables:
            if any(each.startswith(f"INSERT INTO {table.name} ") for each in statements):
                copying.advance_sequence(connection, table)
    engine.dispose()
    migration.upgrade(url)


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest) -> str:
    """The address of the release's database, of either kind. Tests leave it as it is."""
    url: str = request.getfixturevalue(f"{request.param}_database")
    return url


@pytest.fixture
def served(release: Release, database_url: str) -> Iterator[Flask]:
    """The service of today on the database of that time, at the hour of that time."""
    app = create_app(release.config(database_url))
    yield app
    Interior.of(app).engine.dispose()


@pytest.fixture
def director(release: Release, served: Flask) -> Caller:
    """A director by a token of that time."""
    return Caller(served.test_client(), release.kept["secrets"]["director"])

"""Every test of the store runs on both databases."""

import uuid
from collections.abc import Iterator

import pytest
from sqlalchemy import URL

from service.store import migration
from tests import postgresql


@pytest.fixture(scope="session")
def server() -> Iterator[URL]:
    with postgresql.running() as url:
        yield url


@pytest.fixture(scope="session")
def template(server: URL) -> Iterator[str]:
    """A database that every migration has reached; tests copy it."""
    name = f"template_{uuid.uuid4().hex}"
    postgresql.execute(server, f"CREATE DATABASE {name}")
    migration.upgrade(address(server, name))
    yield name
    postgresql.execute(server, f"DROP DATABASE {name}")


def address(server: URL, database: str) -> str:
    return server.set(database=database).render_as_string(hide_password=False)


@pytest.fixture
def postgresql_url(server: URL, template: str) -> Iterator[str]:
    """The address of a fresh, migrated PostgreSQL database."""
    name = f"test_{uuid.uuid4().hex}"
    postgresql.execute(server, f"CREATE DATABASE {name} TEMPLATE {template}")
    yield address(server, name)
    postgresql.execute(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest) -> str:
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url

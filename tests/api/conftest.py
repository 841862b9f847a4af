"""Fixtures of the interface's tests: an application on a fresh database, and callers of every role."""

from collections.abc import Callable, Iterator

import pytest
from flask import Flask

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.caller import Caller

NOW = "2026-12-02T07:00:00-05:00"


@pytest.fixture
def database_url(request: pytest.FixtureRequest) -> str:
    """The address of a fresh, migrated database, of the kind that the test is run on."""
    url: str = request.getfixturevalue(f"{getattr(request, 'param', 'sqlite')}_url")
    return url


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run every test that asks for a database on both kinds."""
    if "database_url" in metafunc.fixturenames:
        metafunc.parametrize("database_url", ["sqlite", "postgresql"], indirect=True)


@pytest.fixture
def app(database_url: str) -> Iterator[Flask]:
    made = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_NOW": NOW}))
    yield made
    Interior.of(made).engine.dispose()


@pytest.fixture
def caller_of(app: Flask) -> Callable[..., Caller]:
    """Make a caller of a role."""

    def make(role: str, sites: list[str] | None = None, source: str | None = None) -> Caller:
        interior = Interior.of(app)
        with interior.writers() as session:
            secret, _ = create_token(session, f"the {role}", role, sites, source, 365, interior.config.now())
            session.commit()
        return Caller(app.test_client(), secret)

    return make


@pytest.fixture
def director(caller_of: Callable[..., Caller]) -> Caller:
    return caller_of("director")


@pytest.fixture
def anybody(app: Flask) -> Caller:
    """A caller without a token."""
    return Caller(app.test_client(), None)

"""A fresh house for each published example."""

from collections.abc import Iterator

import pytest

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.caller import Caller
from tests.published.house import House


@pytest.fixture
def house(database_url: str) -> Iterator[House]:
    app = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_NOW": "2026-12-02T06:00:00Z"}))
    interior = Interior.of(app)
    with interior.writers() as session:
        secret, _ = create_token(session, "the reader of books", "director", None, None, 1, interior.config.now())
        session.commit()
    yield House(Caller(app.test_client(), secret))
    interior.engine.dispose()

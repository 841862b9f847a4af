"""The demo kitchens as the runs over the published document find them: a database and a director's token."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from flask import Flask

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.demo import prepare
from service.operations.tokens import authenticate
from service.shell import reading

NOW = "2026-12-02T07:00:00-05:00"
MANY = "10000000"


@dataclass(frozen=True)
class Scene:
    """A prepared database file, how the service is configured on it, its director's token, and those of the other roles."""

    environment: dict[str, str]
    file: Path
    token: str
    token_id: str
    others: dict[str, str]

    @property
    def headers(self) -> dict[str, str]:
        """What a request of the director has."""
        return {"Authorization": f"Bearer {self.token}"}

    def copied(self, file: Path) -> dict[str, str]:
        """The environment of a service on a fresh copy."""
        shutil.copy(self.file, file)
        return {**self.environment, "DATABASE_URL": f"sqlite:///{file}"}


def make(place: Path) -> Scene:
    """The demo, on a clock that stands still, for as many requests as there are."""
    file = place / "demo.sqlite3"
    environment = {
        "DATABASE_URL": f"sqlite:///{file}",
        "KITCHEN_PREP_NOW": NOW,
        "KITCHEN_PREP_LOG_LEVEL": "CRITICAL",
        "KITCHEN_PREP_REQUESTS_PER_MINUTE": MANY,
        "KITCHEN_PREP_FAILED_AUTHENTICATIONS_PER_MINUTE": MANY,
    }
    config = Config.from_env(environment)
    others = prepare(config).tokens
    token = others.pop("director")
    with reading(config) as session:
        return Scene(environment, file, token, authenticate(session, token, config.now()).token_id, others)


@contextmanager
def opened(scene: Scene, file: Path) -> Iterator[Flask]:
    """An application on a fresh copy of the demo."""
    app = create_app(Config.from_env(scene.copied(file)))
    try:
        yield app
    finally:
        Interior.of(app).engine.dispose()

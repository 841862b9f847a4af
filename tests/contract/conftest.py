"""Fixtures of the runs over the published document."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from tests.contract.hooks import OWN_TOKENS
from tests.contract.scene import Scene, make, opened


@pytest.fixture(scope="session")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Scene:
    """The demo kitchens; tests work on copies."""
    made = make(tmp_path_factory.mktemp("contract"))
    OWN_TOKENS.add(made.token_id)
    return made


@pytest.fixture
def app(scene: Scene, tmp_path: Path) -> Iterator[Flask]:
    """An application on a fresh copy of the demo."""
    with opened(scene, tmp_path / "kitchen.sqlite3") as made:
        yield made

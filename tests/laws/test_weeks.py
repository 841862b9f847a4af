"""Weeks (P15): what holds of a kitchen day after day, whatever is announced, counted, printed and reported there."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from shutil import copy
from uuid import uuid4

import pytest
from sqlalchemy.orm import Session

from service.store.engine import make_engine, session_factory
from tests.laws.law import law
from tests.laws.lived import Lived
from tests.laws.weeks import Week, weeks


@pytest.fixture(scope="module")
def place(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database without anything in it, for each example to copy."""
    return Path(copy(migrated_file, tmp_path_factory.mktemp("weeks") / "empty.sqlite3"))


@contextmanager
def fresh(place: Path) -> Iterator[Session]:
    """A writer's session on a database of its own; nothing of it is ever committed."""
    file = Path(copy(place, place.with_name(f"{uuid4().hex}.sqlite3")))
    engine = make_engine(f"sqlite:///{file}")
    try:
        with session_factory(engine)() as session:
            yield session
    finally:
        engine.dispose()
        for each in file.parent.glob(f"{file.name}*"):
            each.unlink()


class TestClosedDays:
    def test_lists_are_those_of_a_planner_that_never_closes_a_day(self, place: Path) -> None:
        @law(weeks())
        def check(week: Week) -> None:
            with fresh(place) as session:
                lived = Lived(session, week)
                for act in lived.live():
                    for on in (lived.today, lived.today + timedelta(1)):
                        listed = lived.ask(on)
                        with lived.nothing_closed():
                            assert lived.ask(on) == listed, act

        check()

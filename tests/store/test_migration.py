import subprocess
import sys
import threading
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Engine, inspect, select
from sqlalchemy.orm import Session

from service.resources import folder
from service.store import closed_days, collections, migration, prints, reports, work_reports
from service.store.closed_days import ClosedRow
from service.store.engine import make_engine, session_factory
from service.store.prints import PrintHead, PrintKey
from service.store.reports import FixedRow, ReportRow
from service.store.tables import metadata
from tests import postgresql
from tests.store.test_copying import fill

DAY = date(2026, 12, 2)
NOON = datetime(2026, 12, 2, 12, tzinfo=UTC)
SOUP, PIE = "make.ab.soup.2026-12-02T1200", "make.ab.pie.2026-12-02T1200"
BEFORE = {"prints": 3, "printed_work": 5, "reports": 5, "reported_work": 2}
"""How many rows of what ``say`` says there were before history was packed."""


def say(session: Session) -> None:
    """Three prints of a site, and reports of what they show and of what none of them does."""
    collections.save(session, "sites", "ab", {"name": "ab"})
    soup, pie = ((work, "run", {"tasks": [f"{work}.1"], "frozen": {"quantity": Decimal("2.50")}}) for work in (SOUP, PIE))
    for number, (document, works) in enumerate((({"title": "Crème"}, [soup, pie]), ({}, [soup, pie]), ({"far": "x" * 999}, [pie])), 1):
        head = PrintHead(site="ab", date=DAY, number=number, printed_at=NOON + timedelta(hours=number), printed_by="b", revision=number)
        prints.add(session, head, prints.pack(session, "ab", DAY, document, works))
    printed = FixedRow(work=SOUP, kind="run", since=DAY, printed=PrintKey(DAY, 2), document={"quantity": Decimal("2.50")})
    own = FixedRow(work=PIE, kind="run", since=DAY - timedelta(1), document={"quantity": Decimal("0.10")})
    for task, work, fixed in (
        (f"{SOUP}.1", SOUP, printed),
        (f"{SOUP}.2", SOUP, None),
        (f"{PIE}.1", PIE, own),
        ("use.ab.x", "use.ab.x", None),
    ):
        for number in (1, 2) if work == PIE else (1,):
            report = {"state": "done", "made": None, "begun": None, "drawn": None, "at": NOON.isoformat(), "stated": True, "note": "½"}
            row = ReportRow(task=task, number=number, work=work, date=DAY, recorded_at=NOON, revision=number, document=report)
            reports.add(session, "ab", row, reports.about(session, "ab", work), fixed)
    closed_days.save(session, "ab", [ClosedRow(date=DAY, ended_at=NOON, document={"lots": [Decimal("1.20")]})])


def said(session: Session) -> list[Any]:
    """All that ``say`` said, as the store has it."""
    works = [prints.of_date(session, "ab", DAY, work) for work in (SOUP, PIE)]
    known = [reports.fixed(session, "ab", [SOUP, PIE]), reports.since(session, "ab", date.min, [])]
    return [prints.page(session, "ab", DAY, 0, 9), works, *known, closed_days.newest(session, "ab", date.max)]


def test_a_migrated_database_is_current_and_has_every_table(engine: Engine) -> None:
    assert migration.is_current(engine)
    assert set(inspect(engine).get_table_names()) == set(metadata.tables) | {"alembic_version"}


def test_the_migrations_lead_to_the_tables_of_the_code(engine: Engine) -> None:
    # Fails where a model changed without a migration, or a migration without the model.
    command.check(migration.settings(engine))


def test_every_migration_can_be_undone_and_done_again(engine: Engine) -> None:
    command.downgrade(migration.settings(engine), "base")
    assert not migration.is_current(engine)
    assert inspect(engine).get_table_names() == ["alembic_version"]
    command.upgrade(migration.settings(engine), "head")
    assert migration.is_current(engine)


def contents(engine: Engine) -> dict[str, list[str]]:
    """Every row of every table that the database has with all its columns, as text."""
    with engine.connect() as connection:
        inspector = inspect(connection)
        return {
            table.name: sorted(repr(tuple(row)) for row in connection.execute(select(table)))
            for table in metadata.sorted_tables
            if inspector.has_table(table.name)
            and {column.name for column in table.columns} <= {column["name"] for column in inspector.get_columns(table.name)}
        }


def test_a_step_down_and_up_again_leaves_the_rows_of_all_other_tables_as_they_were(engine: Engine) -> None:
    with session_factory(engine).begin() as session:
        fill(session)
    whole = contents(engine)
    assert sum(len(rows) for rows in whole.values()) > 2_000
    for script in ScriptDirectory.from_config(migration.settings()).walk_revisions():
        if script.down_revision is None:
            break
        command.downgrade(migration.settings(engine), str(script.down_revision))
        kept = contents(engine)
        assert kept == {name: whole[name] for name in kept}
        assert len(kept) < len(metadata.tables)
    command.upgrade(migration.settings(engine), "head")
    command.check(migration.settings(engine))
    again = contents(engine)
    assert {name: again[name] for name in kept} == kept
    assert again["forecast_sources"] == whole["forecast_sources"], "told again from the forecasts"


@pytest.mark.parametrize("gathered", [0, 1, 9])
def test_a_step_down_and_up_again_keeps_prints_and_what_was_said_of_their_work(engine: Engine, gathered: int) -> None:
    with session_factory(engine).begin() as session:
        say(session)
        before = said(session)
        work_reports.gather(session, "ab", DAY, gathered)
    head = migration.head()
    command.downgrade(migration.settings(engine), "0010")
    with engine.connect() as connection:
        rows = {name: connection.exec_driver_sql(f"SELECT count(*) FROM {name}").scalar_one() for name in BEFORE}  # noqa: S608 - names of ours
    assert rows == BEFORE
    command.upgrade(migration.settings(engine), head)
    with session_factory(engine)() as session:
        assert said(session) == before


def test_migrating_twice_changes_nothing(database_url: str, engine: Engine) -> None:
    migration.upgrade(database_url)
    assert migration.is_current(engine)


@pytest.fixture
def fresh_url(request: pytest.FixtureRequest, database_url: str, tmp_path: Path) -> Iterator[str]:
    """The address of a database without tables, of the kind that the test runs on."""
    if database_url.startswith("sqlite"):
        yield f"sqlite:///{tmp_path / 'new.sqlite3'}"
        return
    server: URL = request.getfixturevalue("server")
    name = f"fresh_{uuid.uuid4().hex}"
    postgresql.execute(server, f"CREATE DATABASE {name}")
    yield postgresql.address(server, name)
    postgresql.execute(server, f"DROP DATABASE {name} WITH (FORCE)")


def test_of_several_that_migrate_at_once_none_fails(fresh_url: str) -> None:
    program = f"from service.store import migration; migration.upgrade({fresh_url!r})"
    processes = [subprocess.Popen([sys.executable, "-c", program], stderr=subprocess.PIPE, text=True) for _ in range(3)]
    errors = [process.communicate()[1] for process in processes]
    assert [process.returncode for process in processes] == [0, 0, 0], errors
    engine = make_engine(fresh_url)
    assert migration.is_current(engine)
    engine.dispose()


def test_who_migrates_waits_for_as_long_as_another_does(fresh_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    engine = make_engine(fresh_url)
    with session_factory(engine)() as another:
        another.connection()
        monkeypatch.setattr("service.store.engine.BUSY_SECONDS", 0.1)
        timer = threading.Timer(1, another.rollback)
        timer.start()
        migration.upgrade(fresh_url)
        timer.join()
    assert migration.is_current(engine)
    engine.dispose()


def test_a_database_without_tables_is_not_current(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    assert not migration.is_current(engine)
    engine.dispose()


def test_migrations_are_numbered_one_by_one_in_one_line() -> None:
    scripts = list(ScriptDirectory.from_config(migration.settings()).walk_revisions())
    numbers = [script.revision for script in reversed(scripts)]
    assert numbers == [f"{number:04}" for number in range(1, len(numbers) + 1)]
    assert numbers[-1] == migration.head()
    files = sorted(file.name for file in (folder("migrations") / "versions").glob("*.py"))
    assert [name[:4] for name in files] == numbers

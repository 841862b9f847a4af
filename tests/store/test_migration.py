import subprocess
import sys
from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect

from service.resources import folder
from service.store import migration
from service.store.engine import make_engine
from service.store.tables import metadata


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


def test_migrating_twice_changes_nothing(database_url: str, engine: Engine) -> None:
    migration.upgrade(database_url)
    assert migration.is_current(engine)


def test_of_several_that_migrate_at_once_none_fails(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'new.sqlite3'}"
    program = f"from service.store import migration; migration.upgrade({url!r})"
    processes = [subprocess.Popen([sys.executable, "-c", program], stderr=subprocess.PIPE, text=True) for _ in range(3)]
    errors = [process.communicate()[1] for process in processes]
    assert [process.returncode for process in processes] == [0, 0, 0], errors
    engine = make_engine(url)
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

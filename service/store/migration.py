"""Migrations: bringing a database up to date, and telling whether it is.

Responsible for running the numbered files of ``migrations/``. Refuses to know what they change.
"""

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

from service.resources import folder
from service.store.engine import make_engine, schema_revision


class DamagedSchema(Exception):
    """The migration files do not end in one newest one."""


class DatabaseAhead(Exception):
    """The database is at a migration that this version does not have."""


def settings(engine: Engine | None = None) -> Config:
    """The migration tool's settings, with the engine that its environment is to use."""
    config = Config()
    config.set_main_option("script_location", str(folder("migrations")).replace("%", "%%"))
    if engine is not None:
        config.attributes["engine"] = engine
    return config


def head() -> str:
    """The number of the newest migration."""
    newest = ScriptDirectory.from_config(settings()).get_current_head()
    if newest is None:
        raise DamagedSchema("the folder of migrations holds none")
    return newest


def upgrade(url: str) -> None:
    """Bring a database up to date; of several processes at once, one does the work and the others wait for it; raises DatabaseAhead."""
    engine = make_engine(url, statement_seconds=0)
    try:
        revision = schema_revision(engine)
        if revision is not None and revision not in {each.revision for each in ScriptDirectory.from_config(settings()).walk_revisions()}:
            raise DatabaseAhead(
                f"the database is at migration {revision}, which this version does not have: run the one that brought it there"
            )
        command.upgrade(settings(engine), "head")
    finally:
        engine.dispose()


def is_current(engine: Engine) -> bool:
    """True of a database that the newest migration has reached."""
    return schema_revision(engine) == head()

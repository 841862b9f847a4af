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
    """Bring a database up to date; of several processes at once, one does the work and the others wait for it."""
    engine = make_engine(url, statement_seconds=0)
    try:
        command.upgrade(settings(engine), "head")
    finally:
        engine.dispose()


def is_current(engine: Engine) -> bool:
    """True of a database that the newest migration has reached."""
    return schema_revision(engine) == head()

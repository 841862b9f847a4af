"""The environment in which migrations run: one transaction, on either database.

Responsible for the connection and its locks. Refuses to know the tables but through their metadata.
"""

import math
import os
from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy import Connection, Engine

from service.config import Config
from service.store.engine import WAIT, make_engine
from service.store.tables import metadata


class BrokenReferences(Exception):
    """After a migration, rows refer to rows that are gone."""


def render_item(kind: str, item: Any, autogen_context: AutogenContext) -> str | Literal[False]:
    """How a new migration file writes the column types of the project's own."""
    if kind == "type" and type(item).__module__ == "service.store.types":
        autogen_context.imports.add("from service.store import types")
        return f"types.{type(item).__name__}()"
    return False


def run(connection: Connection) -> None:
    """Run the migrations asked for; the engine's writer lock lets one process at a time in, and nothing is half done.

    SQLite copies a table to change it, which must not cascade: foreign keys are off until the end, then checked.
    """
    sqlite = connection.dialect.name == "sqlite"
    if sqlite:
        # As long as another process migrates, however large the database is; PostgreSQL's lock does so by itself.
        connection = connection.execution_options(**{WAIT: math.inf})
        connection.connection.cursor().execute("PRAGMA foreign_keys = OFF")
    with connection.begin():
        context.configure(
            connection=connection,
            target_metadata=metadata,
            render_item=render_item,
            render_as_batch=True,
            compare_server_default=True,
            transactional_ddl=True,
        )
        context.run_migrations()
        if sqlite and (broken := connection.exec_driver_sql("PRAGMA foreign_key_check").all()):
            raise BrokenReferences(f"rows of {', '.join(sorted({row[0] for row in broken}))} refer to rows that are gone")
    if sqlite:
        connection.connection.cursor().execute("PRAGMA foreign_keys = ON")


engine: Engine = context.config.attributes.get("engine") or make_engine(Config.from_env(os.environ).database_url)
with engine.connect() as connection:
    run(connection)

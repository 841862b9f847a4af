"""What the commands share: a database that is up to date, sessions on it, files as documents, and errors in words.

Responsible for refusing an old database. Refuses to know what a command does.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from marshmallow import Schema
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.api.exchange.routing import load
from service.api.schemas.stored import completions
from service.api.wire.json import find_control_characters, parse
from service.config import Config, Variable, database_url
from service.errors import Invalid, ServiceError
from service.store.documents import complete_by
from service.store.engine import make_engine, schema_revision, session_factory
from service.store.migration import head


class OldDatabase(Exception):
    """The database is not the one that this version of the service works with."""


@contextmanager
def current_engine(config: Config, name: str = "the database") -> Iterator[Engine]:
    """The engine of the configured database; raises OldDatabase unless every migration has reached it."""
    complete_by(completions())
    engine = make_engine(config.database_url)
    try:
        revision, newest = schema_revision(engine), head()
        if revision != newest:
            state = "has no tables yet" if revision is None else f"is at migration {revision}, this version works with {newest}"
            raise OldDatabase(f"{name} {state}: run kitchen-prep migrate")
        yield engine
    finally:
        engine.dispose()


def addressed(config: Config, url: str) -> Config:
    """The configuration with another database; raises ConfigError for an address that is none."""
    return replace(config, database_url=database_url(Variable("URL", "", ""), url))


@contextmanager
def reading(config: Config) -> Iterator[Session]:
    """A session that only reads."""
    with current_engine(config) as engine, session_factory(engine, read_only=True)() as session:
        yield session


@contextmanager
def writing(config: Config) -> Iterator[Session]:
    """A session whose work is committed at the end, or not at all where anything fails."""
    with current_engine(config) as engine, session_factory(engine).begin() as session:
        yield session


def explain(error: ServiceError) -> str:
    """What an error says, a line a fault."""
    faults = error.faults if isinstance(error, Invalid) else ()
    return "\n  ".join([str(error), *(f"{fault.pointer or fault.parameter or '/'}: {fault.detail}" for fault in faults)])


def read_value(file: Path) -> Any:
    """The JSON value of a file, exactly; raises Unparseable."""
    return parse(file.read_bytes())


def read_document(schema: type[Schema], value: Any) -> Any:
    """The document that a schema of the interface reads from a value; raises Invalid with every fault of its shape."""
    document, faults = load(schema, value)
    if faults := find_control_characters(value) or faults:
        raise Invalid(faults)
    return document

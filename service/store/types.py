"""Column types that keep values whole on both databases.

Responsible for documents, moments and exact numbers: SQLite's own types would turn decimals into
floats and drop time zones. Refuses naive moments.
"""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import DateTime, Dialect, LargeBinary, Numeric, String, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

from service.store import documents, packing

# Codes sort by their bytes on both databases, as Python sorts them; a language's rules would skip the hyphens.
Code = String(64).with_variant(String(64, collation="C"), "postgresql")
ItemKey = String(140).with_variant(String(140, collation="C"), "postgresql")
WorkKey = String(320).with_variant(String(320, collation="C"), "postgresql")
ShortText = String(200)
# What kitchens say of a task, as most of them say it; it never changes, since what is stored is packed like it.
SAID = (
    '[{"state":"done","made":null,"begun":null,"drawn":null,"at":"2026-12-03T15:00:00+00:00","stated":false,"note":"",'
    '"row":[".1",1,"2026-12-03","2026-12-03T15:00:00+00:00",1]}]'
)


class NaiveMoment(TypeError):
    """A moment without a time zone was about to be stored."""


class Document(TypeDecorator[Any]):
    """A JSON value, stored as its canonical text; None is no document (NULL).

    With a ``noun`` it is read completed: this is the one place where what an older release stored meets the defaults of today.
    Without one it is read as it was stored.
    """

    impl = Text
    cache_ok = True

    def __init__(self, noun: str | None = None) -> None:
        super().__init__()
        self.noun = noun

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """The text that is stored."""
        del dialect
        return None if value is None else documents.text_of(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """The value that comes back."""
        del dialect
        if value is None:
            return None
        stored = documents.decode(value)
        return stored if self.noun is None else documents.complete(self.noun, stored)


class Packed(TypeDecorator[Any]):
    """A JSON value, stored as its canonical text in few bytes; None is no document (NULL).

    A noun completes it as it does a Document, or, of ``many``, each document of a list. ``like`` is a text such as those that
    are stored: rows can be read with the very one alone that they were written with.
    """

    impl = LargeBinary
    cache_ok = True

    def __init__(self, noun: str | None = None, *, many: bool = False, like: str = "") -> None:
        super().__init__()
        self.noun, self.many, self.like = noun, many, like

    def process_bind_param(self, value: Any, dialect: Dialect) -> bytes | None:
        """The bytes that are stored."""
        del dialect
        return None if value is None else packing.pack(documents.text_of(value).encode(), self.like.encode())

    def process_result_value(self, value: bytes | None, dialect: Dialect) -> Any:
        """The value that comes back."""
        del dialect
        if value is None:
            return None
        stored = documents.decode(packing.unpack(value, self.like.encode()).decode())
        if self.noun is None:
            return stored
        return [documents.complete(self.noun, each) for each in stored] if self.many else documents.complete(self.noun, stored)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC: text with microseconds on SQLite, which sorts by time, and timestamptz on PostgreSQL."""

    impl = String(32)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The database's own type."""
        return dialect.type_descriptor(DateTime(timezone=True) if dialect.name == "postgresql" else String(32))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """The moment as stored; raises NaiveMoment for one without a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise NaiveMoment(f"{value!r} has no time zone")
        moment = value.astimezone(UTC)
        return moment if dialect.name == "postgresql" else moment.isoformat(timespec="microseconds")

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """The moment in UTC."""
        del dialect
        if value is None:
            return None
        return value.astimezone(UTC) if isinstance(value, datetime) else datetime.fromisoformat(value)


class Exact(TypeDecorator[Decimal]):
    """A decimal number with every digit as given: text on SQLite, NUMERIC on PostgreSQL."""

    impl = String(64)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The database's own type."""
        return dialect.type_descriptor(Numeric() if dialect.name == "postgresql" else String(64))

    def process_bind_param(self, value: Decimal | int | None, dialect: Dialect) -> Any:
        """The number as stored."""
        if value is None:
            return None
        return Decimal(value) if dialect.name == "postgresql" else format(Decimal(value), "f")

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        """The number as given."""
        del dialect
        return None if value is None else Decimal(value)

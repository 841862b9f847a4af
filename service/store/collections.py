"""The plain collections: stations, equipment, ingredients, menu items and sites, each a document under a code.

Responsible for reading and writing them. Refuses to know what a document means and who may
change it.
"""

from collections.abc import Collection, Mapping

from sqlalchemy import Table, Text, bindparam, delete, select, type_coerce
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.errors import InUse
from service.store import tables
from service.store.documents import Document
from service.store.upserts import upsert

TABLES: dict[str, Table] = {
    "stations": tables.stations,
    "equipment": tables.equipment,
    "ingredients": tables.ingredients,
    "menu_items": tables.menu_items,
    "sites": tables.sites,
}

# Made once: most requests name a site, and making the question takes longer than the answer.
FOUND = {noun: select(table.c.code).where(table.c.code == bindparam("code")) for noun, table in TABLES.items()}


def exists(session: Session, noun: str, code: str) -> bool:
    """Whether there is a document of a code."""
    return session.execute(FOUND[noun], {"code": code}).first() is not None


def read(session: Session, noun: str, code: str) -> Document | None:
    """The document of a code, or None."""
    table = TABLES[noun]
    return session.execute(select(table.c.document).where(table.c.code == code)).scalar_one_or_none()


def read_all(session: Session, noun: str) -> dict[str, Document]:
    """Every document of a collection, ordered by code."""
    table = TABLES[noun]
    return dict(session.execute(select(table.c.code, table.c.document).order_by(table.c.code)).all())


def texts(session: Session, noun: str) -> dict[str, str]:
    """Every document of a collection as its text, for whoever compares more than reads."""
    table = TABLES[noun]
    return dict(session.execute(select(table.c.code, type_coerce(table.c.document, Text))).all())


def page(session: Session, noun: str, after: str | None, limit: int, among: Collection[str] | None = None) -> list[tuple[str, Document]]:
    """Up to ``limit`` codes and documents behind the code ``after``, ordered by code; only ``among`` some codes (None: all)."""
    table = TABLES[noun]
    wanted = select(table.c.code, table.c.document).order_by(table.c.code).limit(limit)
    if after is not None:
        wanted = wanted.where(table.c.code > after)
    if among is not None:
        wanted = wanted.where(table.c.code.in_(sorted(among)))
    return [(code, document) for code, document in session.execute(wanted)]


def save(session: Session, noun: str, code: str, document: Document) -> None:
    """Create or replace the document of a code."""
    save_many(session, noun, {code: document})


def save_many(session: Session, noun: str, documents: Mapping[str, Document]) -> None:
    """Create or replace documents, by code, in one statement."""
    upsert(session, TABLES[noun], [{"code": code, "document": document} for code, document in documents.items()])


def remove(session: Session, noun: str, code: str) -> None:
    """Remove the document of a code; raises InUse where forecasts, overrides, counts or capacity still belong to it."""
    table = TABLES[noun]
    try:
        session.execute(delete(table).where(table.c.code == code))
    except IntegrityError as error:
        raise InUse(f"{code} still has forecasts, overrides, counts or capacity of a date") from error

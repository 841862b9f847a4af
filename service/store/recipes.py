"""Recipes: drafts, versions and withdrawals.

Responsible for versions that are only ever added. Refuses to know which of them is in force.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Text, delete, insert, select, type_coerce
from sqlalchemy.orm import Session

from service.store.documents import Document
from service.store.tables import recipe_versions, recipe_withdrawals, recipes
from service.store.upserts import upsert


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionRow:
    """One published version: from when and where it counts (``sites`` None: everywhere), and until when, if withdrawn."""

    recipe: str
    number: int
    starts_on: date
    sites: tuple[str, ...] | None
    note: str
    document: Document
    warnings: list[Document]
    published_at: datetime
    published_by: str | None
    withdrawn_from: date | None = None


def codes(session: Session) -> Collection[str]:
    """The code of every recipe, of those that have no draft, too."""
    return session.scalars(select(recipes.c.code)).all()


def draft_texts(session: Session) -> dict[str, str | None]:
    """The draft of every recipe as its text; None where only versions are left."""
    return dict(session.execute(select(recipes.c.code, type_coerce(recipes.c.draft, Text))).all())


def version_texts(session: Session) -> dict[tuple[str, int], str]:
    """The document of every version as its text, by recipe and number."""
    wanted = select(recipe_versions.c.recipe, recipe_versions.c.number, type_coerce(recipe_versions.c.document, Text))
    return {(recipe, number): text for recipe, number, text in session.execute(wanted)}


def read_draft(session: Session, code: str) -> Document | None:
    """The draft of a recipe, or None."""
    return session.execute(select(recipes.c.draft).where(recipes.c.code == code)).scalar_one_or_none()


def exists(session: Session, code: str) -> bool:
    """True of a recipe that has a draft or versions."""
    return session.execute(select(recipes.c.code).where(recipes.c.code == code)).first() is not None


def page(session: Session, after: str | None, limit: int) -> list[tuple[str, Document | None]]:
    """Up to ``limit`` recipes behind the code ``after``: code and draft, ordered by code."""
    wanted = select(recipes.c.code, recipes.c.draft).order_by(recipes.c.code).limit(limit)
    if after is not None:
        wanted = wanted.where(recipes.c.code > after)
    return [(code, draft) for code, draft in session.execute(wanted)]


def save_draft(session: Session, code: str, document: Document) -> None:
    """Create or replace the draft of a recipe."""
    save_drafts(session, {code: document})


def save_drafts(session: Session, documents: Mapping[str, Document]) -> None:
    """Create or replace the drafts of recipes, by code, in one statement."""
    upsert(session, recipes, [{"code": code, "draft": document} for code, document in documents.items()])


def remove_draft(session: Session, code: str) -> None:
    """Remove the draft of a recipe, and the recipe itself where no version was ever published."""
    published = select(recipe_versions.c.number).where(recipe_versions.c.recipe == code).limit(1)
    if session.execute(published).first() is None:
        session.execute(delete(recipes).where(recipes.c.code == code))
    else:
        upsert(session, recipes, [{"code": code, "draft": None}])


def versions(session: Session, code: str | None = None) -> list[VersionRow]:
    """The versions of one recipe or of all, ordered by recipe and number."""
    withdrawn = (recipe_withdrawals.c.recipe == recipe_versions.c.recipe) & (recipe_withdrawals.c.number == recipe_versions.c.number)
    wanted = (
        select(recipe_versions, recipe_withdrawals.c.starts_on.label("withdrawn_from"))
        .outerjoin(recipe_withdrawals, withdrawn)
        .order_by(recipe_versions.c.recipe, recipe_versions.c.number)
    )
    if code is not None:
        wanted = wanted.where(recipe_versions.c.recipe == code)
    rows = (dict(row) for row in session.execute(wanted).mappings())
    return [VersionRow(**row | {"sites": None if row["sites"] is None else tuple(row["sites"])}) for row in rows]


def add_version(session: Session, row: VersionRow) -> None:
    """Add a version; its recipe exists, its number is new."""
    add_versions(session, [row])


def add_versions(session: Session, rows: Sequence[VersionRow]) -> None:
    """Add versions in one statement; their recipes exist, their numbers are new."""
    if rows:
        session.execute(
            insert(recipe_versions),
            [
                {
                    "recipe": row.recipe,
                    "number": row.number,
                    "starts_on": row.starts_on,
                    "sites": None if row.sites is None else list(row.sites),
                    "note": row.note,
                    "document": row.document,
                    "warnings": row.warnings,
                    "published_at": row.published_at,
                    "published_by": row.published_by,
                }
                for row in rows
            ],
        )


def add_withdrawal(session: Session, recipe: str, number: int, starts_on: date, note: str, recorded_at: datetime) -> None:
    """Record that a version no longer counts from a date on; a later record about the same version replaces it."""
    values = {"recipe": recipe, "number": number, "starts_on": starts_on, "note": note, "recorded_at": recorded_at}
    upsert(session, recipe_withdrawals, [values])

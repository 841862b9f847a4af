"""Overrides: a site's own word on the count of a menu item in a period.

Responsible for the rows. Refuses to know what an override does to a forecast.
"""

from datetime import date
from typing import NamedTuple

from sqlalchemy import delete, select, tuple_
from sqlalchemy.orm import Session

from service.store import portions
from service.store.documents import Document
from service.store.tables import overrides
from service.store.upserts import upsert


class OverrideKey(NamedTuple):
    """What an override is for; ``event`` is empty for the count without event."""

    site: str
    date: date
    period: str
    menu_item: str
    event: str = ""


def read(session: Session, key: OverrideKey) -> Document | None:
    """The override of a key, or None."""
    wanted = select(overrides.c.document).where(*(overrides.c[name] == value for name, value in key._asdict().items()))
    return session.execute(wanted).scalar_one_or_none()


def of_site(session: Session, site: str, first: date, last: date | None = None) -> dict[OverrideKey, Document]:
    """Every override of one site from one date to another (without ``last``: to the end), ordered by key."""
    wanted = select(overrides).where(overrides.c.site == site, overrides.c.date >= first).order_by(*overrides.primary_key)
    if last is not None:
        wanted = wanted.where(overrides.c.date <= last)
    return {OverrideKey(row.site, row.date, row.period, row.menu_item, row.event): row.document for row in session.execute(wanted)}


def page(session: Session, site: str, first: date, last: date, after: OverrideKey | None, limit: int) -> list[tuple[OverrideKey, Document]]:
    """Up to ``limit`` overrides of one site from one date to another, behind a key."""
    columns = [overrides.c[name] for name in ("date", "period", "menu_item", "event")]
    wanted = select(overrides).where(overrides.c.site == site, overrides.c.date.between(first, last)).order_by(*columns).limit(limit)
    if after is not None:
        wanted = wanted.where(tuple_(*columns) > tuple_(*after[1:]))
    rows = session.execute(wanted)
    return [(OverrideKey(row.site, row.date, row.period, row.menu_item, row.event), row.document) for row in rows]


def save(session: Session, key: OverrideKey, document: Document) -> None:
    """Create or replace an override."""
    upsert(session, overrides, [key._asdict() | {"document": document}])


def remove(session: Session, key: OverrideKey) -> None:
    """Remove an override."""
    session.execute(delete(overrides).where(*(overrides.c[name] == value for name, value in key._asdict().items())))


def forget(session: Session, site: str, before: date, limit: int) -> int:
    """Remove up to ``limit`` overrides of dates before one; returns how many."""
    return portions.remove(session, overrides, (overrides.c.site == site) & (overrides.c.date < before), limit)


def sites_naming(session: Session, menu_item: str) -> list[str]:
    """The sites with an override of this menu item, ordered by code."""
    wanted = select(overrides.c.site).where(overrides.c.menu_item == menu_item)
    return list(session.execute(wanted.distinct().order_by(overrides.c.site)).scalars())

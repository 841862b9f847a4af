"""Capacity: what is different at a site on one date.

Responsible for the rows. Refuses to know what holds on a date.
"""

from datetime import date

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from service.store import portions
from service.store.documents import Document
from service.store.tables import capacity
from service.store.upserts import upsert


def read(session: Session, site: str, on: date) -> Document | None:
    """What is different at a site on a date, or None."""
    wanted = select(capacity.c.document).where(capacity.c.site == site, capacity.c.date == on)
    return session.execute(wanted).scalar_one_or_none()


def of_site(session: Session, site: str, first: date, last: date) -> dict[date, Document]:
    """What is different at a site on the dates from one to another, both included, by date."""
    wanted = select(capacity.c.date, capacity.c.document).where(capacity.c.site == site, capacity.c.date.between(first, last))
    return dict(session.execute(wanted.order_by(capacity.c.date)).all())


def save(session: Session, site: str, on: date, document: Document) -> None:
    """Create or replace what is different at a site on a date."""
    upsert(session, capacity, [{"site": site, "date": on, "document": document}])


def remove(session: Session, site: str, on: date) -> None:
    """Let a date of a site be as usual."""
    session.execute(delete(capacity).where(capacity.c.site == site, capacity.c.date == on))


def forget(session: Session, site: str, before: date, limit: int) -> int:
    """Remove up to ``limit`` rows of dates before one; returns how many."""
    return portions.remove(session, capacity, (capacity.c.site == site) & (capacity.c.date < before), limit)

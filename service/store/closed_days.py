"""Closed days: what business dates that are over left behind at each site.

Responsible for the rows, which anything can make anew. Refuses to know how a date is closed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import delete, extract, select, update
from sqlalchemy.orm import Session

from service.store.documents import Document
from service.store.tables import closed_days
from service.store.upserts import upsert

# Of older days four a month are kept, at last one: enough to begin from, should a report reach back that far.
DAILY, WEEKLY = timedelta(days=3), timedelta(days=62)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedRow:
    """One date of a site, the moment at which it ended, and what it left."""

    date: date
    ended_at: datetime
    final: bool = False
    document: Document


def newest(session: Session, site: str, before: date) -> ClosedRow | None:
    """The last closed day before a date, else the final one, or None."""
    days = closed_days.c
    wanted = select(days.date, days.ended_at, days.final, days.content.label("document"))
    wanted = wanted.where(days.site == site, (days.date < before) | days.final)
    row = session.execute(wanted.order_by(days.date.desc()).limit(1)).mappings().one_or_none()
    return None if row is None else ClosedRow(**row)


def save(session: Session, site: str, rows: Sequence[ClosedRow]) -> None:
    """Keep closed days, and let go of old ones."""
    upsert(session, closed_days, [{"site": site, "date": row.date, "ended_at": row.ended_at, "content": row.document} for row in rows])
    days, day, last = closed_days.c, extract("day", closed_days.c.date), rows[-1].date
    old = (days.date < last - DAILY) & day.not_in((1, 8, 15, 22)) | (days.date < last - WEEKLY) & (day != 1)
    session.execute(delete(closed_days).where(days.site == site, ~days.final, old))


def drop(session: Session, site: str, since: date) -> None:
    """Open a date and every later one again, but for the final one."""
    session.execute(delete(closed_days).where(closed_days.c.site == site, closed_days.c.date >= since, ~closed_days.c.final))


def make_final(session: Session, site: str, on: date) -> None:
    """Let a closed day be the one that every later plan can begin with; what was closed before it goes, and it is never opened again."""
    days = closed_days.c
    session.execute(update(closed_days).where(days.site == site, days.date == on).values(final=True))
    session.execute(delete(closed_days).where(days.site == site, days.date < on))

"""Prints: lists as a kitchen printed them, and the work that each of them showed.

Responsible for rows that never change. Refuses to know what a list says and what follows from a print.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from service.store.documents import Document
from service.store.tables import printed_work, prints


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintRow:
    """One print of a date's list, numbered from 1."""

    site: str
    date: date
    number: int
    printed_at: datetime
    printed_by: str | None
    revision: int = 0
    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRow:
    """A run, pull or use as a print showed it; ``work`` is its id without a stage."""

    date: date
    number: int
    work: str
    kind: str
    printed_at: datetime
    document: Document


def add(session: Session, row: PrintRow, work: Sequence[tuple[str, str, Document]]) -> None:
    """Add a print with the work that it shows: id, kind and frozen document of each."""
    session.execute(insert(prints).values({name: getattr(row, name) for name in PrintRow.__dataclass_fields__}))
    key = {"site": row.site, "date": row.date, "number": row.number, "printed_at": row.printed_at}
    rows = [{**key, "work": id_, "kind": kind, "document": document} for id_, kind, document in work]
    if rows:
        session.execute(insert(printed_work), rows)


def read(session: Session, site: str, on: date, number: int) -> PrintRow | None:
    """One print, or None."""
    wanted = select(prints).where(prints.c.site == site, prints.c.date == on, prints.c.number == number)
    row = session.execute(wanted).mappings().one_or_none()
    return None if row is None else PrintRow(**row)


def newest_number(session: Session, site: str, on: date) -> int:
    """The number of a date's newest print; 0 where there is none."""
    wanted = select(func.max(prints.c.number)).where(prints.c.site == site, prints.c.date == on)
    return session.execute(wanted).scalar_one() or 0


def page(session: Session, site: str, on: date, after: int, limit: int) -> list[PrintRow]:
    """Up to ``limit`` prints of a date after a number."""
    wanted = select(prints).where(prints.c.site == site, prints.c.date == on, prints.c.number > after).order_by(prints.c.number)
    return [PrintRow(**row) for row in session.execute(wanted.limit(limit)).mappings()]


def newest_work(session: Session, site: str, first: date, before: date) -> list[WorkRow]:
    """The work of the newest print of each date of a range (``before`` excluded), by date and id."""
    newest = (
        select(prints.c.date, func.max(prints.c.number).label("number"))
        .where(prints.c.site == site, prints.c.date >= first, prints.c.date < before)
        .group_by(prints.c.date)
        .subquery()
    )
    work = printed_work.c
    wanted = (
        select(work.date, work.number, work.work, work.kind, work.printed_at, work.document)
        .join(newest, (work.date == newest.c.date) & (work.number == newest.c.number))
        .where(work.site == site)
        .order_by(work.date, work.work)
    )
    return [WorkRow(**row) for row in session.execute(wanted).mappings()]


def printed_last(session: Session, site: str, work: str) -> Document | None:
    """A run, pull or use as on the newest print of any date that shows it."""
    columns = printed_work.c
    wanted = select(columns.document).where(columns.site == site, columns.work == work)
    wanted = wanted.order_by(columns.printed_at.desc(), columns.date.desc(), columns.number.desc()).limit(1)
    return session.execute(wanted).scalar_one_or_none()


def of_date(session: Session, site: str, on: date, work: str) -> list[Document]:
    """A run, pull or use as on each print of a date that shows it, by number."""
    columns = printed_work.c
    wanted = select(columns.document).where(columns.site == site, columns.date == on, columns.work == work).order_by(columns.number)
    return list(session.execute(wanted).scalars())

"""Progress: what kitchens reported of tasks and pulls, and the work that their reports fixed.

Responsible for the rows. Refuses to know what a report means for a plan.
"""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from service.store.documents import Document
from service.store.tables import fixed_work, progress
from service.store.upserts import upsert


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportRow:
    """The newest report of a task, and the date of the list on which it was made."""

    date: date
    task: str
    document: Document


def save(session: Session, site: str, on: date, task: str, document: Document) -> None:
    """Record the report of a task; it replaces any other, on whichever list that was made."""
    others = (progress.c.site == site) & (progress.c.task == task) & (progress.c.date != on)
    session.execute(delete(progress).where(others))
    upsert(session, progress, [{"site": site, "date": on, "task": task, "document": document}])


def read(session: Session, site: str, task: str) -> ReportRow | None:
    """The report of a task, or None."""
    wanted = select(progress.c.date, progress.c.task, progress.c.document).where(progress.c.site == site, progress.c.task == task)
    row = session.execute(wanted).mappings().one_or_none()
    return None if row is None else ReportRow(**row)


def of_stages(session: Session, site: str, work: str) -> list[ReportRow]:
    """The reports of all stages of a run, by task."""
    wanted = select(progress.c.date, progress.c.task, progress.c.document)
    wanted = wanted.where(progress.c.site == site, progress.c.task.startswith(f"{work}.", autoescape=True))
    return [ReportRow(**row) for row in session.execute(wanted.order_by(progress.c.task)).mappings()]


def since(session: Session, site: str, first: date) -> list[ReportRow]:
    """Every report on lists of a date and later, by date and task."""
    wanted = select(progress.c.date, progress.c.task, progress.c.document).where(progress.c.site == site, progress.c.date >= first)
    return [ReportRow(**row) for row in session.execute(wanted.order_by(progress.c.date, progress.c.task)).mappings()]


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedRow:
    """A run, pull or use as a report fixed it: for the list of which date, and until when what it made may be used."""

    work: str
    kind: str
    until: date
    date: date
    document: Document


def fix(session: Session, site: str, row: FixedRow) -> None:
    """Keep a run, pull or use as it stood when it was first reported."""
    upsert(session, fixed_work, [{"site": site, **{name: getattr(row, name) for name in FixedRow.__dataclass_fields__}}])


def fixed(session: Session, site: str, work: str) -> Document | None:
    """A run, pull or use as a report fixed it, or None."""
    wanted = select(fixed_work.c.document).where(fixed_work.c.site == site, fixed_work.c.work == work)
    return session.execute(wanted).scalar_one_or_none()


def fixed_since(session: Session, site: str, first: date, usable: date) -> list[FixedRow]:
    """All work fixed for lists of a date and later, and older work of which something may be used on ``usable``, by id."""
    found = fixed_work.c
    wanted = select(found.work, found.kind, found.date, found.until, found.document)
    wanted = wanted.where(found.site == site, (found.date >= first) | (found.until >= usable)).order_by(found.work)
    return [FixedRow(**row) for row in session.execute(wanted).mappings()]

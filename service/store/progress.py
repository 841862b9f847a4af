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


def fix(session: Session, site: str, work: str, kind: str, on: date, document: Document) -> None:
    """Keep a run, pull or use as it stood when it was first reported."""
    upsert(session, fixed_work, [{"site": site, "work": work, "kind": kind, "date": on, "document": document}])


def fixed(session: Session, site: str, work: str) -> Document | None:
    """A run, pull or use as a report fixed it, or None."""
    wanted = select(fixed_work.c.document).where(fixed_work.c.site == site, fixed_work.c.work == work)
    return session.execute(wanted).scalar_one_or_none()


def fixed_since(session: Session, site: str, first: date) -> dict[str, tuple[str, Document]]:
    """Kind and document of all work fixed for lists of a date and later, by id."""
    wanted = select(fixed_work.c.work, fixed_work.c.kind, fixed_work.c.document)
    wanted = wanted.where(fixed_work.c.site == site, fixed_work.c.date >= first).order_by(fixed_work.c.work)
    return {work: (kind, document) for work, kind, document in session.execute(wanted)}

"""Reports: what kitchens said of tasks and pulls, and the work that their reports fixed.

Responsible for the rows. Refuses to know what a report means for a plan.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import Select, func, insert, or_, select
from sqlalchemy.orm import Session

from service.store.documents import Document
from service.store.tables import printed_work, reported_work, reports
from service.store.upserts import upsert


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportRow:
    """One report of a task, numbered from 1, on the list of a date; ``work`` is the task's id without its stage."""

    task: str
    number: int
    work: str
    date: date
    recorded_at: datetime
    revision: int = 0
    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedRow:
    """A run or pull as a report fixed it; ``since`` is the first date on which anything of it can count."""

    work: str
    kind: str
    since: date
    document: Document


class Known(NamedTuple):
    """How many reports there are of a run, pull or use, and how many prints that show it; neither is ever changed."""

    reports: int
    prints: int


COLUMNS = tuple(reports.c[name] for name in ReportRow.__dataclass_fields__)


def add(session: Session, site: str, row: ReportRow) -> None:
    """Add a report; the last one of its task holds."""
    session.execute(insert(reports).values(site=site, **{name: getattr(row, name) for name in ReportRow.__dataclass_fields__}))


def last(session: Session, site: str, task: str) -> ReportRow | None:
    """The report of a task that holds, or None."""
    wanted = select(*COLUMNS).where(reports.c.site == site, reports.c.task == task).order_by(reports.c.number.desc()).limit(1)
    return next(iter(_rows(session, wanted)), None)


def of_work(session: Session, site: str, *works: str) -> list[ReportRow]:
    """Every report of some runs, pulls and uses, by task and number."""
    if not works:
        return []
    wanted = select(*COLUMNS).where(reports.c.site == site, reports.c.work.in_(sorted(works)))
    return _rows(session, wanted.order_by(reports.c.task, reports.c.number))


def known_of(session: Session, site: str, work: str) -> Known:
    """How much is known of a run, pull or use: more, once it is reported or printed again."""
    columns = [
        select(func.count()).select_from(table).where(table.c.site == site, table.c.work == work).scalar_subquery()
        for table in (reports, printed_work)
    ]
    return Known(*session.execute(select(*columns)).one())


def said_after(session: Session, site: str, revision: int, printed_at: datetime) -> list[ReportRow]:
    """Every report made since a print with a revision of the site; of the first release's, which have none, the hour tells."""
    later = reports.c.revision > revision
    if revision == 0:
        later = or_(later, (reports.c.revision == 0) & (reports.c.recorded_at >= printed_at))
    return _rows(session, select(*COLUMNS).where(reports.c.site == site, later))


def since(session: Session, site: str, after: date, works: Collection[str]) -> list[ReportRow]:
    """Every report on lists of dates after one, and of some runs and pulls on whatever list, by task and number."""
    wanted = or_(reports.c.date > after, reports.c.work.in_(sorted(works))) if works else reports.c.date > after
    return _rows(session, select(*COLUMNS).where(reports.c.site == site, wanted).order_by(reports.c.task, reports.c.number))


def fix(session: Session, site: str, row: FixedRow) -> None:
    """Keep a run or pull as it stood when it was first reported."""
    upsert(session, reported_work, [{"site": site, **{name: getattr(row, name) for name in FixedRow.__dataclass_fields__}}])


def fixed(session: Session, site: str, works: Collection[str]) -> list[FixedRow]:
    """Some runs and pulls as reports fixed them, by id."""
    return _fixed(session, _select_fixed(site).where(reported_work.c.work.in_(sorted(works))))


def fixed_since(session: Session, site: str, after: date) -> list[FixedRow]:
    """The work of which nothing counted on a date or before, by id."""
    return _fixed(session, _select_fixed(site).where(reported_work.c.since > after))


def _select_fixed(site: str) -> Select[str, str, date, Document]:
    rows = reported_work.c
    return select(rows.work, rows.kind, rows.since, rows.document).where(rows.site == site).order_by(rows.work)


def _fixed(session: Session, wanted: Select[str, str, date, Document]) -> list[FixedRow]:
    return [FixedRow(**row) for row in session.execute(wanted).mappings()]


def _rows(session: Session, wanted: Select[*tuple[object, ...]]) -> list[ReportRow]:
    return [ReportRow(**row) for row in session.execute(wanted).mappings()]

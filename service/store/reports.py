"""Reports: what kitchens said of tasks and pulls, and the work that their reports fixed.

Responsible for the rows, one for each run, pull and use with all that was said of it. Refuses to know what a report means
for a plan.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Row, bindparam, func, literal, select
from sqlalchemy.orm import Session

from service.store.documents import Document
from service.store.portions import remove
from service.store.prints import PrintKey, works_of
from service.store.revisions import CATALOGUE
from service.store.tables import closed_days, prints, revisions, work_reports
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
    """A run or pull as a report fixed it; ``since`` is the first date on which anything of it can count.

    Where it stands as a print showed it, ``printed`` names that print.
    """

    work: str
    kind: str
    since: date
    printed: PrintKey | None = None
    document: Document


class Known(NamedTuple):
    """What a report of a run, pull or use goes by, but for the work itself.

    The revision of the catalogue, how many reports there are of the work, how many prints of its site, the revision of the newest
    of these, and the last date of the site that is closed.
    """

    catalogue: int
    reports: int
    prints: int
    printed: int
    closed: date | None

    def holds(self, before: "Known") -> bool:
        """Whether what went by this before goes by it still: closed days are made anew from reports, and not the other way."""
        return self._replace(closed=None) == before._replace(closed=None)


class About(NamedTuple):
    """What a report of a run, pull or use goes by, and what is stored of that; None where nothing was said of it yet."""

    known: Known
    stored: Row[*tuple[Any, ...]] | None

    def said(self) -> list[ReportRow]:
        """Every report of it, by task and number."""
        return [] if self.stored is None else _in_order(_read(self.stored.work, self.stored.said))

    def fixed(self, session: Session, site: str) -> FixedRow | None:
        """It as reports fixed it, if they did."""
        return None if self.stored is None or self.stored.since is None else _thaw(session, site, [self.stored])[0]


FIXED = tuple(work_reports.c[name] for name in ("work", "kind", "since", "printed_for", "print_number", "fixed"))
KNOWN = (
    select(func.coalesce(func.max(revisions.c.number), 0)).where(revisions.c.scope == CATALOGUE),
    select(func.count()).select_from(prints).where(prints.c.site == bindparam("site")),
    select(func.coalesce(func.max(prints.c.revision), 0)).where(prints.c.site == bindparam("site")),
    select(func.max(closed_days.c.date)).where(closed_days.c.site == bindparam("site")),
)
OF_WORK = (work_reports.c.site == bindparam("site")) & (work_reports.c.work == bindparam("work"))
# One row, whether or not anything was said. Made once, and one statement: whoever writes asks it while others wait.
ABOUT = select(*(each.scalar_subquery() for each in KNOWN), *FIXED, work_reports.c.said, work_reports.c.until).select_from(
    select(literal(1).label("one")).subquery().outerjoin(work_reports, OF_WORK)
)


def about(session: Session, site: str, work: str) -> About:
    """What there is to know of a run, pull or use: no longer the same once it is reported, or any list of its site is printed, again."""
    row = session.execute(ABOUT, {"site": site, "work": work}).one()
    catalogue, number, printed, closed, *_ = row
    stored = None if row.work is None else row
    said = 0 if stored is None else len(stored.said)
    return About(Known(catalogue=catalogue, reports=said, prints=number, printed=printed, closed=closed), stored)


def add(session: Session, site: str, row: ReportRow, before: About, fixed: FixedRow | None = None) -> None:
    """Add a report to what there is of its work ``before`` it, the last one of its task holds.

    The run or pull is kept as it stood when it was reported, if that fixes it.
    """
    stored = before.stored
    dates = [row.date, *((stored.until,) if stored else ()), *((fixed.since,) if fixed else ())]
    values = {"site": site, "work": row.work, "until": max(dates), "said": [*(stored.said if stored else ()), _write(row)]}
    if fixed is not None:
        values |= _fixing(fixed)
    upsert(session, work_reports, [values])


def last(session: Session, site: str, task: str, work: str) -> ReportRow | None:
    """The report of a task of some work that holds, or None."""
    return next((row for row in reversed(of_work(session, site, work)) if row.task == task), None)


def of_work(session: Session, site: str, *works: str) -> list[ReportRow]:
    """Every report of some runs, pulls and uses, by task and number."""
    return _said(session, site, work_reports.c.work.in_(sorted(works))) if works else []


def said_after(session: Session, site: str, on: date, revision: int, printed_at: datetime) -> list[ReportRow]:
    """Every report on lists of a date and later that was made since a print with a revision of the site.

    Of the first release's, which have none, the hour tells.
    """
    rows = (row for row in _said(session, site, work_reports.c.until >= on) if row.date >= on)
    return [row for row in rows if row.revision > revision or (row.revision == revision == 0 and row.recorded_at >= printed_at)]


def since(session: Session, site: str, after: date, works: Collection[str]) -> list[ReportRow]:
    """Every report on lists of dates after one, and of some runs and pulls on whatever list, by task and number."""
    wanted = work_reports.c.until > after
    rows = _said(session, site, wanted | work_reports.c.work.in_(sorted(works)) if works else wanted)
    return [row for row in rows if row.date > after or row.work in works]


def fixed(session: Session, site: str, works: Collection[str]) -> list[FixedRow]:
    """Some runs and pulls as reports fixed them, by id."""
    return _fixed(session, site, work_reports.c.work.in_(sorted(works)))


def fixed_since(session: Session, site: str, after: date) -> list[FixedRow]:
    """The work of which nothing counted on a date or before, by id."""
    return _fixed(session, site, (work_reports.c.until > after) & (work_reports.c.since > after))


def forget(session: Session, site: str, before: date, keep: Collection[str], limit: int) -> int:
    """Remove up to ``limit`` runs, pulls and uses with all that was said of them, of dates before one alone; returns how many.

    Those to ``keep`` stay.
    """
    columns = work_reports.c
    return remove(session, work_reports, (columns.site == site) & (columns.until < before) & columns.work.not_in(sorted(keep)), limit)


def _fixing(fixed: FixedRow) -> dict[str, Any]:
    """What is stored of fixed work: where a print has it, that print's key alone."""
    printed_for, number = fixed.printed or (None, None)
    document = None if fixed.printed else fixed.document
    return {"kind": fixed.kind, "since": fixed.since, "printed_for": printed_for, "print_number": number, "fixed": document}


def _fixed(session: Session, site: str, which: ColumnElement[bool]) -> list[FixedRow]:
    columns = work_reports.c
    wanted = select(*FIXED).where(columns.site == site, columns.since.is_not(None), which).order_by(columns.work)
    return _thaw(session, site, session.execute(wanted).all())


def _thaw(session: Session, site: str, rows: Sequence[Row[*tuple[Any, ...]]]) -> list[FixedRow]:
    keys = {row.work: PrintKey(row.printed_for, row.print_number) for row in rows if row.fixed is None}
    printed = works_of(session, site, keys)
    return [
        FixedRow(
            work=row.work,
            kind=row.kind,
            since=row.since,
            printed=keys.get(row.work),
            document=printed[row.work].document["frozen"] if row.fixed is None else row.fixed,
        )
        for row in rows
    ]


def _said(session: Session, site: str, which: ColumnElement[bool]) -> list[ReportRow]:
    wanted = select(work_reports.c.work, work_reports.c.said).where(work_reports.c.site == site, which)
    return _in_order(row for work, said in session.execute(wanted) for row in _read(work, said))


def _in_order(rows: Iterable[ReportRow]) -> list[ReportRow]:
    return sorted(rows, key=lambda row: (row.task, row.number))


def _write(row: ReportRow) -> Document:
    """A report as it is stored with its work: beside what was said, the rest of the task's id and what else tells the row."""
    rest = row.task.removeprefix(row.work)
    return {**row.document, "row": [rest, row.number, row.date.isoformat(), row.recorded_at.isoformat(), row.revision]}


def _read(work: str, said: Iterable[Document]) -> Iterable[ReportRow]:
    for stored in said:
        rest, number, on, recorded_at, revision = stored["row"]
        yield ReportRow(
            task=f"{work}{rest}",
            number=number,
            work=work,
            date=date.fromisoformat(on),
            recorded_at=datetime.fromisoformat(recorded_at),
            revision=revision,
            document={name: value for name, value in stored.items() if name != "row"},
        )

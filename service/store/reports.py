"""Reports: what kitchens said of tasks and pulls, and the work that their reports fixed.

Responsible for what a row of the store says as a report, or as fixed work. Refuses to know what a report means for a plan, and
how the rows are kept.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import bindparam, func, literal, select
from sqlalchemy.orm import Session

from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.names import needed_on
from service.store import tables, work_reports
from service.store.documents import Document
from service.store.prints import PrintKey, works_of
from service.store.revisions import CATALOGUE
from service.store.tables import closed_days, prints, revisions
from service.store.work_reports import Told


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
    work: str
    told: Told | None

    def said(self) -> list[ReportRow]:
        """Every report of it, by task and number."""
        return [] if self.told is None else _said({self.work: self.told})

    def fixed(self, session: Session, site: str) -> FixedRow | None:
        """It as reports fixed it, if they did."""
        return None if self.told is None else next(iter(_fixed(session, site, {self.work: self.told})), None)


KNOWN = (
    select(func.coalesce(func.max(revisions.c.number), 0)).where(revisions.c.scope == CATALOGUE),
    select(func.count()).select_from(prints).where(prints.c.site == bindparam("site")),
    select(func.coalesce(func.max(prints.c.revision), 0)).where(prints.c.site == bindparam("site")),
    select(func.max(closed_days.c.date)).where(closed_days.c.site == bindparam("site")),
)
OWN, GATHERED = tables.work_reports, tables.gathered_reports
# One row, whether or not anything was said. Made once, and one statement: whoever writes asks it while others wait.
ABOUT = select(*(each.scalar_subquery() for each in KNOWN), *OWN.c, GATHERED.c.works, GATHERED.c.said.label("said_together")).select_from(
    select(literal(1).label("one"))
    .subquery()
    .outerjoin(OWN, (OWN.c.site == bindparam("site")) & (OWN.c.work == bindparam("work")))
    .outerjoin(GATHERED, (GATHERED.c.site == bindparam("site")) & (GATHERED.c.date == bindparam("needed")))
)


def about(session: Session, site: str, work: str) -> About:
    """What there is to know of a run, pull or use: no longer the same once it is reported, or any list of its site is printed, again."""
    row = session.execute(ABOUT, {"site": site, "work": work, "needed": needed_on(work)}).one()
    catalogue, number, printed, closed, *_ = row
    told = work_reports.read_own(row) if row.work else work_reports.read_gathered(row.works or {}, row.said_together or ()).get(work)
    said = 0 if told is None else len(told.said)
    return About(Known(catalogue=catalogue, reports=said, prints=number, printed=printed, closed=closed), work, told)


def add(session: Session, site: str, row: ReportRow, before: About, fixed: FixedRow | None = None) -> None:
    """Add a report to what there is of its work ``before`` it, the last one of its task holds.

    The run or pull is kept as it stood when it was reported, if that fixes it.
    """
    told = before.told or Told(row.date)
    told = told._replace(until=max(told.until, row.date), said=[*told.said, _write(row)])
    if fixed is not None:
        document = None if fixed.printed else fixed.document
        told = told._replace(until=max(told.until, fixed.since), kind=fixed.kind, since=fixed.since, printed=fixed.printed, fixed=document)
    work_reports.write(session, site, row.work, told)


def last(session: Session, site: str, task: str, work: str) -> ReportRow | None:
    """The report of a task of some work that holds, or None."""
    return next((row for row in reversed(of_work(session, site, work)) if row.task == task), None)


def of_work(session: Session, site: str, *works: str) -> list[ReportRow]:
    """Every report of some runs, pulls and uses, by task and number."""
    return _said(work_reports.read(session, site, works))


def said_after(session: Session, site: str, on: date, revision: int, printed_at: datetime) -> list[ReportRow]:
    """Every report on lists of a date and later that was made since a print with a revision of the site.

    Of the first release's, which have none, the hour tells.
    """
    rows = (row for row in _said(work_reports.read(session, site, (), on - ONE_DAY)) if row.date >= on)
    return [row for row in rows if row.revision > revision or (row.revision == revision == 0 and row.recorded_at >= printed_at)]


def since(session: Session, site: str, after: date, works: Collection[str]) -> list[ReportRow]:
    """Every report on lists of dates after one, and of some runs and pulls on whatever list, by task and number."""
    return [row for row in _said(work_reports.read(session, site, works, after)) if row.date > after or row.work in works]


def fixed(session: Session, site: str, works: Collection[str]) -> list[FixedRow]:
    """Some runs and pulls as reports fixed them, by id."""
    return _fixed(session, site, work_reports.read(session, site, works))


def fixed_since(session: Session, site: str, after: date) -> list[FixedRow]:
    """The work of which nothing counted on a date or before, by id."""
    found = work_reports.read(session, site, (), after)
    return _fixed(session, site, {work: told for work, told in found.items() if told.since and told.since > after})


def _fixed(session: Session, site: str, found: Mapping[str, Told]) -> list[FixedRow]:
    printed = works_of(session, site, {work: told.printed for work, told in found.items() if told.printed})
    return [
        FixedRow(
            work=work,
            kind=told.kind,
            since=told.since,
            printed=told.printed,
            document=printed[work].document["frozen"] if told.fixed is None else told.fixed,
        )
        for work, told in found.items()
        if told.kind and told.since
    ]


def _said(found: Mapping[str, Told]) -> list[ReportRow]:
    rows = (row for work, told in found.items() for row in _read(work, told.said))
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

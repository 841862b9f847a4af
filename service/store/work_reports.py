"""Work reports: all that was said of a run, pull or use, in few bytes.

Responsible for the rows: each work has its own, until its dates are over and the works of a date are gathered in one, which takes a
tenth of it. Where work has both, its own row is the newer one, and tells all. Refuses to know what a report says.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from itertools import islice
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Row, delete, null, select, union_all
from sqlalchemy.orm import Session

from service.kitchen.planning.names import needed_on
from service.store.documents import Document
from service.store.portions import remove
from service.store.prints import PrintKey
from service.store.tables import gathered_reports, work_reports
from service.store.upserts import upsert


class Told(NamedTuple):
    """All that is stored of a run, pull or use: the last date that anything of it is about, how it was fixed, and its reports.

    A run or pull that a report fixed stands as on a print, or, where no print has it so, as it is ``fixed`` here.
    """

    until: date
    kind: str | None = None
    since: date | None = None
    printed: PrintKey | None = None
    fixed: Document | None = None
    said: Sequence[Document] = ()


def read_own(row: Row[*tuple[Any, ...]]) -> Told:
    """What a work's own row tells."""
    printed = None if row.printed_for is None else PrintKey(row.printed_for, row.print_number)
    return Told(until=row.until, kind=row.kind, since=row.since, printed=printed, fixed=row.fixed, said=row.said)


def read_gathered(works: Mapping[str, Sequence[Any]], said: Sequence[Document]) -> dict[str, Told]:
    """What the row of a date tells, by the id of the work."""
    left, found = iter(said), dict[str, Told]()
    for work, (until, kind, since, printed, fixed, number) in works.items():
        found[work] = Told(
            until=date.fromisoformat(until),
            kind=kind,
            since=None if since is None else date.fromisoformat(since),
            printed=None if printed is None else PrintKey(date.fromisoformat(printed[0]), printed[1]),
            fixed=fixed,
            said=list(islice(left, number)),
        )
    return found


def read(session: Session, site: str, works: Collection[str], after: date | None = None) -> dict[str, Told]:
    """What is stored of some runs, pulls and uses, and of all that anything after a date is about, in order of their ids.

    It is one question in which each condition asks by itself: joined by "or", SQLite would look through all rows of the site.
    """
    rows, dates = work_reports.c, gathered_reports.c
    own, gathered = list[ColumnElement[bool]](), list[ColumnElement[bool]]()
    if works:
        own.append(rows.work.in_(sorted(works)))
        gathered.append(dates.date.in_(sorted({needed_on(work) for work in works})))
    if after is not None:
        own.append(rows.until > after)
        gathered.append(dates.until > after)
    if not own:
        return {}
    columns = [rows[name] for name in ("work", "until", "kind", "since", "printed_for", "print_number", "fixed", "said")]
    of_works = [select(*columns).where(rows.site == site, which) for which in own]
    of_dates = [
        select(null(), dates.until, null(), null(), null(), null(), dates.works, dates.said).where(dates.site == site, which)
        for which in gathered
    ]
    found = session.execute(union_all(*of_works, *of_dates)).all()
    together = {work: told for row in found if row.work is None for work, told in read_gathered(row.fixed, row.said).items()}
    known = together | {row.work: read_own(row) for row in found if row.work is not None}
    return {work: told for work, told in sorted(known.items()) if work in works or (after is not None and told.until > after)}


def write(session: Session, site: str, work: str, told: Told) -> None:
    """Keep what there is of one run, pull or use in place of what there was; none is gathered before the date of its need is over."""
    printed_for, number = told.printed or (None, None)
    values = {"site": site, "work": work, **told._asdict(), "until": max(told.until, needed_on(work))}
    del values["printed"]
    upsert(session, work_reports, [{**values, "printed_for": printed_for, "print_number": number}])


def gather(session: Session, site: str, on: date, limit: int) -> None:
    """Put up to ``limit`` works that nothing after a date is about into the rows of the dates of their need."""
    rows = work_reports.c
    wanted = select(work_reports).where(rows.site == site, rows.until <= on).order_by(rows.until).limit(limit)
    dates: dict[date, dict[str, Told]] = {}
    for row in session.execute(wanted):
        dates.setdefault(needed_on(row.work), {})[row.work] = read_own(row)
    for needed, works in dates.items():
        _keep(session, site, needed, {**_gathered(session, site, gathered_reports.c.date == needed), **works})
        session.execute(delete(work_reports).where(rows.site == site, rows.work.in_(sorted(works))))


def prints_behind(session: Session, site: str, before: date) -> set[PrintKey]:
    """The prints of dates before one that reported work stands on."""
    rows = work_reports.c
    wanted = select(rows.printed_for, rows.print_number).where(rows.site == site, rows.printed_for < before).distinct()
    gathered = _gathered(session, site, gathered_reports.c.printed_since < before).values()
    keys = {PrintKey(*key) for key in session.execute(wanted)} | {told.printed for told in gathered if told.printed}
    return {key for key in keys if key.date < before}


def forget(session: Session, site: str, before: date, keep: Collection[str], limit: int) -> int:
    """Remove ``limit`` works, and at most a date's more, that nothing from a date on is about, but those to ``keep``; returns how many."""
    rows, dates = work_reports.c, gathered_reports.c
    removed = remove(session, work_reports, (rows.site == site) & (rows.until < before) & rows.work.not_in(sorted(keep)), limit)
    for needed in session.scalars(select(dates.date).where(dates.site == site, dates.date < before)).all():
        if removed >= limit:
            break
        works = _gathered(session, site, dates.date == needed)
        kept = {work: told for work, told in works.items() if told.until >= before or work in keep}
        if len(kept) < len(works):
            _keep(session, site, needed, kept)
            removed += len(works) - len(kept)
    return removed


def _gathered(session: Session, site: str, which: ColumnElement[bool]) -> dict[str, Told]:
    """What the rows of some dates tell, by the id of the work."""
    rows = gathered_reports.c
    found = session.execute(select(rows.works, rows.said).where(rows.site == site, which))
    return {work: told for works, said in found for work, told in read_gathered(works, said).items()}


def _keep(session: Session, site: str, needed: date, works: Mapping[str, Told]) -> None:
    """Let the row of a date hold these works; without any there is none."""
    if not works:
        session.execute(delete(gathered_reports).where(gathered_reports.c.site == site, gathered_reports.c.date == needed))
        return
    values = {
        "site": site,
        "date": needed,
        "until": max(told.until for told in works.values()),
        "printed_since": min((told.printed.date for told in works.values() if told.printed), default=None),
        "works": {work: [*_dated(told), len(told.said)] for work, told in works.items()},
        "said": [said for told in works.values() for said in told.said],
    }
    upsert(session, gathered_reports, [values])


def _dated(told: Told) -> Sequence[Any]:
    """All but the reports, for JSON."""
    printed = None if told.printed is None else [told.printed.date.isoformat(), told.printed.number]
    return told.until.isoformat(), told.kind, None if told.since is None else told.since.isoformat(), printed, told.fixed

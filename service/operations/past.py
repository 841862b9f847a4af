"""The past of a site: what prints, reports, counts and guests of dates before a plan mean for it.

Responsible for domain P15 between the store and the kitchen: from which closed day on to read, which work is fixed and
which counts as done although nobody reported it, and what newly closed days are to be kept. Refuses to know HTTP.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.lists.kept import thaw_closed
from service.kitchen.lists.listed import late_works
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.counted import Counted, counted_lot
from service.kitchen.planning.demand import Need, foresee
from service.kitchen.planning.names import PULL, RUN
from service.kitchen.planning.past import Closed, Facts, Past
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import Fixed, Reported
from service.kitchen.planning.staffing import Staffing
from service.kitchen.planning.ways import ways_by_hours
from service.limits import LEAD_DAYS
from service.operations.forecasts import forecast_of, overrides_of
from service.operations.works import Works, read_report
from service.store import closed_days, counts, forecasts, prints, reports, revisions, work_reports
from service.store.closed_days import ClosedRow
from service.store.documents import Document
from service.store.reports import ReportRow

EVER = datetime.min.replace(tzinfo=UTC)
# Where a session keeps the days that were closed while it only read; ``keep_closed`` takes them from there.
PENDING = "closed days"
# Works gathered at a time, of a day more than a kitchen reports: others wait for their turn to write as long as that takes.
GATHERED = 1000


@dataclass(frozen=True, slots=True)
class Unsaid:
    """What a plan is to know nothing of: some reports, and what was counted since a revision of the items that they made or drew."""

    reports: tuple[ReportRow, ...] = ()
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class Pending:
    """Days of a site that were closed by a session that reads, and the revision of the site that they were made from."""

    site: str
    revision: int
    rows: tuple[ClosedRow, ...]

    def over(self, now: datetime) -> tuple[ClosedRow, ...]:
        """Those that have ended by a moment: a plan may begin in the future."""
        return tuple(row for row in self.rows if row.ended_at <= now)


def load_reported(
    session: Session, catalogue: Catalogue, site: Site, first: date, unsaid: Unsaid = Unsaid(), staffing: Staffing | None = None
) -> Reported:
    """What prints, reports, counts and past guests of a site mean for a plan from a date (P15).

    Reads the last closed day before the date and what was said since. Days that this closes wait in ``session.info`` for
    ``keep_closed``, unless something is left ``unsaid``.
    """
    reading = _Reading(session, catalogue, site, unsaid)
    start, known = reading.start(first)
    works = reading.works(start.on, first, known["unfinished"])
    counted = tuple(reading.counted(start.on, first))
    counted_today = any(each.counted_at >= site.calendar().start(first) for each in counted)
    asked = _asked(session, catalogue, site, start.on, first if counted_today else first - ONE_DAY)
    fixed = Fixed(tuple(works.runs()), tuple(works.pulls()), works.said, frozenset(known["finished"]))
    facts = Facts(
        fixed=fixed,
        counted=counted,
        guests=tuple(need for need in asked if need.outlet is not None),
        pars=tuple(need for need in asked if need.par is not None and need.on == first),
    )
    past = Past(catalogue, site, facts)
    closed = past.close(start, first)
    # Days closed as if some reports had not been made are nobody else's.
    if closed and not unsaid.reports:
        reach = ways_by_hours(catalogue, site, first, first - LEAD_DAYS * ONE_DAY, staffing).reach
        rows = tuple(works.closed_rows(closed, fixed, known["finished"], reach))
        revision = revisions.number(session, revisions.site(site.code))
        session.info.setdefault(PENDING, []).append(Pending(site.code, revision, rows))
    return past.take_in(closed[-1] if closed else start)


def with_words_of_late(session: Session, site: Site, planned: Plan, unsaid: Unsaid = Unsaid()) -> Plan:
    """A plan that also knows what was said on dates since closed of work that is late and asked for again: that it is open, say."""
    known, unread = planned.reported.said, {(row.task, row.number) for row in unsaid.reports}
    rows = reports.of_work(session, site.code, *late_works(planned, site))
    said = {row.task: read_report(row.document) for row in rows if (row.task, row.number) not in unread}
    return replace(planned, reported=replace(planned.reported, said={**said, **known})) if said else planned


def keep_closed(session: Session, pending: Iterable[Pending], now: datetime) -> None:
    """Keep closed days that are over by now, with a session that writes; not those of a site that has changed since.

    Nothing is lost by that: whoever reads next closes the same days again.
    """
    for each in pending:
        rows = each.over(now)
        if rows and revisions.number(session, revisions.site(each.site)) == each.revision:
            closed_days.save(session, each.site, rows)
            work_reports.gather(session, each.site, rows[-1].date, GATHERED)


def closed_while_reading(session: Session) -> list[Pending]:
    """The days that plans of this session have closed, once."""
    pending: list[Pending] = session.info.pop(PENDING, [])
    return pending


class _Reading:
    """One reading of a site's past."""

    def __init__(self, session: Session, catalogue: Catalogue, site: Site, unsaid: Unsaid) -> None:
        self.session, self.catalogue, self.site, self.unsaid = session, catalogue, site, unsaid
        self.calendar = site.calendar()
        self.unread = {(row.task, row.number) for row in unsaid.reports}
        works = {row.work for row in unsaid.reports}
        self.fixed = reports.fixed(session, site.code, works) if works else []
        self.touched = {item for row in self.fixed for item in _items_of(row.document)}

    def start(self, first: date) -> tuple[Closed, Document]:
        """The last closed day before a date that nothing unsaid has touched, and which work was finished then and which not.

        Where earlier ones were removed it is the first that was not; raises Invalid for a date that is not after that.
        """
        before = min([first, *(row.since for row in self.fixed), *(row.date for row in self.unsaid.reports)])
        if self.unsaid.revision is not None and self.touched:
            since = counts.lots_after(self.session, self.site.code, self.unsaid.revision)
            counted = [self.calendar.business_date(row.counted_at) for row in since if _counted(row).item in self.touched]
            before = min([before, *counted])
        row = closed_days.newest(self.session, self.site.code, before)
        # A site whose zone or beginning of the day was changed has had other days.
        if row is None or (row.ended_at != self.calendar.end(row.date) and not row.final):
            return Closed(on=date.min), {"unfinished": [], "finished": {}}
        if row.date >= first:
            detail = f"what was said of dates up to {row.date} was removed from the database: plan from a later date"
            raise Invalid([Fault("", "out_of_range", detail, "from")])
        return thaw_closed(row.document, row.date, self.catalogue), row.document

    def works(self, after: date, first: date, begun: Sequence[Document]) -> "Works":
        """All work that reports fixed and prints assume, but for what was finished by the end of the closed date ``after``."""
        works = Works(self.catalogue, self.calendar)
        fixed = reports.fixed_since(self.session, self.site.code, after)
        carried = {known["work"] for known in begun}
        ids = carried | {row.work for row in fixed}
        fixed += reports.fixed(self.session, self.site.code, carried) if carried else []
        said = [row for row in reports.since(self.session, self.site.code, after, ids) if (row.task, row.number) not in self.unread]
        # Reports come first: where something was said of a task, nothing is assumed of it.
        works.say(said)
        for known in begun:
            works.assumed_before(known)
        printed = prints.newest_work(self.session, self.site.code, after + ONE_DAY, first) if after + ONE_DAY < first else []
        for row in printed:
            if row.kind in (RUN, PULL):
                works.assume(row.work, row.kind, row.document, row.date)
        for each in fixed:
            if works.spoken_of(each.work):
                works.add(each.work, each.kind, each.document, each.since)
        return works

    def counted(self, after: date, first: date) -> Iterable[Counted]:
        """The lots of all counts since a closed date and before the end of ``first``, but for those that are unsaid."""
        start = EVER if after == date.min else self.calendar.end(after)
        known = self.unsaid.revision
        for row in counts.lots_between(self.session, self.site.code, start, self.calendar.end(first)):
            lot = _counted(row)
            if known is not None and row.revision > known and lot.item in self.touched:
                continue
            if self._readable(lot):
                yield lot

    def _readable(self, lot: Counted) -> bool:
        """Whether the catalogue can still say what was counted: of what was removed since, an old count says nothing."""
        if self.catalogue.conversions(lot.item) is None:
            return False
        try:
            counted_lot(self.catalogue, self.site.code, self.calendar, lot)
        except KitchenError:
            return False
        return True


def _asked(session: Session, catalogue: Catalogue, site: Site, after: date, end: date) -> Sequence[Need]:
    """What guests and pars of the dates after a closed one, up to another, asked for by the last word of their dates (P15 g)."""
    begin = after + ONE_DAY
    if begin > end:
        return []
    rows = [forecast_of(row) for row in forecasts.of_site(session, site.code, begin, end) if row.count]
    own = overrides_of(session, site.code, begin, end)
    dates = [end, *(each.date for each in rows), *(key[0] for key in own)]
    return foresee(catalogue, site, site.calendar(), rows, own, min(dates), end).needs


def _counted(row: counts.CountedRow) -> Counted:
    document = row.document
    return Counted(
        item=Item.read(document["item"]),
        quantity=Quantity.read(document["quantity"], told=True),
        counted_at=row.counted_at,
        made_on=None if document["made_on"] is None else date.fromisoformat(document["made_on"]),
        in_store=document["in"] == "store",
        number=row.count,
    )


def _items_of(document: Document) -> Collection[Item]:
    """What frozen work makes, gives and draws."""
    rows = [document, *document.get("outputs", ()), *document.get("draws", ())]
    return {Item.read(row["item"]) for row in rows} | {Item.read(given) for given, _ in document.get("gives", ())}

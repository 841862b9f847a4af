"""Progress: taking a kitchen's word on a task or pull of a date's list.

Responsible for checking a report and for fixing the work that it concerns (domain P15 a). Refuses to
know what the report means for later plans.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, KitchenError, Moved, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.lists.freezing import Frozen, freeze_list
from service.kitchen.lists.frozen import thaw_run
from service.kitchen.lists.tasks import only_draw
from service.kitchen.measures.calendar import ONE_DAY, Calendar
from service.kitchen.measures.equivalents import Conversions
from service.kitchen.measures.units import CANONICAL, Quantity
from service.kitchen.planning.names import RUN, USE, work_of
from service.kitchen.planning.past import first_counting
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import OPEN
from service.limits import MINUTES_AHEAD
from service.operations.entries import read_moment
from service.operations.lists import ListRequest, first_date, known_site, plan_site, plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid
from service.operations.schedules import schedule_of
from service.operations.tokens import write
from service.operations.works import fixed_by
from service.store import closed_days, prints, reports, revisions
from service.store.documents import Document, Encoded, decode, encode
from service.store.prints import PrintKey
from service.store.reports import FixedRow, ReportRow

Planning = Callable[[], AbstractContextManager[None]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A report that is to be recorded, the work that it fixes, the first date that must not stay closed, and what it goes by.

    It holds whatever else the site reports, counts or forecasts meanwhile: the work is as it was when it was reported. It does
    not where what was ``known`` has moved: the catalogue, the work itself, or the site's prints.
    """

    site: Site
    row: ReportRow
    fixed: FixedRow | None
    opens: date
    known: reports.Known


def prepare(
    session: Session, request: ListRequest, task: str, body: dict[str, Any], now: datetime, planning: Planning = nullcontext
) -> Prepared:
    """Check ``{"state", "made", "begun", "drawn", "at", "note"}`` of a task or pull of a date's list, with a session that reads.

    What neither a print nor a report has is planned, within ``planning``. Raises NotFound where no list of the date ever had
    the task, Invalid for amounts that the work cannot have and for a moment that is still to come.
    """
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    kind, work, stage = work_of(task)
    about = reports.about(session, site.code, work)
    said = about.said()
    document, printed = _document(session, catalogue, site, request, task, about, now, planning)
    made, drawn = _items(catalogue, kind, document, work, stage)
    measures = _Measures(catalogue, site, document, request.on)
    faults: list[Fault] = []
    amounts = _amounts([("made", made), ("begun", made), ("drawn", drawn)], body, measures, faults)
    at = now if body["at"] is None else read_moment(body["at"])
    if at > now + timedelta(minutes=MINUTES_AHEAD):
        faults.append(Fault("/at", "at_in_future", f"at is ahead of the service's clock, which reads {write(now)}"))
    if faults:
        raise Invalid(faults)
    told = {"state": body["state"], **amounts, "at": at.isoformat(), "stated": body["at"] is not None, "note": body["note"]}
    row = ReportRow(
        task=task,
        number=1 + max((each.number for each in said if each.task == task), default=0),
        work=work,
        date=request.on,
        recorded_at=now,
        # As it will come back, so that the answer and a later reading are one state.
        document=Encoded(decode(encode(told))),
    )
    fixed, opens = _fix(catalogue, site, row, kind, document, said)
    fixed = fixed and replace(fixed, printed=printed)
    return Prepared(site=site, row=row, fixed=fixed, opens=min(request.on, opens), known=about.known)


def keep(session: Session, prepared: Prepared) -> dict[str, Any]:
    """Record a prepared report, with a session that writes; one that is ``open`` takes a report back. Raises Moved."""
    site = prepared.site.code
    about = reports.about(session, site, prepared.row.work)
    if not about.known.holds(prepared.known):
        raise Moved("What this report goes by has changed meanwhile; try again.")
    revision = revisions.bump(session, revisions.site(site))
    reports.add(session, site, replace(prepared.row, revision=revision), about, prepared.fixed)
    closed = about.known.closed
    if closed is not None and closed >= prepared.opens:
        closed_days.drop(session, site, prepared.opens)
    return _answer(prepared.row, prepared.site)


def read_report(session: Session, site: str, task: str) -> dict[str, Any]:
    """What was last reported of a task, and on which date's list: a late one has stood on several; raises NotFound."""
    row = reports.last(session, site, task, work_of(task)[1])
    if row is None:
        raise NotFound("report of the task", task)
    return _answer(row, known_site(load_catalogue(session), site))


def _answer(row: ReportRow, site: Site) -> dict[str, Any]:
    said = {name: row.document.get(name) for name in ("state", "made", "begun", "drawn", "at", "note")}
    return {"id": row.task, "date": row.date.isoformat(), **said, "at": site.calendar().write(read_moment(row.document["at"]))}


def _document(
    session: Session,
    catalogue: Catalogue,
    site: Site,
    request: ListRequest,
    task: str,
    about: reports.About,
    now: datetime,
    planning: Planning,
) -> tuple[Document, PrintKey | None]:
    """The work as a report has fixed it, else as on the newest print that has it, else as the list has it (P15 a).

    With it comes the print that shows it so, if one does. Raises NotFound where none of them has the task.
    """
    work, said = work_of(task)[1], about.said()
    stored = about.fixed(session, site.code) if _speaks(said) else None
    document, printed = (None, None) if stored is None else (stored.document, stored.printed)
    shown = False
    if stored is None and (last := prints.printed_last(session, site.code, work)) is not None:
        document, printed = last.document["frozen"], PrintKey(last.date, last.number)
        shown = last.date == request.on and task in last.document["tasks"]
    if document is not None and (shown or _shown(session, site, request.on, task, said)):
        return document, printed
    if not _plausible(catalogue, site, task):
        raise NotFound("task or pull of this site with the id", task)
    with planning():
        listed = _listed(session, catalogue, site, request, task, now)
    if listed is None:
        raise NotFound(f"task or pull on the list of {request.on} with the id", task)
    return (dict(listed.document), None) if document is None else (document, printed)


def _shown(session: Session, site: Site, on: date, task: str, said: list[ReportRow]) -> bool:
    """Whether a task stood on the list of a date: a report of that list says so, or a print."""
    if any(row.task == task and row.date == on for row in said):
        return True
    return any(task in document["tasks"] for document in prints.of_date(session, site.code, on, work_of(task)[1]))


def _speaks(said: list[ReportRow]) -> bool:
    """Whether the last report of any task says more than that it is open."""
    return any(row.document["state"] != OPEN for row in {row.task: row for row in said}.values())


def _listed(session: Session, catalogue: Catalogue, site: Site, request: ListRequest, task: str, now: datetime) -> Frozen | None:
    """The work of a task as the date's list has it now, else as it would without what was reported on that list.

    A cook may have read the list before anything was reported, or after some of it: at last it is looked for without the
    reports of all dates from the plan's first on, and without more and more of the newest. So whatever was shown can be reported,
    in any order.
    """
    first = first_date(catalogue, site, request, now)
    said = sorted(reports.since(session, site.code, first - ONE_DAY, ()), key=lambda row: row.revision)
    left_out = [[row for row in said if row.date == request.on], *(said[-number:] for number in _lately(len(said)))]
    without = [partial(plan_without, unsaid=Unsaid(tuple(rows))) for rows in left_out if rows]
    plans: list[Callable[[Session, Catalogue, Site, date, date], Plan]] = [plan_site, *without]
    for plan in plans:
        planned = plan(session, catalogue, site, first, request.on)
        listed = freeze_list(planned, catalogue, site, request.on, schedule_of(session, catalogue, site, planned))
        if found := next((each for each in listed if task in each.tasks), None):
            return found
    return None


def _plausible(catalogue: Catalogue, site: Site, task: str) -> bool:
    """Whether a task could be of the site and of something that the catalogue has; for others nothing is planned."""
    parts = task.split(".")
    return len(parts) > 3 and parts[1] == site.code and (parts[2] in catalogue.ingredients or catalogue.has_recipe(parts[2]))


def _lately(number: int) -> list[int]:
    """How many of the newest of so many reports to leave out: all, then one, all but one, two, all but two, four and so on."""
    steps = [2**power for power in range(number.bit_length())]
    tried = (number, *(each for step in steps for each in (step, number - step)))
    return [each for each in dict.fromkeys(tried) if each > 0]


def _fix(
    catalogue: Catalogue, site: Site, row: ReportRow, kind: str, document: Document, said: list[ReportRow]
) -> tuple[FixedRow | None, date]:
    """The work as the report fixes it, if it says anything, and the first date that counts otherwise because of it.

    What lots give follows from what is said of the work that takes it: a report of a use fixes nothing (P15 g).
    """
    if kind == USE:
        return None, row.date
    calendar = site.calendar()
    old = fixed_by(catalogue, calendar, row.work, document, said)
    new = fixed_by(catalogue, calendar, row.work, document, [*said, row])
    # A print of an earlier date may have counted as done until now what is reported, or fixed the run otherwise (P15 e).
    begins = _begins(document, calendar, None)
    opens = begins if old is None else _begins(document, calendar, work_of(row.task)[2])
    opens = min(opens, first_counting(old, new, catalogue, calendar) or row.date)
    if new is None:
        return None, opens
    since = min(begins, first_counting(None, new, catalogue, calendar) or row.date)
    return FixedRow(work=row.work, kind=kind, since=since, document=Encoded(document)), opens


def _begins(document: Document, calendar: Calendar, stage: int | None) -> date:
    """The business date on which a pull, a stage of a run or (None) the run itself begins."""
    if "stages" not in document:
        return calendar.business_date(read_moment(document["starts"]))
    return min(date.fromisoformat(each["on"]) for each in document["stages"] if stage in (None, each["number"]))


def _items(catalogue: Catalogue, kind: str, document: Document, work: str, stage: int) -> tuple[Item, Item | None]:
    """What ``made`` is of, and what ``drawn`` is of where the stage draws just one item.

    Raises NotFound for a stage that is none, and for an ingredient that was removed since.
    """
    item = Item.read(document["item"])
    if not item.is_recipe and item.code not in catalogue.ingredients:
        raise NotFound("ingredient any more with the code", item.code)
    if kind != RUN:
        return item, None
    run = thaw_run(document, catalogue, work)
    found = next((each for each in run.stages if each.number == stage), None)
    if found is None:
        raise NotFound("stage of this work with the number", stage)
    return item, only_draw(run, found)


class _Measures:
    """How amounts of items convert: of the recipe itself by the version of the run, of others by what was in force then."""

    def __init__(self, catalogue: Catalogue, site: Site, document: Document, on: date) -> None:
        self.catalogue, self.site, self.document = catalogue, site, document
        self.on = date.fromisoformat(str(document.get("on") or on.isoformat()))

    def of(self, item: Item) -> Conversions:
        """The conversions of an item of the work; raises NotFound where the catalogue no longer knows it."""
        number = self.document.get("version")
        if number is not None and item == Item.read(self.document["item"]):
            return next(each for each in self.catalogue.versions[item.code] if each.number == number).conversions
        found = self.catalogue.conversions(item, self.site.code, self.on) or self.catalogue.conversions(item)
        if found is None:
            raise NotFound("item any more with the code", item.code)
        return found


def _amounts(items: list[tuple[str, Item | None]], body: dict[str, Any], measures: _Measures, faults: list[Fault]) -> dict[str, Any]:
    """What was made, begun and drawn, in the stock kinds; what cannot be said becomes a fault."""
    amounts: dict[str, Any] = {}
    for name, item in items:
        amounts[name] = None
        if body[name] is not None and item is None:
            detail = "only a stage that draws one item can say how much it drew; leave it out, it follows what was begun"
            faults.append(Fault(f"/{name}", "rule_not_allowed", detail))
        elif body[name] is not None and item is not None:
            conversions = measures.of(item)
            try:
                amount = float(conversions.to_stock(Quantity.read(body[name], told=True)))
                amounts[name] = {"amount": amount, "unit": CANONICAL[conversions.stock_kind]}
            except KitchenError as error:
                faults.append(Fault(f"/{name}/unit", error.code, error.detail))
    return amounts

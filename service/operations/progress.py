"""Progress: taking a kitchen's word on a task or pull of a date's list.

Responsible for checking a report and for fixing the work that it concerns (domain P15 a). Refuses to
know what the report means for later plans.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, KitchenError, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.lists.freezing import Frozen, freeze_list
from service.kitchen.lists.frozen import thaw_run, usable_until
from service.kitchen.lists.tasks import only_draw
from service.kitchen.measures.equivalents import Conversions
from service.kitchen.measures.units import CANONICAL, Quantity
from service.kitchen.planning.reported import OPEN
from service.operations.basis import Basis, check_basis, read_basis
from service.operations.entries import read_moment
from service.operations.lists import ListRequest, first_date, known_site, plan_site, site_scope
from service.operations.loading import SCOPE, load_catalogue
from service.operations.reports import RUN, work_of
from service.store import prints, progress, revisions
from service.store.documents import Document


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A report that is to be recorded: of which task of which list, the work that it fixes, and what both were made from."""

    site: str
    on: date
    task: str
    stored: Document
    fixed: progress.FixedRow | None
    basis: Basis


def prepare(session: Session, request: ListRequest, task: str, body: dict[str, Any], now: datetime) -> Prepared:
    """Check ``{"state", "made", "drawn", "at", "note"}`` of a task or pull of a date's list, with a session that reads.

    Raises NotFound where neither a print of the date nor its list of now has the task, Invalid for amounts that the work
    cannot have.
    """
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    listed = _listed(session, catalogue, site, request, now)
    kind, work, stage = work_of(task)
    if not any(task in each.tasks for each in listed) and not _known(session, site, request.on, work, task):
        raise NotFound
    document = _standing(session, site, work, listed)
    made, drawn = _items(catalogue, kind, document, stage)
    amounts = _amounts([("made", made), ("drawn", drawn)], body, _Measures(catalogue, site, document, request.on))
    moment = body["at"] or now.isoformat()
    stored = {"state": body["state"], **amounts, "at": read_moment(moment).isoformat(), "note": body["note"]}
    fixed = None
    if body["state"] != OPEN:
        on = date.fromisoformat(_date(document, request.on))
        fixed = progress.FixedRow(work=work, kind=kind, date=on, until=usable_until(document, on), document=document)
    basis = read_basis(session, [SCOPE, site_scope(site.code)])
    return Prepared(site=site.code, on=request.on, task=task, stored=stored, fixed=fixed, basis=basis)


def keep(session: Session, prepared: Prepared) -> dict[str, Any]:
    """Record a prepared report, with a session that writes; one that is ``open`` takes a report back. Raises Moved."""
    check_basis(session, prepared.basis)
    if prepared.fixed is not None:
        progress.fix(session, prepared.site, prepared.fixed)
    progress.save(session, prepared.site, prepared.on, prepared.task, prepared.stored)
    revisions.bump(session, site_scope(prepared.site))
    return {"id": prepared.task, "date": prepared.on.isoformat(), **prepared.stored}


def read_report(session: Session, site: str, task: str) -> dict[str, Any]:
    """What was last reported of a task, and on which date's list: a late one has stood on several; raises NotFound."""
    row = progress.read(session, site, task)
    if row is None:
        raise NotFound
    return {"id": task, "date": row.date.isoformat(), **row.document}


def _listed(session: Session, catalogue: Catalogue, site: Site, request: ListRequest, now: datetime) -> list[Frozen]:
    """The work of the date's list as it is now."""
    first = first_date(catalogue, site, request, now)
    return freeze_list(plan_site(session, catalogue, site, first, request.on), catalogue, site, request.on)


def _known(session: Session, site: Site, on: date, work: str, task: str) -> bool:
    """Whether some print of the date shows the task, or it was reported there before: once reported, a late task leaves the list."""
    if any(task in document["tasks"] for document in prints.of_date(session, site.code, on, work)):
        return True
    row = progress.read(session, site.code, task)
    return row is not None and row.date == on


def _standing(session: Session, site: Site, work: str, listed: list[Frozen]) -> Document:
    """The work as a report has fixed it, else as on the newest print that has it, else as listed now (P15 a)."""
    if _reported(session, site, work):
        document = progress.fixed(session, site.code, work)
        if document is not None:
            return document
    printed = prints.printed_last(session, site.code, work)
    if printed is not None:
        frozen: Document = printed["frozen"]
        return frozen
    return next(each.document for each in listed if each.work == work)


def _reported(session: Session, site: Site, work: str) -> bool:
    """Whether any report of the work stands, other than that it is open."""
    one = progress.read(session, site.code, work)
    rows = [*progress.of_stages(session, site.code, work), *([one] if one is not None else [])]
    return any(row.document["state"] != OPEN for row in rows)


def _items(catalogue: Catalogue, kind: str, document: Document, stage: int) -> tuple[Item, Item | None]:
    """What ``made`` is of, and what ``drawn`` is of where the stage draws just one item.

    Raises NotFound for a stage that is none, and for an ingredient that was removed since.
    """
    item = Item.read(document["item"])
    if not item.is_recipe and item.code not in catalogue.ingredients:
        raise NotFound
    if kind != RUN:
        return item, None
    run = thaw_run(document, catalogue)
    found = next((each for each in run.stages if each.number == stage), None)
    if found is None:
        raise NotFound
    return item, only_draw(run, found)


class _Measures:
    """How amounts of items convert: of the recipe itself by the version of the run, of others by what was in force then."""

    def __init__(self, catalogue: Catalogue, site: Site, document: Document, on: date) -> None:
        self.catalogue, self.site, self.document = catalogue, site, document
        self.on = date.fromisoformat(_date(document, on))

    def of(self, item: Item) -> Conversions:
        """The conversions of an item of the work; raises NotFound where the catalogue no longer knows it."""
        number = self.document.get("version")
        if number is not None and item == Item.read(self.document["item"]):
            return next(each for each in self.catalogue.versions[item.code] if each.number == number).conversions
        found = self.catalogue.conversions(item, self.site.code, self.on) or self.catalogue.conversions(item)
        if found is None:
            raise NotFound
        return found


def _amounts(items: list[tuple[str, Item | None]], body: dict[str, Any], measures: _Measures) -> dict[str, Any]:
    """What was made and drawn, in the stock kinds; raises Invalid."""
    faults: list[Fault] = []
    amounts: dict[str, Any] = {}
    for name, item in items:
        amounts[name] = None
        if body[name] is not None and item is None:
            detail = "only a stage that draws one item can say how much it drew; leave it out, it follows what was made"
            faults.append(Fault(f"/{name}", "rule_not_allowed", detail))
        elif body[name] is not None and item is not None:
            conversions = measures.of(item)
            try:
                amount = float(conversions.to_stock(Quantity.read(body[name], zero_allowed=True)))
                amounts[name] = {"amount": amount, "unit": CANONICAL[conversions.stock_kind]}
            except KitchenError as error:
                faults.append(Fault(f"/{name}/unit", error.code, error.detail))
    if faults:
        raise Invalid(faults)
    return amounts


def _date(document: Document, on: date) -> str:
    return str(document.get("on") or on.isoformat())

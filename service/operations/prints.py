"""Prints: freezing a date's list as the kitchen holds it, and what has changed since.

Responsible for numbering prints, and for which two lists tell what changed since one. Refuses to know how a sheet looks.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, cast

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.kitchen.book.site import Site
from service.kitchen.lists.differences import EntryChanges, entry_changes
from service.kitchen.lists.documents import PrepList
from service.kitchen.lists.freezing import freeze_list
from service.kitchen.lists.listed import uses_on
from service.kitchen.lists.supplies import use_id
from service.kitchen.lists.timing import Timing
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.stock import PastRun
from service.operations.basis import Basis, check_basis, read_basis
from service.operations.lists import ListRequest, document_of, first_date, known_site, plan_site, plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid
from service.operations.schedules import schedule_of
from service.operations.tokens import write
from service.store import closed_days, prints, reports, revisions
from service.store.documents import Encoded, decode, encode


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A date's list that is to be printed under a number: the document, and that packed with the work behind it.

    Both hold as long as the basis does, the number too: whoever prints moves the site.
    """

    site: str
    on: date
    number: int
    document: Encoded
    packed: prints.PackedPrint
    basis: Basis


class ListChanges(EntryChanges):
    """What changed since a print of some number."""

    since: int


def prepare(session: Session, request: ListRequest, now: datetime) -> Prepared:
    """Plan a date's list in order to print it, with a session that reads; raises as ``lists.prep_list`` does."""
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    first = first_date(catalogue, site, request, now)
    planned = plan_site(session, catalogue, site, first, request.on)
    work = freeze_list(planned, catalogue, site, request.on, schedule_of(session, catalogue, site, planned))
    document = document_of(session, planned, catalogue, site, request, now)
    document["print"] = number = prints.newest_number(session, site.code, request.on) + 1
    encoded = Encoded(document)
    rows = ((each.work, each.kind, {"tasks": sorted(each.tasks), "frozen": each.document}) for each in work)
    return Prepared(
        site=site.code,
        on=request.on,
        number=number,
        document=encoded,
        packed=prints.pack(session, site.code, request.on, encoded, rows),
        basis=read_basis(session, [revisions.CATALOGUE, revisions.site(site.code)]),
    )


def keep(session: Session, prepared: Prepared, now: datetime, by: str | None) -> dict[str, Any]:
    """Freeze a prepared list as the next print of its date, with a session that writes; raises Moved."""
    check_basis(session, prepared.basis)
    head = prints.PrintHead(
        site=prepared.site,
        date=prepared.on,
        number=prepared.number,
        printed_at=now,
        printed_by=by,
        revision=revisions.bump(session, revisions.site(prepared.site)),
    )
    prints.add(session, head, prepared.packed)
    # Work on a print counts as done when its date is over (P15 e): where that was closed without the print, it is closed anew.
    closed_days.drop(session, prepared.site, prepared.on)
    return prepared.document


def get_print(session: Session, site: str, on: date, number: int) -> PrepList:
    """A print as it was made; raises NotFound."""
    row = prints.read(session, site, on, number)
    if row is None:
        raise NotFound(f"print of {on} with the number", number)
    return _printed(row)


def _printed(row: prints.PrintRow) -> PrepList:
    """The list of a print: it was one when it was stored, and is never changed."""
    return cast(PrepList, row.document)


def print_page(session: Session, site: str, on: date, after: int, limit: int) -> list[dict[str, Any]]:
    """Up to ``limit`` + 1 prints of a date after a number: when each was made, and from which date and in which units."""
    return [
        {
            "print": row.number,
            "date": row.date.isoformat(),
            "from": _printed(row)["from"],
            "units": _printed(row)["units"],
            "printed_at": write(row.printed_at),
        }
        for row in prints.page(session, site, on, after, limit + 1)
    ]


def changes(session: Session, request: ListRequest, since: int, now: datetime) -> ListChanges:
    """What today's inputs would ask for that a print did not, no longer ask for, or ask for otherwise.

    The print is put beside the list as it would be had nothing been reported since on the lists of its date and later: what
    was reported of the print itself is no change of it, while what became of earlier dates is what the list rests on. Of what
    such reports made or drew, the counts known at the print hold as well. Raises Invalid where there is no such print.
    """
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    row = prints.read(session, site.code, request.on, since)
    if row is None:
        raise Invalid([Fault("", "unknown_reference", f"{request.on} has no print {since}", "since")])
    first = first_date(catalogue, site, request, now)
    printed = _printed(row)
    alike = ListRequest(site=site.code, on=request.on, first=request.first, station=None, units=printed["units"])
    said = reports.said_after(session, site.code, request.on, row.revision, row.printed_at)
    planned = plan_without(session, catalogue, site, first, request.on, Unsaid(tuple(said), row.revision))
    timing = Timing(planned, schedule_of(session, catalogue, site, planned))
    current = document_of(session, planned, catalogue, site, alike, now)
    given = _given_where_made(planned, site, request.on, timing)
    # What a print keeps went through the store: what the list of now tells must, too, before numbers are compared.
    return {"since": since, **entry_changes(printed, current, given, as_kept=lambda entry: decode(encode(entry)))}


def _given_where_made(plan: Plan, site: Site, on: date, timing: Timing) -> set[str]:
    """The uses of a date's list whose lots serve what they were made for: before its run was fixed, no use stood between (P9, P15 d)."""
    calendar = site.calendar()
    return {
        use_id(site.code, calendar, needed, uses)
        for needed, uses in uses_on(plan, on, timing, calendar)
        if all(isinstance(use.lot.source, PastRun) and use.lot.made == needed for use in uses)
    }

"""Capacity of a date: what of a site's shifts and machines is different then.

Responsible for reading, putting and removing it, and for telling what holds on each date. Refuses to know what fits.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.kitchen.book.capacity import Capacity, Shift, read_capacity
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.checks.capacity import date_faults
from service.kitchen.measures.calendar import ONE_DAY
from service.operations.basis import check_catalogue
from service.operations.collections import Stored, check_exists
from service.operations.matching import Expected, require_match
from service.store import capacity, revisions
from service.store.documents import Document, tag


def capacities_of(session: Session, site: str, first: date, last: date) -> dict[date, Capacity]:
    """What is different at a site on the dates from one to another, both included; nothing of dates that are as usual."""
    return {on: read_capacity(document) for on, document in capacity.of_site(session, site, first, last).items()}


def get_capacity(session: Session, site: str, on: date) -> Stored:
    """What is different at a site on a date; raises NotFound where nothing was stated."""
    document = capacity.read(session, site, on)
    if document is None:
        raise NotFound("capacity of its own on the date", on.isoformat())
    return Stored(on.isoformat(), document, tag(document))


def describe(site: str, on: date, document: Document) -> dict[str, Any]:
    """The capacity of a date with its key."""
    return {"site": site, "date": on.isoformat(), **document}


def holding(session: Session, catalogue: Catalogue, code: str, first: date, last: date) -> list[dict[str, Any]]:
    """What holds at a site on each date from one to another: the usual shifts and machines, or what was stated for the date (K2, K7).

    Raises NotFound for a site that does not exist.
    """
    check_exists(session, "sites", code)
    different = capacities_of(session, code, first, last)
    dates = [first + days * ONE_DAY for days in range((last - first).days + 1)]
    return [_holding(catalogue.sites[code], on, different.get(on)) for on in dates]


def _holding(site: Site, on: date, different: Capacity | None) -> dict[str, Any]:
    machines = [site.machines(code, different) for code in site.equipment]
    return {
        "date": on.isoformat(),
        "usual": different is None,
        "shifts": [_write_shift(shift) for shift in site.shifts_on(on, different)],
        "equipment": [{"equipment": each.equipment, "count": each.count} for each in machines if each is not None],
        "note": "" if different is None else different.note,
    }


def _write_shift(shift: Shift) -> dict[str, Any]:
    return {
        "name": shift.name,
        "stations": list(shift.stations),
        "from": shift.starts.isoformat("minutes"),
        "until": shift.until.isoformat("minutes"),
        "cooks": shift.cooks,
    }


def put_capacity(
    session: Session, code: str, on: date, document: Document, catalogue: Catalogue, expected: Expected, now: datetime
) -> tuple[Stored, bool]:
    """Create or replace what is different at a site on a date, ``{"shifts", "equipment", "note"}``; returns it and whether it is new.

    Raises NotFound for a site that does not exist, Invalid for a date that is over and for what the site has not, then MatchRequired or
    Stale; Moved where the catalogue is another.
    """
    check_catalogue(session, catalogue)
    check_exists(session, "sites", code)
    site = catalogue.sites[code]
    current = capacity.read(session, code, on)
    if current != document:
        require_open(site, on, now)
        if faults := [*date_faults(catalogue, site, read_capacity(document))]:
            raise Invalid(faults)
    require_match(None if current is None else tag(current), expected)
    if current != document:
        capacity.save(session, code, on, document)
        revisions.bump(session, revisions.site(code))
    return Stored(on.isoformat(), document, tag(document)), current is None


def delete_capacity(session: Session, code: str, on: date, catalogue: Catalogue, expected: Expected, now: datetime) -> None:
    """Let a date of a site be as usual; raises NotFound, Invalid where the date is over, MatchRequired or Stale, and Moved."""
    check_catalogue(session, catalogue)
    stored = get_capacity(session, code, on)
    require_open(catalogue.sites[code], on, now)
    require_match(stored.tag, expected)
    capacity.remove(session, code, on)
    revisions.bump(session, revisions.site(code))


def require_open(site: Site, on: date, now: datetime) -> None:
    """Raise Invalid where a date is over: what was done on it was done by the hands that were there."""
    if site.calendar().end(on) <= now:
        raise Invalid([Fault("", "out_of_range", f"{on} is over at {site.code}; who and what was there cannot be changed")])

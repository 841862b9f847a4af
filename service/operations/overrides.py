"""Overrides: a site's own word on how many guests will want a menu item.

Responsible for reading, putting and removing one. Refuses to know what it does to a forecast.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.guests import not_pushed
from service.operations.basis import check_catalogue
from service.operations.collections import Stored
from service.operations.entries import not_on_menu
from service.operations.matching import Expected, require_match
from service.store import forecasts, overrides, revisions
from service.store.documents import tag
from service.store.overrides import OverrideKey


def require_place(catalogue: Catalogue, key: OverrideKey) -> None:
    """Raise NotFound for a site, period or menu item that does not exist."""
    site = catalogue.sites.get(key.site)
    if site is None:
        raise NotFound("site", key.site)
    if site.period(key.period) is None:
        raise NotFound("period of this site", key.period)
    if key.menu_item not in catalogue.menu_items:
        raise NotFound("menu item", key.menu_item)


def get_override(session: Session, key: OverrideKey) -> Stored:
    """The override of a site, date, period, menu item and event; raises NotFound."""
    document = overrides.read(session, key)
    if document is None:
        raise NotFound(f"override in {key.period} of {key.date} for the menu item", key.menu_item)
    return Stored(key.menu_item, document, tag(document))


def override_page(session: Session, site: str, dates: tuple[date, date], after: OverrideKey | None, limit: int) -> list[dict[str, Any]]:
    """Up to ``limit`` overrides of a site behind a key, of the dates from one to another, by date, period, menu item and event."""
    return [describe(key, document) for key, document in overrides.page(session, site, *dates, after, limit)]


def describe(key: OverrideKey, document: dict[str, Any]) -> dict[str, Any]:
    """An override with its key."""
    return {**key._asdict(), "date": key.date.isoformat(), "event": key.event or None, **document}


def put_override(
    session: Session, key: OverrideKey, document: dict[str, Any], catalogue: Catalogue, expected: Expected, now: datetime
) -> tuple[Stored, bool]:
    """Create or replace an override, ``{"count", "add", "note"}``; returns it and whether it is new.

    Raises NotFound for a site, period or menu item that does not exist, Invalid for another word on a date that is over or on
    which the item is not sold, then MatchRequired or Stale; Moved where the catalogue is another.
    """
    check_catalogue(session, catalogue)
    require_place(catalogue, key)
    current = overrides.read(session, key)
    if current != document:
        require_open(catalogue, key, now)
        if not (item := catalogue.menu_items[key.menu_item]).sold_on(key.date):
            raise Invalid([not_on_menu(item, key.date, "")])
    require_match(None if current is None else tag(current), expected)
    if current != document:
        overrides.save(session, key, document)
        revisions.bump(session, revisions.site(key.site))
    return Stored(key.menu_item, document, tag(document)), current is None


def warnings_about(session: Session, key: OverrideKey, document: dict[str, Any]) -> list[dict[str, str]]:
    """What whoever puts an override should know: that nobody has pushed its event (P1)."""
    if not key.event or not (document["count"] or document["add"]):
        return []
    pushed = forecasts.events_of(session, key.site, key.date)
    return [] if key.event in pushed else [{"code": "unknown_event", "detail": not_pushed(key.event, key.date, pushed)}]


def delete_override(session: Session, key: OverrideKey, catalogue: Catalogue, expected: Expected, now: datetime) -> None:
    """Remove an override, so that the forecasts count again; raises NotFound, Invalid, MatchRequired or Stale, and Moved."""
    check_catalogue(session, catalogue)
    stored = get_override(session, key)
    require_open(catalogue, key, now)
    require_match(stored.tag, expected)
    overrides.remove(session, key)
    revisions.bump(session, revisions.site(key.site))


def require_open(catalogue: Catalogue, key: OverrideKey, now: datetime) -> None:
    """Raise Invalid where a date is over: guests took what the last word before its end asked for (P15 g)."""
    site = catalogue.sites.get(key.site)
    if site is not None and site.calendar().end(key.date) <= now:
        raise Invalid([Fault("", "out_of_range", f"{key.date} is over at {key.site}; what its guests had cannot be changed")])

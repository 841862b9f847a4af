"""Stock counts: taking in what a site found on hand, and telling and deleting what was taken in.

Responsible for checking a count against the catalogue and the clock. Refuses to know what planning does with it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, KitchenError, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.counted import Counted, counted_lot
from service.limits import MINUTES_AHEAD
from service.operations.basis import check_catalogue
from service.operations.entries import read_moment
from service.operations.tokens import write
from service.store import closed_days, counts, revisions
from service.store.counts import CountRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """A count that is to be recorded, and the catalogue that it was checked against."""

    site: str
    counted_at: datetime
    body: dict[str, Any]
    catalogue: Catalogue


def prepare_count(site: str, body: dict[str, Any], catalogue: Catalogue, now: datetime) -> Count:
    """Check ``{"counted_at", "lots"}`` of a site; raises NotFound, or Invalid with every fault of the moment and of every lot."""
    kitchen = catalogue.sites.get(site)
    if kitchen is None:
        raise NotFound("site", site)
    counted_at = read_moment(body["counted_at"])
    faults = [
        fault.below(f"/lots/{index}") for index, lot in enumerate(body["lots"]) for fault in lot_faults(catalogue, kitchen, lot, counted_at)
    ]
    if counted_at > now + timedelta(minutes=MINUTES_AHEAD):
        faults.insert(0, Fault("/counted_at", "counted_in_future", f"counted_at is ahead of the service's clock, which reads {write(now)}"))
    if faults:
        raise Invalid(faults)
    return Count(site=site, counted_at=counted_at, body=body, catalogue=catalogue)


def record_count(session: Session, count: Count, now: datetime) -> dict[str, Any]:
    """Record a count that was checked: from then on the newest count of an item replaces its older lots, other items stay.

    Returns the count with its id. Raises Moved.
    """
    check_catalogue(session, count.catalogue)
    revision = revisions.bump(session, revisions.site(count.site))
    number = counts.add(session, count.site, count.counted_at, now, count.body, revision)
    # A late count changes what its date, and every date since, left.
    closed_days.drop(session, count.site, count.catalogue.sites[count.site].calendar().business_date(count.counted_at))
    return _told(CountRow(id=number, site=count.site, counted_at=count.counted_at, recorded_at=now, document=count.body))


def get_count(session: Session, site: str, number: int) -> dict[str, Any]:
    """A count of a site by its id, as it was recorded; raises NotFound."""
    return _told(_standing(session, site, number))


def count_page(
    session: Session, catalogue: Catalogue, site: str, dates: tuple[date, date], after: int | None, limit: int
) -> list[dict[str, Any]]:
    """Up to ``limit`` counts of business dates from one to another, the newest first, behind the one with the id ``after``."""
    calendar, (first, last) = catalogue.sites[site].calendar(), dates
    return [_told(row) for row in counts.between(session, site, calendar.start(first), calendar.end(last), after, limit)]


def delete_count(session: Session, site: str, number: int, catalogue: Catalogue, now: datetime) -> None:
    """Delete a count, so that the older count of each of its items holds again (P3); raises NotFound, and Moved."""
    check_catalogue(session, catalogue)
    count = _standing(session, site, number)
    counts.remove(session, count, now)
    revisions.bump(session, revisions.site(site))
    closed_days.drop(session, site, catalogue.sites[site].calendar().business_date(count.counted_at))


def _standing(session: Session, site: str, number: int) -> CountRow:
    row = counts.read(session, site, number)
    if row is None:
        raise NotFound("count of this site with the number", number)
    return row


def _told(row: CountRow) -> dict[str, Any]:
    told = {name: row.document[name] for name in ("counted_at", "lots")}
    return {"id": row.id, "site": row.site, "recorded_at": write(row.recorded_at), **told}


def lot_faults(catalogue: Catalogue, site: Site, lot: dict[str, Any], counted_at: datetime) -> Iterator[Fault]:
    """What is wrong with one lot of a count; pointers start at the lot."""
    item, calendar = Item.read(lot["item"]), site.calendar()
    made_on = None if lot["made_on"] is None else date.fromisoformat(lot["made_on"])
    counted_on = counted_at.astimezone(calendar.zone).date()
    if made_on is not None and made_on > counted_on:
        yield Fault("/made_on", "out_of_range", f"what was counted on {counted_on} was made by then")
    if catalogue.conversions(item) is None:
        yield Fault("/item", "unknown_reference", missing(catalogue, item))
        return
    counted = Counted(item=item, quantity=Quantity.read(lot["quantity"], told=True), counted_at=counted_at, made_on=made_on)
    try:
        # Planning will read the lot in the same way, by the version that made it.
        counted_lot(catalogue, site.code, calendar, counted)
    except KitchenError as error:
        yield Fault("/quantity/unit", error.code, error.detail)


def missing(catalogue: Catalogue, item: Item) -> str:
    """Why an item cannot be counted."""
    if item.is_recipe:
        return f"the recipe {item.code} was never published" if catalogue.has_recipe(item.code) else f"there is no recipe {item.code}"
    if item.code in catalogue.ingredients:
        return f"the ingredient {item.code} has no form {item.form}"
    return f"there is no ingredient {item.code}"

"""Forecasts: pushing and reading back expected counts."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from flask import current_app

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.interior import Interior
from service.api.exchange.paging import page, page_by, room
from service.api.exchange.roles import PUSHERS, READERS
from service.api.exchange.routing import load
from service.api.exchange.views import Described, Noun
from service.api.schemas.forecasts import Entry, PushBody, PushResult, SiteRow, StoredEntry, UnmappedCode, read_alike
from service.api.schemas.pages import page_of
from service.api.schemas.queries import ForecastQuery, SiteRowQuery, UnmappedQuery
from service.api.wire.json import find_control_characters
from service.errors import Fault, Invalid
from service.limits import FORECAST_BODY_BYTES
from service.operations.entries import Loaded
from service.operations.forecasts import Push, entries, key_of, push, read_push, site_rows
from service.operations.loading import load_catalogue
from service.operations.unmapped import unmapped
from service.store.forecasts import ForecastKey

forecasts = Noun("Forecasts", "Expected counts of menu items, as sources push them and as a site sees them.")


def load_entry(value: Any) -> dict[str, Any]:
    """One entry of a push; raises Invalid with pointers that begin at the entry."""
    faults = find_control_characters(value)
    entry, misshapen = load(Entry, value)
    faults += misshapen
    if faults:
        raise Invalid(faults)
    read: dict[str, Any] = entry
    return read


def load_entries(values: Sequence[Any]) -> Loaded:
    """The entries of a push, and the faults of those that cannot be read, by index; pointers begin at the entry."""
    entries = read_alike(values)
    refused: dict[int, Sequence[Fault]] = {}
    for index, value in enumerate(values):
        if index not in entries:
            try:
                entries[index] = load_entry(value)
            except Invalid as error:
                refused[index] = error.faults
    return entries, refused


def prepare(call: Call) -> Push:
    """The entries to store."""
    who = call.identity
    return read_push(call.body, load_catalogue(call.session), call.now, load_entries, who.sites, who.source)


@forecasts.view(
    "POST",
    "/v1/forecasts",
    roles=PUSHERS,
    body=PushBody,
    prepare=prepare,
    tolerant="entries",
    limit=FORECAST_BODY_BYTES,
    example=examples.PUSH,
    answers={200: Described("What became of each entry.", PushResult, examples.PUSHED)},
)
def push_forecasts(call: Call) -> dict[str, Any]:
    """Push expected counts of one source; anything wrong in one entry refuses that entry alone.

    Of two counts for the same key the later as_of holds, whatever the order of arrival. An integration
    pushes as its own source.
    """
    answer = push(call.session, call.prepared)
    Interior.of(current_app).metrics.count_push({**answer, "refused": len(call.prepared.refused)})
    return answer


@forecasts.view(
    "GET",
    "/v1/forecasts",
    roles=PUSHERS,
    query=ForecastQuery,
    answers={200: Described("The latest counts, as pushed.", page_of(StoredEntry))},
)
def list_forecasts(call: Call) -> dict[str, Any]:
    """List the latest counts as they were pushed, from one date to another; to an integration those of its own source."""
    first, last = call.query["first"], call.query["last"]
    after = ForecastKey(*call.query["cursor"]) if call.query["cursor"] else None
    rows = entries(call.session, first, last, after, room(call), sites=sites_asked(call), source=call.identity.source)
    return page_by(call, rows, key_of)


def sites_asked(call: Call) -> tuple[str, ...] | None:
    """The sites to read: the one in the query, else all that the caller may see."""
    site = call.query["site"]
    return call.identity.sites if site is None else (site,)


@forecasts.view(
    "GET",
    "/v1/sites/{site}/forecasts",
    name="list_site_forecasts",
    roles=READERS,
    query=SiteRowQuery,
    answers={200: Described("A row for each menu item of each period, by date, period and menu item.", page_of(SiteRow))},
)
def list_site_rows(call: Call) -> dict[str, Any]:
    """List what a site expects to sell: forecasts, overrides and what holds of them."""
    rows = site_rows(call.session, load_catalogue(call.session), call.site, call.query["first"], call.query["last"])
    after = call.query["cursor"]
    following = [row for row in sorted(rows, key=row_key) if after is None or row_key(row) > after]
    return page(call, following, "date", "period", "menu_item")


@forecasts.view(
    "GET",
    "/v1/unmapped-till-codes",
    name="list_unmapped_till_codes",
    roles=PUSHERS,
    query=UnmappedQuery,
    answers={200: Described("The till codes, by source and code.", page_of(UnmappedCode))},
)
def list_unmapped(call: Call) -> dict[str, Any]:
    """List the till codes that no menu item has, with where and when they were pushed; to an integration those of its own source.

    What was pushed under them is kept, and counts as soon as a menu item has the code.
    """
    who, asked = call.identity, call.query["source"]
    if who.source is not None and asked not in (None, who.source):
        return page(call, [])
    rows = unmapped(call.session, who.source or asked, who.sites, call.query["cursor"], room(call))
    return page(call, rows, "source", "till_code")


def row_key(row: dict[str, Any]) -> tuple[date, str, str]:
    """What a site's rows are ordered by."""
    return (date.fromisoformat(row["date"]), row["period"], row["menu_item"])

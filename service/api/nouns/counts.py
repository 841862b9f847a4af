"""Overrides and stock counts: a site's own word on what it will sell and on what it has."""

from dataclasses import replace
from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.paging import page, room
from service.api.exchange.roles import KITCHENS, READERS
from service.api.exchange.views import REPEAT, Described, Noun
from service.api.fields.texts import CODE
from service.api.nouns.collections import put_answer, read_catalogue
from service.api.schemas.counts import Count, CountBody, Override, OverrideAsPut, OverrideBody
from service.api.schemas.pages import page_of
from service.api.schemas.queries import CountQuery, EventQuery, OverrideQuery
from service.api.wire.answers import Answer
from service.errors import Fault, Invalid
from service.kitchen.book.catalogue import Catalogue
from service.operations.counts import Count as Prepared
from service.operations.counts import count_page, delete_count, get_count, prepare_count, record_count
from service.operations.loading import load_catalogue
from service.operations.overrides import delete_override, describe, get_override, override_page, put_override, require_place, warnings_about
from service.store.overrides import OverrideKey

overrides = Noun("Overrides", "A site's own word on the count of a menu item.")
counts = Noun("Counts", "What a site found on hand.")

ALL = "/v1/sites/{site}/overrides"
ADDRESS = f"{ALL}/{{date}}/{{period}}/{{menu_item}}"
KEY = ("site", "date", "period", "menu_item")
SHOWN = {"site": "mill-street", "date": "2026-12-03", "period": "lunch", "menu_item": "soup-bowl", "event": None, **examples.OVERRIDE}


def key_of(call: Call) -> OverrideKey:
    """The key that path and query name; an event that has not the shape of a code is left to the check of shapes."""
    events = [text for name, text in call.arguments if name == "event"]
    event = events[0] if len(events) == 1 and CODE.fullmatch(events[0]) else ""
    path = call.path
    return OverrideKey(path["site"], path["date"], path["period"], path["menu_item"], event)


def place_exists(call: Call) -> None:
    """Raise NotFound unless the site has the period and the menu item exists."""
    require_place(load_catalogue(call.session), key_of(call))


def override_exists(call: Call) -> None:
    """Raise NotFound where there is no such override."""
    get_override(call.session, key_of(call))


def read_word(call: Call) -> Catalogue:
    """The catalogue; raises Invalid where the body names another event than the query."""
    event = call.body["event"]
    if event is not None and event != call.query["event"]:
        raise Invalid([Fault("/event", "not_in_list", "name the event in the query, and the same one in the body or none")])
    return read_catalogue(call)


@overrides.view(
    "GET",
    ALL,
    roles=READERS,
    query=OverrideQuery,
    answers={200: Described("The overrides, by date, period, menu item and event.", page_of(Override))},
)
def list_overrides(call: Call) -> dict[str, Any]:
    """List a site's overrides of the dates from one to another."""
    after = OverrideKey(call.site, *call.query["cursor"]) if call.query["cursor"] else None
    rows = override_page(call.session, call.site, (call.query["first"], call.query["last"]), after, room(call))
    return page(call, rows, "date", "period", "menu_item", "event")


@overrides.view(
    "GET",
    ADDRESS,
    name="get_override",
    roles=READERS,
    query=EventQuery,
    within=override_exists,
    answers={200: Described("The override, with its ETag.", Override, SHOWN)},
)
def get_one(call: Call) -> Answer:
    """Get the override of a menu item's count in a period of a date, or of that of an event."""
    stored = get_override(call.session, key_of(call))
    return Answer(body=describe(key_of(call), stored.document), tag=stored.tag, naming=("event",))


@overrides.view(
    "PUT",
    ADDRESS,
    name="put_override",
    roles=KITCHENS,
    query=EventQuery,
    body=OverrideBody,
    conditional=True,
    within=place_exists,
    prepare=read_word,
    echo=KEY,
    example=examples.OVERRIDE,
    answers={201: Described("The override was created.", OverrideAsPut, SHOWN), 200: Described("It was replaced.", OverrideAsPut, SHOWN)},
)
def put_one(call: Call) -> Answer:
    """Create or replace an override of the count without event, or of one event's: count replaces that one, add joins it.

    An event that nobody has pushed for the date is taken, and told by the warning unknown_event: its code may be misspelt.
    """
    key = key_of(call)
    document = {name: value for name, value in call.body.items() if name != "event"}
    stored, created = put_override(call.session, key, document, call.prepared, call.expected, call.now)
    warnings = warnings_about(call.session, key, document)
    body = describe(key, stored.document) | ({"warnings": warnings} if warnings else {})
    answer = put_answer(body, stored.tag, call, created=created)
    return replace(answer, location=f"{answer.location}?event={key.event}") if answer.location and key.event else answer


@overrides.view(
    "DELETE",
    ADDRESS,
    name="delete_override",
    roles=KITCHENS,
    query=EventQuery,
    conditional=True,
    within=override_exists,
    prepare=read_catalogue,
    answers={204: Described("The forecasts count again.")},
)
def delete_one(call: Call) -> Answer:
    """Delete an override, so that the forecasts count again."""
    delete_override(call.session, key_of(call), call.prepared, call.expected, call.now)
    return Answer(status=204)


def prepare(call: Call) -> Prepared:
    """The count to record."""
    return prepare_count(call.site, call.body, load_catalogue(call.session), call.now)


def count_exists(call: Call) -> None:
    """Raise NotFound where the site has no such count."""
    get_count(call.session, call.site, call.path["number"])


@counts.view(
    "POST",
    "/v1/sites/{site}/counts",
    name="record_count",
    keyed=REPEAT,
    roles=KITCHENS,
    body=CountBody,
    prepare=prepare,
    example=examples.COUNT,
    answers={201: Described("The count is recorded.", Count)},
)
def record(call: Call) -> Answer:
    """Record a stock count: the newest count of an item replaces its older lots, other items stay.

    Amounts and items of this service's own answers are taken as they are, with their display and title.
    """
    made = record_count(call.session, call.prepared, call.now)
    return Answer(body=made, status=201, location=f"{call.address}/{made['id']}")


@counts.view(
    "GET",
    "/v1/sites/{site}/counts",
    roles=READERS,
    query=CountQuery,
    answers={200: Described("The counts, the newest first.", page_of(Count))},
)
def list_counts(call: Call) -> dict[str, Any]:
    """List the counts that were taken on the business dates from one to another."""
    dates = (call.query["first"], call.query["last"])
    rows = count_page(call.session, load_catalogue(call.session), call.site, dates, call.query["cursor"], room(call))
    return page(call, rows, "id")


@counts.view(
    "GET",
    "/v1/sites/{site}/counts/{number}",
    name="get_count",
    roles=READERS,
    within=count_exists,
    answers={200: Described("The count.", Count)},
)
def get_count_of_site(call: Call) -> dict[str, Any]:
    """Get a stock count as it was recorded."""
    return get_count(call.session, call.site, call.path["number"])


@counts.view(
    "DELETE",
    "/v1/sites/{site}/counts/{number}",
    name="delete_count",
    roles=KITCHENS,
    within=count_exists,
    prepare=read_catalogue,
    answers={204: Described("The older count of each of its items holds again.")},
)
def delete_count_of_site(call: Call) -> Answer:
    """Delete a stock count, so that the older count of each of its items holds again."""
    delete_count(call.session, call.site, call.path["number"], call.prepared, call.now)
    return Answer(status=204)

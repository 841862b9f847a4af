"""Overrides and stock counts: a site's own word on what it will sell and on what it has."""

from datetime import date
from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.paging import page, room
from service.api.exchange.roles import KITCHENS, READERS
from service.api.exchange.views import REPEAT, Described, Noun
from service.api.nouns.collections import put_answer, read_catalogue
from service.api.schemas.counts import Count, CountBody, Override, OverrideBody
from service.api.schemas.pages import page_of
from service.api.schemas.queries import CountQuery
from service.api.wire.answers import Answer
from service.operations.collections import Stored
from service.operations.counts import Count as Prepared
from service.operations.counts import count_page, delete_count, get_count, prepare_count, record_count
from service.operations.loading import load_catalogue
from service.operations.overrides import delete_override, get_override, put_override, require_place
from service.store.overrides import OverrideKey

overrides = Noun("Overrides", "A site's own word on the count of a menu item.")
counts = Noun("Counts", "What a site found on hand.")

ADDRESS = "/v1/sites/{site}/overrides/{date}/{period}/{menu_item}"
KEY = ("site", "date", "period", "menu_item")
SHOWN = {"site": "mill-street", "date": "2026-12-03", "period": "lunch", "menu_item": "soup-bowl", **examples.OVERRIDE}


def key_of(call: Call) -> OverrideKey:
    """The key that the path names."""
    return OverrideKey(*(call.path[name] for name in KEY))


def place_exists(call: Call) -> None:
    """Raise NotFound unless the site has the period and the menu item exists."""
    require_place(load_catalogue(call.session), key_of(call))


def override_exists(call: Call) -> None:
    """Raise NotFound where there is no such override."""
    get_override(call.session, key_of(call))


def show(call: Call, stored: Stored) -> dict[str, object]:
    """An override as the interface gives it: its key first."""
    return {**{name: str(call.path[name]) for name in KEY}, **stored.document}


@overrides.view(
    "GET", ADDRESS, roles=READERS, within=override_exists, answers={200: Described("The override, with its ETag.", Override, SHOWN)}
)
def get_one(call: Call) -> Answer:
    """Get the override of a menu item's count in a period of a date."""
    stored = get_override(call.session, key_of(call))
    return Answer(body=show(call, stored), tag=stored.tag)


@overrides.view(
    "PUT",
    ADDRESS,
    roles=KITCHENS,
    body=OverrideBody,
    conditional=True,
    within=place_exists,
    prepare=read_catalogue,
    echo=KEY,
    example=examples.OVERRIDE,
    answers={201: Described("The override was created.", Override, SHOWN), 200: Described("It was replaced.", Override, SHOWN)},
)
def put_one(call: Call) -> Answer:
    """Create or replace an override: count replaces every forecast of the period, add joins the count without event."""
    stored, created = put_override(call.session, key_of(call), call.body, call.prepared, call.expected, call.now)
    return put_answer(show(call, stored), stored.tag, call, created=created)


@overrides.view(
    "DELETE",
    ADDRESS,
    roles=KITCHENS,
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
    first, last = (date.fromisoformat(call.query[key]) for key in ("first", "last"))
    after = call.query["cursor"]
    rows = count_page(call.session, load_catalogue(call.session), call.site, (first, last), after and int(after), room(call))
    return page(call, rows, lambda row: str(row["id"]))


@counts.view("GET", "/v1/sites/{site}/counts/{number}", roles=READERS, within=count_exists, answers={200: Described("The count.", Count)})
def get_count_of_site(call: Call) -> dict[str, Any]:
    """Get a stock count as it was recorded."""
    return get_count(call.session, call.site, call.path["number"])


@counts.view(
    "DELETE",
    "/v1/sites/{site}/counts/{number}",
    roles=KITCHENS,
    within=count_exists,
    prepare=read_catalogue,
    answers={204: Described("The older count of each of its items holds again.")},
)
def delete_count_of_site(call: Call) -> Answer:
    """Delete a stock count, so that the older count of each of its items holds again."""
    delete_count(call.session, call.site, call.path["number"], call.prepared, call.now)
    return Answer(status=204)

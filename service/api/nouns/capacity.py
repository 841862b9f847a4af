"""Capacity of a date: what of a site's shifts and machines is different then, and what holds on each date."""

from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.paging import page
from service.api.exchange.roles import KITCHENS, READERS
from service.api.exchange.views import Described, Noun
from service.api.nouns.collections import put_answer, read_catalogue
from service.api.schemas.capacity import Capacity, CapacityBody, CapacityQuery, DateCapacity
from service.api.schemas.pages import page_of
from service.api.wire.answers import Answer
from service.operations.capacity import delete_capacity, describe, get_capacity, holding, put_capacity
from service.operations.loading import load_catalogue

capacity = Noun("Capacity", "The shifts and machines of a site that hold on a date.")

ALL = "/v1/sites/{site}/capacity"
ADDRESS = f"{ALL}/{{date}}"
SHOWN = {"site": "mill-street", "date": "2026-12-03", **examples.CAPACITY}


def capacity_exists(call: Call) -> None:
    """Raise NotFound where nothing was stated for the date."""
    get_capacity(call.session, call.site, call.path["date"])


@capacity.view(
    "GET",
    ALL,
    roles=READERS,
    query=CapacityQuery,
    answers={200: Described("What holds, by date.", page_of(DateCapacity))},
)
def list_capacity(call: Call) -> dict[str, Any]:
    """List the shifts and machines that hold at a site on each date from one to another."""
    rows = holding(call.session, load_catalogue(call.session), call.site, call.query["first"], call.query["last"])
    return page(call, [row for row in rows if row["date"] > (call.query["cursor"] or "")], "date")


@capacity.view(
    "GET",
    ADDRESS,
    name="get_capacity",
    roles=READERS,
    within=capacity_exists,
    answers={200: Described("What is different, with its ETag.", Capacity, SHOWN)},
)
def get_one(call: Call) -> Answer:
    """Get what was stated to be different at a site on a date."""
    stored = get_capacity(call.session, call.site, call.path["date"])
    return Answer(body=describe(call.site, call.path["date"], stored.document), tag=stored.tag)


@capacity.view(
    "PUT",
    ADDRESS,
    name="put_capacity",
    roles=KITCHENS,
    body=CapacityBody,
    conditional=True,
    prepare=read_catalogue,
    echo=("site", "date"),
    example=examples.CAPACITY,
    answers={201: Described("It was created.", Capacity, SHOWN), 200: Described("It was replaced.", Capacity, SHOWN)},
)
def put_one(call: Call) -> Answer:
    """Create or replace what is different at a site on a date: a closing day, a cook short, an oven out of order."""
    on = call.path["date"]
    stored, created = put_capacity(call.session, call.site, on, call.body, call.prepared, call.expected, call.now)
    return put_answer(describe(call.site, on, stored.document), stored.tag, call, created=created)


@capacity.view(
    "DELETE",
    ADDRESS,
    name="delete_capacity",
    roles=KITCHENS,
    conditional=True,
    within=capacity_exists,
    prepare=read_catalogue,
    answers={204: Described("The date is as usual again.")},
)
def delete_one(call: Call) -> Answer:
    """Delete what is different at a site on a date, so that it is as usual again."""
    delete_capacity(call.session, call.site, call.path["date"], call.prepared, call.expected, call.now)
    return Answer(status=204)

"""Orders, and the lists of all sites that a caller may see, paged by site."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from service.api.exchange.call import Call
from service.api.exchange.paging import next_path
from service.api.exchange.roles import READERS
from service.api.exchange.views import BODY, Described, Noun
from service.api.schemas.orders import OrderList, OrderListsQuery
from service.api.schemas.pages import page_of
from service.api.schemas.prep_lists import PrepList
from service.api.schemas.queries import DateRange
from service.api.schemas.site_lists import PrepListsQuery
from service.api.wire.answers import Answer
from service.limits import SITES_PLANNED
from service.operations.lists import ListRequest, prep_list, prep_list_tag
from service.operations.orders import OrderRequest, order_list, order_list_tag, site_codes

orders = Noun("Orders and all sites", "What to buy for a delivery window, and the lists of all sites at once.")
PAGED = f"Each site is planned, so a page has at most {SITES_PLANNED} sites, whatever its limit."


def order_of(call: Call, site: str) -> OrderRequest:
    """The order list of a site that a query names."""
    first, last = (date.fromisoformat(call.query[name]) for name in ("first", "last"))
    return OrderRequest(site, first, last, call.config.pinned is not None)


def list_of(call: Call, site: str) -> ListRequest:
    """The prep list of a site that a path and a query name."""
    first = date.fromisoformat(call.query["first"]) if call.query["first"] else None
    return ListRequest(
        site=site, on=call.path["date"], first=first, station=None, units=call.query["units"], pinned=call.config.pinned is not None
    )


def paged(call: Call, one: Callable[[str], Mapping[str, Any]], tag: Callable[[str], str]) -> Answer:
    """A page of sites, one list each; its tag comes from those of the lists, so that an unchanged page costs no planning."""
    limit = min(call.query["limit"], SITES_PLANNED)
    codes = site_codes(call.session, call.identity.sites, call.query["cursor"], limit + 1)
    shown: Sequence[str] = codes[:limit]
    following = next_path(call, shown[-1]) if len(codes) > limit else None
    whole = hashlib.sha256(repr((following, *map(tag, shown))).encode()).hexdigest()[:32]
    return Answer(body=lambda: {"items": [one(code) for code in shown], "next": following}, tag=whole)


@orders.view(
    "GET",
    "/v1/sites/{site}/order-lists",
    roles=READERS,
    query=DateRange,
    plans=BODY,
    answers={200: Described("The list, computed from the plan, the counts and the packs in force.", OrderList)},
)
def get_order_list(call: Call) -> Answer:
    """Get what a site must order for a delivery window.

    The pulls that stand on the lists of its dates, less what store has for them, in whole packs of the kind that is cheapest per unit.
    """
    request = order_of(call, call.site)
    return Answer(body=lambda: order_list(call.session, request, call.now), tag=order_list_tag(call.session, request, call.now))


@orders.view(
    "GET",
    "/v1/order-lists",
    roles=READERS,
    query=OrderListsQuery,
    plans=BODY,
    answers={200: Described(f"The order lists, by site. {PAGED}", page_of(OrderList))},
)
def get_order_lists(call: Call) -> Answer:
    """Get the order lists of all sites in reach for a delivery window, paged by site."""
    return paged(
        call,
        lambda site: order_list(call.session, order_of(call, site), call.now),
        lambda site: order_list_tag(call.session, order_of(call, site), call.now),
    )


@orders.view(
    "GET",
    "/v1/prep-lists/{date}",
    roles=READERS,
    query=PrepListsQuery,
    plans=BODY,
    answers={200: Described(f"The prep lists, by site. {PAGED}", page_of(PrepList))},
)
def get_prep_lists(call: Call) -> Answer:
    """Get the prep lists of all sites in reach for a date, paged by site."""
    return paged(
        call,
        lambda site: prep_list(call.session, list_of(call, site), call.now),
        lambda site: prep_list_tag(call.session, list_of(call, site), call.now),
    )

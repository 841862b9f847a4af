"""Orders, and the lists of all sites that a caller may see, paged by site."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from flask import request

from service.api.exchange.call import Call
from service.api.exchange.paging import next_path
from service.api.exchange.roles import READERS
from service.api.exchange.views import BODY, Described, Noun
from service.api.schemas.orders import OrderList
from service.api.schemas.pages import page_of
from service.api.schemas.prep_lists import PrepList
from service.api.schemas.queries import DateRange, write_cursor
from service.api.schemas.site_lists import OrderListsQuery, PrepListsQuery, Revisions, RevisionsQuery
from service.api.wire.answers import Answer, wants_gzip
from service.api.wire.conditions import entity_tag
from service.kitchen.book.catalogue import Catalogue
from service.limits import SITES_PLANNED
from service.operations.feed import Feed, Tag, read_feed
from service.operations.lists import ListRequest, list_tag, prep_list
from service.operations.orders import OrderRequest, order_list, order_list_tag, order_tag

orders = Noun("Orders and all sites", "What to buy for a delivery window, and the lists of all sites at once.")
PAGED = f"Each site is planned, so a page has at most {SITES_PLANNED} sites, whatever its limit."


def order_of(call: Call, site: str) -> OrderRequest:
    """The order list of a site that a query names."""
    return OrderRequest(site, call.query["first"], call.query["last"], call.config.pinned is not None)


def list_of(call: Call, site: str) -> ListRequest:
    """The prep list of a site that a path and a query name."""
    query, pinned = call.query, call.config.pinned is not None
    return ListRequest(site=site, on=call.path["date"], first=query["first"], units=query["units"], pinned=pinned)


def feed_of(call: Call, tag: Tag, after: str = "", most: int | None = None) -> Feed:
    """The sites that a query asks for, with the tags of their lists; up to ``most`` behind a code."""
    asked, since = call.query["sites"], call.query["since"]
    return read_feed(call.session, tag, call.now, reach=call.identity.sites, asked=asked, since=since, after=after, most=most)


def paged(call: Call, one: Callable[[str], Mapping[str, Any]], tag: Tag) -> Answer:
    """A page of sites, one list each; its tag comes from those of the lists, so that an unchanged page costs no planning."""
    limit = min(call.query["limit"], SITES_PLANNED)
    tags = feed_of(call, tag, call.query["cursor"] or "", limit + 1).tags
    codes = list(tags)
    shown: Sequence[str] = codes[:limit]
    following = next_path(call, shown[-1]) if len(codes) > limit else None
    whole = hashlib.sha256(repr((following, *(tags[code] for code in shown))).encode()).hexdigest()[:32]
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
    name="list_order_lists",
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
        lambda catalogue, site, current, at: order_tag(catalogue, order_of(call, site), current, at),
    )


@orders.view(
    "GET",
    "/v1/prep-lists/{date}",
    name="list_prep_lists",
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
        lambda catalogue, site, current, at: list_tag(catalogue, list_of(call, site), current, at),
    )


@orders.view(
    "GET",
    "/v1/revisions",
    roles=READERS,
    query=RevisionsQuery,
    places=True,
    answers={200: Described("The sites whose lists have changed, by code.", Revisions)},
)
def list_revisions(call: Call) -> dict[str, Any]:
    """List which sites' prep lists of a date have changed since an earlier answer, without planning any of them.

    Send the `cursor` of the last answer as `since`. Of each site that is told, `etag` is that of its list, asked for without a query
    and in the encoding of this request; a list whose ETag a caller has need not be asked for. A list of today changes with each quarter
    of an hour. Sometimes a list is told that has not changed; none that has is left out.
    """
    pinned, gzipped = call.config.pinned is not None, wants_gzip(request)

    def tag(catalogue: Catalogue, site: str, current: int, at: datetime) -> str:
        return list_tag(catalogue, ListRequest(site=site, on=call.query["date"], pinned=pinned), current, at)

    feed = feed_of(call, tag)
    told = [{"site": site, "etag": entity_tag(seed, gzipped=gzipped)} for site, seed in feed.tags.items()]
    return {"revisions": told, "cursor": write_cursor(feed.state.write())}

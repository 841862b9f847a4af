"""Order lists: what a site must buy for the pulls of a delivery window, and lists of several sites at once.

Responsible for the plan behind an order list, for its document and its tag. Refuses to choose packs, and to know HTTP.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from service import __version__
from service.errors import Fault, Invalid
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import ItemWithTitle
from service.kitchen.book.packs import OWN_ALONE
from service.kitchen.book.site import Site
from service.kitchen.lists.listed import listed_on
from service.kitchen.lists.orders import OrderLine, order_lines
from service.kitchen.lists.parts import ComputedQuantity, PlannedFrom, WarningRow
from service.kitchen.lists.wording import Words, clock_pinned, warning_rows
from service.kitchen.measures.units import System
from service.kitchen.planning.plan import Plan
from service.operations.lists import FARTHEST, known_site, plan_site
from service.operations.loading import load_catalogue
from service.store import revisions


@dataclass(frozen=True, slots=True)
class OrderRequest:
    """Which order list is asked for; ``pinned`` tells that the service's clock is."""

    site: str
    first: date
    last: date
    pinned: bool = False


class OrderedPack(TypedDict):
    """So many of a pack, what one holds, and what they cost together."""

    label: str
    quantity: ComputedQuantity
    count: int
    cost: Mapping[str, str] | None


class OrderedItem(TypedDict):
    """An ingredient: its pulls, what store has for them, and what to order."""

    item: ItemWithTitle
    pulls: ComputedQuantity
    on_hand: ComputedQuantity
    order: ComputedQuantity
    packs: list[OrderedPack]


class OrderList(PlannedFrom):
    """What a site must buy for the pulls of a delivery window."""

    site: str
    to: str
    lines: list[OrderedItem]
    warnings: list[WarningRow]


def order_list(session: Session, request: OrderRequest, now: datetime) -> OrderList:
    """What a site must order for a delivery window (P13); raises NotFound for an unknown site, Invalid for dates that cannot be."""
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    planned_from = plan_from(site, request, now)
    planned = plan_site(session, catalogue, site, planned_from, request.last)
    lines = order_lines(planned, catalogue, site, (request.first, request.last))
    words = Words(catalogue=catalogue, site=site, calendar=site.calendar(), system=cast(System, site.units))
    warnings = [*_missing(lines, catalogue, site, request), *_planned(planned, request, words)]
    if request.pinned:
        warnings.insert(0, clock_pinned(site.calendar(), now))
    return {
        "site": site.code,
        "from": request.first.isoformat(),
        "to": request.last.isoformat(),
        "lines": [_ordered_item(each, words) for each in lines],
        "warnings": warnings,
    }


def order_list_tag(session: Session, request: OrderRequest, now: datetime) -> str:
    """The tag of everything that an order list is computed from; costs no planning. Raises as ``order_list`` does."""
    catalogue = load_catalogue(session)
    known_site(catalogue, request.site)
    return order_tag(catalogue, request, revisions.number(session, revisions.site(request.site)), now)


def order_tag(catalogue: Catalogue, request: OrderRequest, current: int, now: datetime) -> str:
    """The tag of an order list by the catalogue and the revision of its site; raises as ``order_list`` does."""
    site = known_site(catalogue, request.site)
    pinned = now.isoformat() if request.pinned else None
    inputs = ("order", __version__, site.code, catalogue.revision, current, plan_from(site, request, now), request, pinned)
    return hashlib.sha256(repr(tuple(map(str, inputs))).encode()).hexdigest()[:32]


def plan_from(site: Site, request: OrderRequest, now: datetime) -> date:
    """The date to plan from: the earlier of the site's today and the window's first; raises Invalid where that is too far behind."""
    first = min(site.calendar().business_date(now), request.first)
    if request.last - first > FARTHEST:
        detail = f"{request.last} is more than {FARTHEST.days} days after {first}, from which {site.code} plans; ask for an earlier date"
        raise Invalid([Fault("", "out_of_range", detail, "to")])
    return first


def _ordered_item(line: OrderLine, words: Words) -> OrderedItem:
    purchase = line.purchase
    packs: list[OrderedPack] = []
    if purchase is not None:
        cost = None if purchase.cost is None else purchase.cost.document()
        size = words.of(line.item, purchase.quantity / purchase.count, up=True)
        packs.append({"label": purchase.pack.label, "quantity": size, "count": purchase.count, "cost": cost})
    return {
        "item": words.item(line.item),
        "pulls": words.of(line.item, line.pulls, up=True),
        "on_hand": words.of(line.item, line.on_hand),
        "order": words.of(line.item, line.order, up=True),
        "packs": packs,
    }


def _missing(lines: list[OrderLine], catalogue: Catalogue, site: Site, request: OrderRequest) -> list[WarningRow]:
    """A warning for each thing to buy that has no price in force (C2)."""
    when = f"at {site.code} on {request.first}"
    lacking = {line.item: _lacking(line, when) for line in lines if line.unpriced}
    return [{"code": "missing_price", "detail": f"{catalogue.title(item)} has no {what}"} for item, what in lacking.items()]


def _lacking(line: OrderLine, when: str) -> str:
    """What the site has not in force: a pack, or the price of one."""
    if line.purchase is None:
        return f"pack in force {when}"
    own = f"; {OWN_ALONE}" if line.purchase.pack.site is not None else ""
    return f"price in force {when}{own}"


def _planned(planned: Plan, request: OrderRequest, words: Words) -> list[WarningRow]:
    """What the plan warns of on the dates of the window: needs that were left out are not ordered for."""
    warned = [each for each in planned.warnings if request.first <= listed_on(each.on, planned.first) <= request.last]
    return warning_rows(warned, words)

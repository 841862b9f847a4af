"""Orders: what pulls ask of store beyond what stands there, in whole packs.

Responsible for domain P13's order over a delivery window. Refuses to plan, and to know how an order is written.

Stock in store is used in the order of the pulls, first expired first, from the plan's first date on: what earlier
pulls take, and what expires before it can be used, is not on hand for the window.
"""

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from fractions import Fraction

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.item import Item
from service.kitchen.book.packs import Pack, packs_in_force
from service.kitchen.book.site import Site
from service.kitchen.costs.costing import unit_price
from service.kitchen.lists.listed import listed_on
from service.kitchen.measures.batches import round_up
from service.kitchen.measures.money import Money
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.pulls import Whence
from service.kitchen.planning.stock import NIL, Shelf

# A shelf and the pulls of one ingredient within the window.
Shelves = dict[Item, Shelf]


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many of a pack, what they hold in the stock kind, and what they cost where the pack has a price."""

    pack: Pack
    count: int
    quantity: float
    cost: Money | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """What the pulls of a window ask of an ingredient, what store has for them, and what to order; in the stock kind (P13)."""

    item: Item
    pulls: float
    on_hand: float
    short: float
    purchase: Purchase | None

    @property
    def order(self) -> float:
        """What is short, in whole packs where there are packs."""
        return self.purchase.quantity if self.purchase else self.short

    @property
    def unpriced(self) -> bool:
        """Whether something must be bought at a price that nobody stated (C2)."""
        return self.short > 0 and (self.purchase is None or self.purchase.cost is None)


@dataclass(slots=True)
class _Asked:
    """The pulls of one ingredient within the window, and what store gave to them."""

    pulls: float = 0.0
    taken: float = 0.0
    last: datetime | None = field(default=None)


def order_lines(plan: Plan, catalogue: Catalogue, site: Site, window: tuple[date, date]) -> list[OrderLine]:
    """What to order for the pulls whose list dates lie in a window, both ends included, by item (P13).

    Prices are those in force on the first date of the window.
    """
    calendar = site.calendar()
    first, last = window
    shelves: Shelves = defaultdict(Shelf)
    for lot in plan.reported.store:
        # A copy: the plan is others' too, and its lots must stay whole.
        shelves[lot.item].add(replace(lot, taken=[]))
    asked: dict[Item, _Asked] = defaultdict(_Asked)
    for pull in sorted(plan.pulls, key=lambda each: (each.starts, each.at)):
        listed = listed_on(calendar.business_date(pull.starts), plan.first)
        if listed > last or pull.amount <= 0 or pull.whence is not Whence.STORE:
            continue
        taken = sum(amount for _, amount in shelves[pull.item].take(pull.amount, pull.at))
        if listed >= first:
            row = asked[pull.item]
            row.pulls += pull.amount
            row.taken += taken
            row.last = pull.at if row.last is None else max(row.last, pull.at)
    return [
        _order_line(item, asked[item], shelves[item], catalogue.ingredients[item.code], site.code, first)
        for item in sorted(asked, key=lambda each: each.order)
    ]


def buy(ingredient: Ingredient, site: str, on: date, short: float) -> Purchase | None:
    """The packs that hold a quantity: of the pack that is cheapest per unit, then of which the fewest are needed (P13, S3).

    Prices in another currency than the first one stated are no prices (C2). Without any price the fewest packs count; without a
    pack there is nothing to choose. Raises KitchenError where a pack's measure does not convert.
    """
    packs = packs_in_force(ingredient.packs, site, on)
    currency = next((pack.price.currency for pack in packs if pack.price is not None), None)
    offers: list[tuple[Fraction, int, Pack, float]] = []
    for pack in packs:
        if (pack.price.currency if pack.price else None) == currency:
            size = float(ingredient.conversions().to_stock(pack.quantity))
            offers.append((unit_price(ingredient, pack) or Fraction(0), round_up(short / size), pack, size))
    if not offers:
        return None
    _, count, pack, size = min(offers, key=lambda each: each[:2])
    cost = None if pack.price is None else Money.of(pack.price.exact * count, pack.price.currency)
    return Purchase(pack, count, count * size, cost)


def _order_line(item: Item, asked: _Asked, shelf: Shelf, ingredient: Ingredient, site: str, on: date) -> OrderLine:
    short = asked.pulls - asked.taken
    if short <= NIL * asked.pulls:
        short = 0.0
    left = shelf.usable(asked.last) if asked.last is not None else 0.0
    return OrderLine(
        item=item, pulls=asked.pulls, on_hand=asked.taken + left, short=short, purchase=buy(ingredient, site, on, short) if short else None
    )

"""Cost: what a recipe's batch and portion and a menu item cost at a site on a date, as far as prices are known.

Responsible for the results of domain C2: which sums are told, and the cost in percent of the price. Refuses to
know how a unit of anything is costed, stock, orders, and how a cost is written.
"""

from dataclasses import dataclass
from decimal import Decimal

from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Component
from service.kitchen.costs.costing import Costings, Missing, by_products, total
from service.kitchen.measures.money import Money, to_decimal
from service.kitchen.measures.units import Quantity


@dataclass(frozen=True, slots=True)
class LineCost:
    """What one line of an authored batch costs: EP of a form, AP of an ingredient, so much of a sub-recipe."""

    item: Item
    quantity: Quantity
    cost: Money | None
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True)
class Credit:
    """What a by-product of an authored batch is worth; a by-product without a value has no credit."""

    item: Item
    quantity: Quantity
    credit: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What an authored batch of a version costs, and a portion of it; with ``missing`` prices both are partial (C2)."""

    version: Version
    currency: str | None
    batch: Money | None
    portion: Money | None
    lines: tuple[LineCost, ...]
    credits: tuple[Credit, ...]
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True)
class ComponentCost:
    """What one component costs for each guest who orders the menu item: its quantity × its uptake."""

    component: Component
    cost: Money | None
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MenuItemCost:
    """What a menu item costs, its price, and the cost in percent of the price (C2).

    ``unpriced`` says why no price can be compared with the cost; ``food_cost_percent`` is None then.
    """

    code: str
    currency: str | None
    cost: Money | None
    components: tuple[ComponentCost, ...]
    price: Money | None
    food_cost_percent: Decimal | None
    missing: tuple[Missing, ...]
    unpriced: str | None


def recipe_cost(costings: Costings, version: Version) -> Cost:
    """What an authored batch and a portion of a version cost at the site and on the date of some costings (C2).

    Sub-recipes cost by their versions in force then. Raises nothing: what cannot be costed stands in ``missing``.
    """
    costing = costings.of([version])
    batch = costing.batch(version)
    parts = costing.lines(version)
    given = [(item, quantity, costing.worth(item, quantity)) for item, quantity in by_products(version)]
    return Cost(
        version=version,
        currency=costing.currency,
        batch=batch.money(costing.currency),
        portion=costing.portion(version).money(costing.currency),
        lines=tuple(
            LineCost(line.item, line.quantity, part.money(costing.currency), part.missing)
            for line, part in zip(version.lines, parts, strict=True)
        ),
        credits=tuple(
            Credit(item, quantity, money) for item, quantity, part in given if part and (money := part.money(costing.currency)) is not None
        ),
        missing=batch.missing,
    )


def menu_item_cost(costings: Costings, code: str) -> MenuItemCost:
    """What a menu item costs for each guest who orders it, and that in percent of its price (C2).

    Raises KeyError for a menu item that the catalogue does not have; what cannot be costed stands in ``missing``.
    """
    sold = costings.catalogue.menu_items[code]
    versions = [costings.catalogue.in_force(each.recipe, costings.site, costings.on) for each in sold.components]
    costing = costings.of([version for version in versions if version is not None])
    parts = [costing.component(each) for each in sold.components]
    whole = total(parts)
    cost = whole.money(costing.currency)
    unpriced = _unpriced(sold.price, cost)
    percent = None if unpriced or cost is None or sold.price is None else to_decimal(100 * cost.exact / sold.price.exact)
    components = tuple(
        ComponentCost(each, part.money(costing.currency), part.missing) for each, part in zip(sold.components, parts, strict=True)
    )
    return MenuItemCost(
        code=code,
        currency=costing.currency,
        cost=cost,
        components=components,
        price=sold.price,
        food_cost_percent=percent,
        missing=whole.missing,
        unpriced=unpriced,
    )


def _unpriced(price: Money | None, cost: Money | None) -> str | None:
    """Why a price and a cost cannot be compared; None where they can, or where there is no cost (C2)."""
    if price is None:
        return "it states no price"
    if cost is not None and price.currency != cost.currency:
        return f"its price is in {price.currency}, and its cost in {cost.currency}"
    if price.amount == 0:
        return "its price is 0"
    return None

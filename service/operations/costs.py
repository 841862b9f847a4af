"""Costs: what a recipe's batch and portion and a menu item cost, as documents.

Responsible for choosing version, site and date, and for how a cost is told. Refuses to compute one, and to know HTTP.
"""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from service.errors import NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.json import Json
from service.kitchen.costs.cost import MenuItemCost, menu_item_cost, recipe_cost
from service.kitchen.costs.costing import Costings, Missing
from service.kitchen.measures.money import Money, write_decimal
from service.operations.collections import get_document
from service.operations.lists import known_site
from service.operations.loading import group_today, load_catalogue
from service.operations.publishing import get_version


def cost_of_recipe(session: Session, code: str, site: str | None, on: date | None, now: datetime) -> Json:
    """What the version in force costs (C2), today unless a date is given; raises NotFound where none is, and for the site."""
    catalogue = load_catalogue(session)
    day = on or today(catalogue, site, now)
    version = catalogue.in_force(code, site, day)
    if version is None:
        raise NotFound("version in force of the recipe", code)
    cost = recipe_cost(Costings(catalogue, site, day), version)
    document = get_version(session, code, version.number)
    given = {each["ingredient"]: each["quantity"] for each in document["by_products"]}
    return {
        "recipe": code,
        "version": version.number,
        "site": site,
        "on": day.isoformat(),
        "yield": document["yield"],
        "currency": cost.currency,
        "batch": written(cost.batch),
        "portion": written(cost.portion),
        "lines": [
            {
                "item": catalogue.titled(each.item),
                "quantity": line["quantity"],
                "cost": written(each.cost),
                "missing": missing(catalogue, each.missing),
            }
            for line, each in zip(document["lines"], cost.lines, strict=True)
        ],
        "by_products": [
            {"item": catalogue.titled(each.item), "quantity": given[each.item.code], "credit": written(each.credit)}
            for each in cost.credits
        ],
        "missing": missing(catalogue, cost.missing),
        "warnings": warnings(cost.missing),
    }


def cost_of_menu_item(session: Session, code: str, site: str | None, on: date | None, now: datetime) -> Json:
    """What a menu item costs, and that in percent of its price (C2); raises NotFound for it and for the site."""
    stored = get_document(session, "menu_items", code).document
    catalogue = load_catalogue(session)
    day = on or today(catalogue, site, now)
    cost = menu_item_cost(Costings(catalogue, site, day), code)
    return {
        "menu_item": code,
        "site": site,
        "on": day.isoformat(),
        "currency": cost.currency,
        "components": [
            {
                "recipe": each.component.recipe,
                "title": catalogue.title(Item.recipe(each.component.recipe)),
                "quantity": authored["quantity"],
                "uptake": authored["uptake"],
                "cost": written(each.cost),
                "missing": missing(catalogue, each.missing),
            }
            for authored, each in zip(stored["components"], cost.components, strict=True)
        ],
        "cost": written(cost.cost),
        "price": written(cost.price),
        "food_cost_percent": _percent(cost),
        "missing": missing(catalogue, cost.missing),
        "warnings": [*warnings(cost.missing), *_unpriced(catalogue, cost)],
    }


def today(catalogue: Catalogue, site: str | None, now: datetime) -> date:
    """The business date of a site, or the earliest of any without one; raises NotFound for a site that does not exist."""
    return group_today(catalogue, now) if site is None else known_site(catalogue, site).calendar().business_date(now)


def written(money: Money | None) -> Json | None:
    """Money as the interface writes it."""
    return None if money is None else money.document()


def missing(catalogue: Catalogue, prices: Iterable[Missing]) -> list[Json]:
    """The items whose price a cost lacks, and why."""
    return [{"item": catalogue.titled(each.item), "detail": each.detail} for each in prices]


def warnings(prices: Iterable[Missing]) -> list[Json]:
    """A warning for each price that is missing (C2)."""
    return [{"code": "missing_price", "detail": f"{each.detail}: the cost is without it"} for each in prices]


def _percent(cost: MenuItemCost) -> Decimal | None:
    return None if cost.food_cost_percent is None else Decimal(write_decimal(cost.food_cost_percent))


def _unpriced(catalogue: Catalogue, cost: MenuItemCost) -> list[Json]:
    if cost.unpriced is None:
        return []
    name = catalogue.menu_items[cost.code].name
    return [{"code": "missing_price", "detail": f"{name} has no food-cost percentage: {cost.unpriced}"}]

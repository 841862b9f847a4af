"""Costs: what recipes and menu items cost at a site on a date."""

from typing import Any

from service.api.exchange.call import Call
from service.api.exchange.named import exists, recipe_exists
from service.api.exchange.views import Described, Noun
from service.api.schemas.costs import MenuItemCost, RecipeCost
from service.api.schemas.queries import InForce
from service.operations.costs import cost_of_menu_item, cost_of_recipe

costs = Noun("Costs", "What recipes and menu items cost by the packs in force, and what that is of the price.")


@costs.view(
    "GET",
    "/v1/recipes/{code}/cost",
    query=InForce,
    within=recipe_exists,
    answers={200: Described("The cost of an authored batch and of a portion.", RecipeCost)},
)
def get_recipe_cost(call: Call) -> dict[str, Any]:
    """Get what the version in force costs, today or on a date, with packs for all sites or with a site's.

    Where a price is missing, the cost is partial and names it.
    """
    return cost_of_recipe(call.session, call.code, call.query["site"], call.query["on"], call.now)


@costs.view(
    "GET",
    "/v1/menu-items/{code}/cost",
    query=InForce,
    within=exists("menu_items"),
    answers={200: Described("The cost of what one guest gets, and that in percent of the price.", MenuItemCost)},
)
def get_menu_item_cost(call: Call) -> dict[str, Any]:
    """Get what a menu item costs, today or on a date, with packs for all sites or with a site's.

    Where a price is missing, the cost is partial and names it.
    """
    return cost_of_menu_item(call.session, call.code, call.query["site"], call.query["on"], call.now)

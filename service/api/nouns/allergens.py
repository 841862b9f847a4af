"""Allergen reports of recipes and menu items."""

from collections.abc import Collection
from datetime import date
from typing import Any

from service.api.exchange.call import Call
from service.api.exchange.named import exists, recipe_exists
from service.api.exchange.roles import READERS
from service.api.exchange.views import Described, Noun
from service.api.schemas.allergens import MenuItemAllergens, RecipeAllergens
from service.api.schemas.queries import InForce
from service.operations import allergens as reports

allergens = Noun(
    "Allergens", "What recipes and menu items contain and may contain, by the lists of the United States and the European Union."
)


def asked(call: Call) -> tuple[Collection[str] | None, date | None]:
    """The sites and the date that a query names; without a site, those of the caller."""
    site = call.query["site"]
    return (site,) if site else call.identity.sites, call.query["on"]


@allergens.view(
    "GET",
    "/v1/recipes/{code}/allergens",
    roles=READERS,
    query=InForce,
    within=recipe_exists,
    answers={200: Described("What the version in force contains and may contain, through all its levels.", RecipeAllergens)},
)
def get_recipe_allergens(call: Call) -> dict[str, Any]:
    """Get the allergens of the version of a recipe in force, today or on a date, everywhere or at a site.

    Without a site, a token of some sites gets what is in force at the first of them, in order of code.
    """
    sites, on = asked(call)
    return reports.of_recipe(call.session, call.code, sites, on, call.now)


@allergens.view(
    "GET",
    "/v1/menu-items/{code}/allergens",
    roles=READERS,
    query=InForce,
    within=exists("menu_items"),
    answers={200: Described("What its components contain and may contain, through all their levels.", MenuItemAllergens)},
)
def get_menu_item_allergens(call: Call) -> dict[str, Any]:
    """Get the allergens of a menu item, today or on a date, everywhere or at a site.

    Every component counts, also one that only some guests take. A component without a version in force is named in a warning.
    """
    sites, on = asked(call)
    return reports.of_menu_item(call.session, call.code, sites, on, call.now)

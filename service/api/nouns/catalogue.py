"""Stations, equipment, ingredients, menu items and sites: the five plain collections of the catalogue."""

from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.named import exists
from service.api.exchange.roles import ANYBODY, READERS
from service.api.exchange.views import Described, Noun
from service.api.nouns.collections import Collection
from service.api.schemas.equipment import Equipment, EquipmentBody
from service.api.schemas.ingredients import Ingredient, IngredientBody
from service.api.schemas.menu_items import MenuItem, MenuItemBody, ShownMenuItem
from service.api.schemas.sites import Site, SiteBody
from service.api.schemas.stations import Station, StationBody
from service.api.schemas.uses import Uses
from service.operations.users import ingredient_users

stations = Noun("Stations", "Work areas of the kitchens.")
equipment = Noun("Equipment", "Kinds of machines and places that steps need.")
ingredients = Noun("Ingredients", "What is bought, the forms it is made ready in, and its packs.")
menu_items = Noun("Menu items", "What is sold: components, each a recipe and a quantity.")
sites = Noun("Sites", "Kitchens: clock, periods, stations, vessels, pars, machines and shifts.")

Collection(
    key="stations",
    path="/v1/stations",
    one="station",
    many="stations",
    body=StationBody,
    entry=Station,
    example=examples.STATION,
    example_code="veg",
).declare(stations)
Collection(
    key="equipment",
    path="/v1/equipment",
    one="equipment",
    many="equipment",
    body=EquipmentBody,
    entry=Equipment,
    example=examples.DECK_OVEN,
    example_code="deck-oven",
).declare(equipment)
Collection(
    key="ingredients",
    path="/v1/ingredients",
    one="ingredient",
    many="ingredients",
    body=IngredientBody,
    entry=Ingredient,
    example=examples.POTATO,
    example_code="potato",
    acknowledges=True,
).declare(ingredients)
Collection(
    key="menu_items",
    path="/v1/menu-items",
    one="menu item",
    many="menu items",
    body=MenuItemBody,
    entry=MenuItem,
    example=examples.SOUP_BOWL,
    example_code="soup-bowl",
    readers=ANYBODY,
    shown=ShownMenuItem,
).declare(menu_items)
Collection(
    key="sites",
    path="/v1/sites",
    one="site",
    many="sites",
    body=SiteBody,
    entry=Site,
    example=examples.SITE,
    example_code="mill-street",
    readers=ANYBODY,
).declare(sites)


@ingredients.view(
    "GET",
    "/v1/ingredients/{code}/uses",
    roles=READERS,
    within=exists("ingredients"),
    answers={200: Described("Every form, version, menu item and par that it reaches, each once.", Uses)},
)
def get_uses(call: Call) -> dict[str, Any]:
    """Get everything that uses an ingredient today or later, at all levels.

    A caller limited to some sites is told of what is in force there.
    """
    return ingredient_users(call.session, call.code, call.identity.sites, call.now)

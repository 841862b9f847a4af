"""Stations, ingredients, menu items and sites: the four plain collections of the catalogue."""

from service.api import examples
from service.api.auth import ANYBODY
from service.api.collections import Collection
from service.api.schemas.ingredients import Ingredient, IngredientBody
from service.api.schemas.menu_items import MenuItem, MenuItemBody, ShownMenuItem
from service.api.schemas.sites import Site, SiteBody
from service.api.schemas.stations import Station, StationBody
from service.api.views import Noun

stations = Noun("Stations", "Work areas of the kitchens.")
ingredients = Noun("Ingredients", "What is bought, the forms it is made ready in, and its packs.")
menu_items = Noun("Menu items", "What is sold: components, each a recipe and a quantity.")
sites = Noun("Sites", "Kitchens: clock, periods, stations, vessels and pars.")

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
    key="ingredients",
    path="/v1/ingredients",
    one="ingredient",
    many="ingredients",
    body=IngredientBody,
    entry=Ingredient,
    example=examples.ONION,
    example_code="onion",
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
).declare(sites)

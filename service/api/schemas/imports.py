"""A whole catalogue in one body."""

from service.api.fields import AllergenName, CivilDate, Code, Document, Many, Object, WholeNumber
from service.api.schemas.equipment import Equipment
from service.api.schemas.ingredients import Ingredient
from service.api.schemas.menu_items import MenuItem
from service.api.schemas.recipes import DraftBody
from service.api.schemas.sites import Site
from service.api.schemas.stations import Station
from service.limits import ALLERGENS, Span

ELEMENTS = 100_000
COUNT = Span(0, 5 * ELEMENTS)


class ImportedRecipe(DraftBody):
    """A draft with its code and, if it is to be published, from when."""

    code = Code(required=True)
    publish_from = CivilDate(load_default=None)
    acknowledge = Many(AllergenName(), most=len(ALLERGENS) * 2, load_default=list)


class ImportBody(Document):
    """Stations, equipment, ingredients, recipes, menu items and sites, each its PUT body plus its code."""

    stations = Many(Object(Station), most=ELEMENTS, unique=("code",), load_default=list)
    equipment = Many(Object(Equipment), most=ELEMENTS, unique=("code",), load_default=list)
    ingredients = Many(Object(Ingredient), most=ELEMENTS, unique=("code",), load_default=list)
    recipes = Many(Object(ImportedRecipe), most=ELEMENTS, unique=("code",), load_default=list)
    menu_items = Many(Object(MenuItem), most=ELEMENTS, unique=("code",), load_default=list)
    sites = Many(Object(Site), most=ELEMENTS, unique=("code",), load_default=list)


class ImportResult(Document):
    """What an import did, or would do."""

    created = WholeNumber(COUNT, required=True)
    replaced = WholeNumber(COUNT, required=True)
    unchanged = WholeNumber(COUNT, required=True)
    published = WholeNumber(COUNT, required=True)

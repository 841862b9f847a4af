"""What publishing a draft would do."""

from service.api.fields import AllergenName, CivilDate, Code, Document, Duration, Many, Number, Object, Text, WholeNumber
from service.api.schemas.changes import Changes
from service.api.schemas.computed import MANY, NUMBERED
from service.api.schemas.costs import PERCENT, Cost, MissingPrice
from service.api.schemas.measures import Money
from service.api.schemas.prep_lists import Allergens
from service.api.schemas.problems import ProblemFault
from service.api.schemas.versions import Warned
from service.limits import ERRORS, RECIPE_DEPTH, Span

LEVEL = Span(0, RECIPE_DEPTH + 1)
GUESTS = Span(0, 10**12)


class Turnover(Document):
    """The allergens that a recipe or a menu item gains and loses; the published recipe itself is at level 0."""

    recipe = Code()
    menu_item = Code()
    title = Text(required=True)
    level = WholeNumber(LEVEL, required=True)
    added = Object(Allergens, required=True)
    removed = Object(Allergens, required=True)


class StationTime(Document):
    """Hands-on time of an authored batch at a station, before and after: the steps, and the forms that the lines name."""

    station = Code(required=True)
    name = Text(required=True)
    before = Duration(required=True)
    after = Duration(required=True)


class BatchCost(Document):
    """What an authored batch and a portion cost, as far as prices are known."""

    batch = Object(Cost, allow_none=True, required=True)
    portion = Object(Cost, allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)


class RecipeCosts(Document):
    """What a recipe costs before and after; null where there is no version."""

    recipe = Code(required=True)
    title = Text(required=True)
    before = Object(BatchCost, allow_none=True, required=True)
    after = Object(BatchCost, allow_none=True, required=True)


class SoldCost(Document):
    """What a menu item costs, and that in percent of its price."""

    cost = Object(Cost, allow_none=True, required=True)
    price = Object(Money, allow_none=True, required=True)
    food_cost_percent = Number(PERCENT, allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)


class MenuItemCosts(Document):
    """What a menu item costs before and after."""

    menu_item = Code(required=True)
    title = Text(required=True)
    before = Object(SoldCost, allow_none=True, required=True)
    after = Object(SoldCost, allow_none=True, required=True)


class Costs(Document):
    """Costs at a site (null: with packs for all sites) on the day on which the version begins: the recipe first, then all above it."""

    site = Code(allow_none=True, required=True)
    on = CivilDate(required=True)
    recipes = Many(Object(RecipeCosts), most=MANY, required=True)
    menu_items = Many(Object(MenuItemCosts), most=MANY, required=True)


class Guests(Document):
    """How many guests are expected for a menu item."""

    menu_item = Code(required=True)
    count = Number(GUESTS, required=True)


class TouchedDate(Document):
    """A date with guests for menu items that the version reaches."""

    date = CivilDate(required=True)
    menu_items = Many(Object(Guests), most=MANY, required=True)


class TouchedSite(Document):
    """A site with forecasts that the version touches."""

    site = Code(required=True)
    name = Text(required=True)
    dates = Many(Object(TouchedDate), most=MANY, required=True)


class Preview(Document):
    """What publishing would do. Faults stand in its way; what cannot be told of a faulty draft is null or left out."""

    recipe = Code(required=True)
    version = WholeNumber(NUMBERED, required=True)
    starts_on = CivilDate(data_key="from", required=True)
    sites = Many(Code(), most=MANY, allow_none=True, required=True)
    compared_with = WholeNumber(NUMBERED, allow_none=True, required=True)
    faults = Many(Object(ProblemFault), most=ERRORS, required=True)
    more_faults = WholeNumber(NUMBERED)
    warnings = Many(Object(Warned), most=MANY, required=True)
    cooking_yield = Number(GUESTS, allow_none=True, required=True)
    changes = Object(Changes, required=True)
    acknowledge = Many(AllergenName(), most=MANY, required=True)
    allergens = Many(Object(Turnover), most=MANY, required=True)
    stations = Many(Object(StationTime), most=MANY, required=True)
    costs = Many(Object(Costs), most=MANY, required=True)
    forecasts = Many(Object(TouchedSite), most=MANY, required=True)

"""Uses: everything that an ingredient reaches."""

from service.api.fields import CivilDate, Code, Document, Flag, Many, Object, Text, TimeOfDay, WholeNumber
from service.api.schemas.computed import MANY, NUMBERED, ItemWithTitle
from service.limits import FORMS, LINES, NAME_LENGTH, RECIPE_DEPTH, WEEKDAY, Span

LEVEL = Span(1, RECIPE_DEPTH + 1)


class UsedForm(Document):
    """A form that the ingredient is made ready in."""

    form = Code(required=True)
    name = Text(required=True)
    station = Code(required=True)
    level = WholeNumber(LEVEL, required=True)


class UsingRecipe(Document):
    """A version in force today or later; direct where its own lines name the ingredient, and then as which items."""

    recipe = Code(required=True)
    title = Text(required=True)
    version = WholeNumber(NUMBERED, required=True)
    starts_on = CivilDate(data_key="from", required=True)
    sites = Many(Code(), most=MANY, allow_none=True, required=True)
    level = WholeNumber(LEVEL, required=True)
    direct = Flag(required=True)
    items = Many(Object(ItemWithTitle), most=LINES, required=True)


class UsingMenuItem(Document):
    """A menu item that sells a recipe of the ingredient."""

    menu_item = Code(required=True)
    name = Text(NAME_LENGTH, required=True)
    level = WholeNumber(LEVEL, required=True)


class UsingPar(Document):
    """A par of a site, of a form or of a recipe of the ingredient."""

    site = Code(required=True)
    item = Object(ItemWithTitle, required=True)
    weekdays = Many(WholeNumber(WEEKDAY), most=7, required=True)
    by = TimeOfDay(required=True)
    level = WholeNumber(LEVEL, required=True)


class Uses(Document):
    """Everything that an ingredient reaches, each once; level counts the recipes on the shortest way, 1 for what names it itself."""

    ingredient = Code(required=True)
    name = Text(required=True)
    forms = Many(Object(UsedForm), most=FORMS, required=True)
    recipes = Many(Object(UsingRecipe), most=MANY, required=True)
    menu_items = Many(Object(UsingMenuItem), most=MANY, required=True)
    pars = Many(Object(UsingPar), most=MANY, required=True)

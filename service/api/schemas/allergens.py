"""Allergen reports: what a recipe or a menu item contains, as two laws name it, and where it comes from."""

from service.api.fields import AllergenName, CivilDate, Code, Document, Many, Object, Text, WholeNumber
from service.api.schemas.computed import MANY, NUMBERED, ItemWithTitle
from service.api.schemas.versions import Warned
from service.limits import COMPONENTS, NOTE_LENGTH


class Held(Document):
    """What something contains, and what it may contain besides."""

    contains = Many(AllergenName(), most=MANY, required=True)
    may_contain = Many(AllergenName(), most=MANY, required=True)


class ListedAllergen(Held):
    """One entry of a law's list that is there, with the names under which it was recorded."""

    allergen = Text(required=True)
    title = Text(required=True)


class AllergenSource(Held):
    """An ingredient that brings allergens, and the recipes whose lines name it."""

    item = Object(ItemWithTitle, required=True)
    recipes = Many(Code(), most=MANY, required=True)


class AllergenReport(Held):
    """What both laws name of it; ``outside`` is what neither does."""

    site = Code(allow_none=True, required=True)
    on = CivilDate(required=True)
    us = Many(Object(ListedAllergen), most=MANY, required=True)
    eu = Many(Object(ListedAllergen), most=MANY, required=True)
    outside = Many(AllergenName(), most=MANY, required=True)
    sources = Many(Object(AllergenSource), most=MANY, required=True)
    warnings = Many(Object(Warned), most=MANY, required=True)
    cautions = Many(Text(NOTE_LENGTH), most=MANY, required=True)


class RecipeAllergens(AllergenReport):
    """The allergens of the version of a recipe that is in force."""

    recipe = Code(required=True)
    title = Text(required=True)
    version = WholeNumber(NUMBERED, required=True)


class ComponentAllergens(Held):
    """The allergens of one component; without a version in force they are not known."""

    recipe = Code(required=True)
    title = Text(required=True)
    version = WholeNumber(NUMBERED, allow_none=True, required=True)


class MenuItemAllergens(AllergenReport):
    """The allergens of everything that a guest may be served with a menu item."""

    menu_item = Code(required=True)
    name = Text(required=True)
    components = Many(Object(ComponentAllergens), most=COMPONENTS, required=True)

"""Ingredients: what is bought, its forms and packs."""

from service.api.fields import (
    AllergenName,
    Choice,
    CivilDate,
    Code,
    Document,
    Duration,
    Flag,
    Keeps,
    Many,
    Number,
    Object,
    QuantityField,
    Text,
    WholeNumber,
)
from service.api.schemas.measures import Equivalent, HandsOnTime, Money
from service.kitchen.measures.units import KINDS
from service.limits import ALLERGENS, BY_PRODUCTS, EQUIVALENTS, FORMS, MAKES_FOR, PACKS, STORAGE, TRIM_YIELD, Span


class TrimmedByProduct(Document):
    """What trimming gives besides: a fraction of the AP drawn."""

    ingredient = Code(required=True)
    fraction = Number(Span(0, 1, above=True), required=True)


class Form(Document):
    """One way an ingredient is made ready."""

    code = Code(required=True)
    name = Text(required=True)
    station = Code(required=True)
    trim_yield = Number(TRIM_YIELD, required=True)
    source = Text(load_default=None)
    cut = Code(load_default=None)
    whole = Flag(load_default=False)
    by_products = Many(Object(TrimmedByProduct), most=BY_PRODUCTS, unique=("ingredient",), load_default=list)
    keeps = Keeps(load_default=None)
    makes_for = WholeNumber(MAKES_FOR, load_default=1)
    lead = Duration(load_default=None)
    equivalents = Many(Object(Equivalent), most=EQUIVALENTS, load_default=list)
    active = Object(HandsOnTime, load_default=None)


class Pack(Document):
    """A pack as bought, its price in force from a date, at all sites or at one.

    A site that has packs of its own in force buys those alone, priced or not: costs and orders of the site look at no other.
    """

    label = Text(required=True)
    quantity = QuantityField(portion=False, required=True)
    price = Object(Money, load_default=None)
    starts_on = CivilDate(attribute="from", data_key="from", load_default=None)
    site = Code(load_default=None)


class IngredientBody(Document):
    """An ingredient as purchased, with the forms it is made ready in; what is on tap is in no pull and no order."""

    name = Text(required=True)
    kind = Choice(KINDS, required=True)
    piece = QuantityField(portion=False, load_default=None)
    equivalents = Many(Object(Equivalent), most=EQUIVALENTS, load_default=list)
    contains = Many(AllergenName(), most=len(ALLERGENS), unique=(), load_default=list)
    may_contain = Many(AllergenName(), most=len(ALLERGENS), unique=(), load_default=list)
    storage = Choice(STORAGE, load_default=None)
    thaw = Duration(load_default=None)
    keeps = Keeps(load_default=None)
    on_tap = Flag(load_default=False)
    value = Object(Money, load_default=None)
    forms = Many(Object(Form), most=FORMS, unique=("code",), load_default=list)
    packs = Many(Object(Pack), most=PACKS, load_default=list)


class Ingredient(IngredientBody):
    """An ingredient with its code."""

    code = Code(required=True)

"""Costs: what a recipe and a menu item cost, as far as prices are known."""

from typing import Any, ClassVar

from service.api.fields import CivilDate, Code, Document, Many, MoneyText, Number, Object, QuantityField, Text
from service.api.schemas.computed import MANY, NUMBERED, ItemWithTitle
from service.api.schemas.measures import Money
from service.api.schemas.versions import Warned
from service.limits import BY_PRODUCTS, COMPONENTS, LINES, MONEY_DECIMALS, NAME_LENGTH, NOTE_LENGTH, UPTAKE, Span

PERCENT = Span(-(10**15), 10**15)


class CostText(MoneyText):
    """A computed amount of money, as a decimal text."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": rf"^-?[0-9]+\.[0-9]{{2,{MONEY_DECIMALS}}}$", "examples": ["12.40"]}


class Cost(Money):
    """A computed amount of money of at most four decimals; credits may make it negative. Left out as money is."""

    amount = CostText(required=True)


class MissingPrice(Document):
    """A price that a cost lacks: of which item, and why."""

    item = Object(ItemWithTitle, required=True)
    detail = Text(NOTE_LENGTH, required=True)


class CostedLine(Document):
    """What one line of an authored batch costs, as far as it is known."""

    item = Object(ItemWithTitle, required=True)
    quantity = QuantityField(percent=True, required=True)
    cost = Object(Cost, allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)


class CreditedByProduct(Document):
    """What a by-product of an authored batch is worth."""

    item = Object(ItemWithTitle, required=True)
    quantity = QuantityField(portion=False, required=True)
    credit = Object(Cost, required=True)


class RecipeCost(Document):
    """What an authored batch and a portion of a version cost; both are partial where prices are missing."""

    recipe = Code(required=True)
    version = Number(NUMBERED, required=True)
    site = Code(allow_none=True, required=True)
    on = CivilDate(required=True)
    makes = QuantityField(data_key="yield", portion=False, required=True)
    currency = Text(3, allow_none=True, required=True)
    batch = Object(Cost, allow_none=True, required=True)
    portion = Object(Cost, allow_none=True, required=True)
    lines = Many(Object(CostedLine), most=LINES, required=True)
    by_products = Many(Object(CreditedByProduct), most=BY_PRODUCTS, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)
    warnings = Many(Object(Warned), most=MANY, required=True)


class CostedComponent(Document):
    """What a component costs for each guest who orders the menu item: its quantity times its uptake."""

    recipe = Code(required=True)
    title = Text(NAME_LENGTH, required=True)
    quantity = QuantityField(required=True)
    uptake = Number(UPTAKE, required=True)
    cost = Object(Cost, allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)


class MenuItemCost(Document):
    """What a menu item costs, and that in percent of its price; partial where prices are missing."""

    menu_item = Code(required=True)
    site = Code(allow_none=True, required=True)
    on = CivilDate(required=True)
    currency = Text(3, allow_none=True, required=True)
    components = Many(Object(CostedComponent), most=COMPONENTS, required=True)
    cost = Object(Cost, allow_none=True, required=True)
    price = Object(Money, allow_none=True, required=True)
    food_cost_percent = Number(PERCENT, allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)
    warnings = Many(Object(Warned), most=MANY, required=True)

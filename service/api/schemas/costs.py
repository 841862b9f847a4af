"""Costs: what a recipe and a menu item cost, as far as prices are known."""

from typing import Any

from service.api.fields import CivilDate, Code, Document, Many, Money, Number, Object, QuantityField, Text
from service.api.schemas.computed import ItemWithTitle
from service.api.schemas.versions import Warned
from service.limits import BY_PRODUCTS, COMPONENTS, LINES, NAME_LENGTH, NOTE_LENGTH, UPTAKE, Span

MANY = 100_000
NUMBERED = Span(1, 999_999_999)
PERCENT = Span(-(10**15), 10**15)


class Cost(Money):
    """A computed amount of money, at most four decimals; credits may make it negative."""

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {"$ref": "#/components/schemas/Cost"}


class MissingPrice(Document):
    """A price that a cost lacks: of which item, and why."""

    item = Object(ItemWithTitle, required=True)
    detail = Text(NOTE_LENGTH, required=True)


class CostedLine(Document):
    """What one line of an authored batch costs, as far as it is known."""

    item = Object(ItemWithTitle, required=True)
    quantity = QuantityField(percent=True, required=True)
    cost = Cost(allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)


class CreditedByProduct(Document):
    """What a by-product of an authored batch is worth."""

    item = Object(ItemWithTitle, required=True)
    quantity = QuantityField(portion=False, required=True)
    credit = Cost(required=True)


class RecipeCost(Document):
    """What an authored batch and a portion of a version cost; both are partial where prices are missing."""

    recipe = Code(required=True)
    version = Number(NUMBERED, required=True)
    site = Code(allow_none=True, required=True)
    on = CivilDate(required=True)
    makes = QuantityField(data_key="yield", portion=False, required=True)
    currency = Text(3, allow_none=True, required=True)
    batch = Cost(allow_none=True, required=True)
    portion = Cost(allow_none=True, required=True)
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
    cost = Cost(allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)


class MenuItemCost(Document):
    """What a menu item costs, and that in percent of its price; partial where prices are missing."""

    menu_item = Code(required=True)
    site = Code(allow_none=True, required=True)
    on = CivilDate(required=True)
    currency = Text(3, allow_none=True, required=True)
    components = Many(Object(CostedComponent), most=COMPONENTS, required=True)
    cost = Cost(allow_none=True, required=True)
    price = Money(allow_none=True, required=True)
    food_cost_percent = Number(PERCENT, allow_none=True, required=True)
    missing = Many(Object(MissingPrice), most=MANY, required=True)
    warnings = Many(Object(Warned), most=MANY, required=True)

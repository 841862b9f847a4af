"""Menu items: what is sold, its components and its till codes."""

from typing import Any

from service.api.fields import CivilDate, Code, Document, Many, Number, Object, QuantityField, Text
from service.api.fields.faults import flaws_at
from service.api.schemas.measures import Money
from service.limits import BUFFER, COMPONENTS, TILL_CODE_LENGTH, TILL_CODES, UPTAKE


class Component(Document):
    """What one guest gets of one recipe, and the share of guests who get it."""

    recipe = Code(required=True)
    quantity = QuantityField(required=True)
    uptake = Number(UPTAKE, load_default=1)


class TillCode(Document):
    """What a point-of-sale source calls the menu item."""

    source = Code(required=True)
    till_code = Text(TILL_CODE_LENGTH, required=True)


class MenuItemBody(Document):
    """What is sold."""

    name = Text(required=True)
    price = Object(Money, load_default=None)
    buffer = Number(BUFFER, load_default=None)
    components = Many(Object(Component), most=COMPONENTS, least=1, required=True)
    codes = Many(Object(TillCode), most=TILL_CODES, unique=("source", "till_code"), load_default=list)
    sold_from = CivilDate(load_default=None)
    sold_until = CivilDate(load_default=None)

    def check(self, read: dict[str, Any]) -> None:
        """The last date of sale is not before the first."""
        if read["sold_from"] and read["sold_until"] and read["sold_until"] < read["sold_from"]:
            raise flaws_at([(("sold_until",), "out_of_range", f"write {read['sold_from']} or later, or null: until then it is sold")])


class MenuItem(MenuItemBody):
    """A menu item with its code."""

    code = Code(required=True)


class ShownMenuItem(MenuItem):
    """A menu item as a caller is shown it: an integration gets code, name and the codes of its own source alone."""

    components = Many(Object(Component), most=COMPONENTS)

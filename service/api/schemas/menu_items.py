"""Menu items: what is sold, its components and its till codes."""

from service.api.fields import Code, Document, Many, Money, Number, Object, QuantityField, Text
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
    price = Money(load_default=None)
    buffer = Number(BUFFER, load_default=None)
    components = Many(Object(Component), most=COMPONENTS, least=1, required=True)
    codes = Many(Object(TillCode), most=TILL_CODES, unique=("source", "till_code"), load_default=list)


class MenuItem(MenuItemBody):
    """A menu item with its code."""

    code = Code(required=True)


class ShownMenuItem(MenuItem):
    """A menu item as a caller is shown it: an integration gets code, name and the codes of its own source alone."""

    components = Many(Object(Component), most=COMPONENTS)

"""What the service computes: quantities with their display text, items with their titles."""

from service.api.fields import Code, Document, Number, Text
from service.limits import NAME_LENGTH, Span

MANY = 100_000
NUMBERED = Span(1, 999_999_999)
EVERYTHING = Span(-(10**15), 10**15)


class ComputedQuantity(Document):
    """A computed quantity: exact in g, mL or each, and as a cook reads it."""

    amount = Number(EVERYTHING, required=True)
    unit = Text(32, required=True)
    display = Text(NAME_LENGTH, required=True)


class ItemWithTitle(Document):
    """An ingredient, a form of one, or a recipe, with its title."""

    ingredient = Code()
    form = Code()
    recipe = Code()
    title = Text(2 * NAME_LENGTH, required=True)

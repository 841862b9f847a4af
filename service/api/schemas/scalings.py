"""Scalings: one recipe to a quantity, to portions, or to what is on hand."""

from typing import Any

from service.api.fields import (
    Choice,
    CivilDate,
    Code,
    Document,
    Flag,
    ItemReference,
    Many,
    Number,
    Object,
    QuantityField,
    Text,
    WholeNumber,
)
from service.api.fields.faults import flaws_at
from service.api.schemas.computed import MANY, ComputedQuantity, ItemWithTitle
from service.limits import LINES, NOTE_LENGTH, UNIT_SYSTEMS, Span


class Have(Document):
    """The item that limits the run, and how much of it there is."""

    item = ItemReference(required=True)
    quantity = QuantityField(required=True)


class Target(Document):
    """To what the recipe is scaled: a quantity of its yield, or what is on hand of one item."""

    quantity = QuantityField(load_default=None)
    have = Object(Have, load_default=None)

    def check(self, read: dict[str, Any]) -> None:
        """Exactly one of the two; the other leaves no trace."""
        given = [key for key in ("quantity", "have") if read[key] is not None]
        if not given:
            raise flaws_at([(("quantity",), "required", "state a quantity, or have")])
        if len(given) == 2:
            raise flaws_at([(("have",), "unknown_field", "state a quantity or have, not both")])


class ScalingBody(Document):
    """What to scale to, for which site and date, shown in which units."""

    to = Object(Target, required=True)
    site = Code(load_default=None)
    on = CivilDate(load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)


class ScaledLine(Document):
    """One line of one batch."""

    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)
    step = WholeNumber(Span(1, 100), required=True, allow_none=True)
    critical = Flag(required=True)
    note = Text(NOTE_LENGTH, blank=True, required=True)


class ScaledBatch(Document):
    """Batches of one size."""

    count = WholeNumber(Span(1, MANY), required=True)
    quantity = Object(ComputedQuantity, required=True)
    factor = Number(Span(0, 10_000), required=True)
    lines = Many(Object(ScaledLine), most=LINES, required=True)


class Drawn(Document):
    """An item and how much of it."""

    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)


class ScaledRecipe(Document):
    """A recipe scaled."""

    recipe = Code(required=True)
    version = WholeNumber(Span(1, 999_999_999), required=True)
    quantity = Object(ComputedQuantity, required=True)
    batches = Many(Object(ScaledBatch), most=MANY, required=True)
    ingredients = Many(Object(Drawn), most=MANY, required=True)
    notes = Many(Text(NOTE_LENGTH), most=MANY, required=True)
    cautions = Many(Text(NOTE_LENGTH), most=MANY, required=True)

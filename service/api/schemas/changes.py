"""What differs between two states of a recipe."""

from typing import Any, ClassVar

from service.api.fields import Code, Document, Field, Many, Object, Text, WholeNumber
from service.api.schemas.computed import NUMBERED
from service.api.schemas.recipes import CookedByProduct, Line, Step
from service.limits import BY_PRODUCTS, LINES, STEPS, Span

FIELDS = 100


class Anything(Field):
    """A value of any field of a draft."""

    shape: ClassVar[dict[str, Any]] = {}

    def read(self, value: Any) -> Any:
        """The value as it is."""
        return value


class ChangedField(Document):
    """A field of the draft, with its old and its new value."""

    field = Text(required=True)
    old = Anything(allow_none=True, required=True)
    new = Anything(allow_none=True, required=True)


class NumberedLine(Line):
    """A line with its number, from 1."""

    number = WholeNumber(Span(1, LINES), required=True)


class NumberedStep(Step):
    """A step with its number, from 1."""

    number = WholeNumber(Span(1, STEPS), required=True)


class NumberedByProduct(CookedByProduct):
    """A by-product with its number, from 1."""

    number = WholeNumber(Span(1, BY_PRODUCTS), required=True)


class ChangedLine(Document):
    """A line as it was and as it is."""

    old = Object(NumberedLine, required=True)
    new = Object(NumberedLine, required=True)


class ChangedStep(Document):
    """A step as it was and as it is."""

    old = Object(NumberedStep, required=True)
    new = Object(NumberedStep, required=True)


class ChangedByProduct(Document):
    """A by-product as it was and as it is."""

    old = Object(NumberedByProduct, required=True)
    new = Object(NumberedByProduct, required=True)


class LineChanges(Document):
    """Lines added, dropped and changed; a line is known by its item."""

    added = Many(Object(NumberedLine), most=LINES, required=True)
    dropped = Many(Object(NumberedLine), most=LINES, required=True)
    changed = Many(Object(ChangedLine), most=LINES, required=True)


class StepChanges(Document):
    """Steps added, dropped and changed; a step is known by its text, or by the step that it follows."""

    added = Many(Object(NumberedStep), most=STEPS, required=True)
    dropped = Many(Object(NumberedStep), most=STEPS, required=True)
    changed = Many(Object(ChangedStep), most=STEPS, required=True)


class ByProductChanges(Document):
    """By-products added, dropped and changed."""

    added = Many(Object(NumberedByProduct), most=BY_PRODUCTS, required=True)
    dropped = Many(Object(NumberedByProduct), most=BY_PRODUCTS, required=True)
    changed = Many(Object(ChangedByProduct), most=BY_PRODUCTS, required=True)


class Changes(Document):
    """What differs between two states of a recipe; numbers that only shifted are no change."""

    fields_changed = Many(Object(ChangedField), most=FIELDS, data_key="fields", required=True)
    lines = Object(LineChanges, required=True)
    steps = Object(StepChanges, required=True)
    by_products = Object(ByProductChanges, required=True)


class VersionChanges(Changes):
    """What differs between two versions of a recipe; from null, everything is added."""

    recipe = Code(required=True)
    first = WholeNumber(NUMBERED, data_key="from", allow_none=True, required=True)
    version = WholeNumber(NUMBERED, required=True)

"""How a recipe line follows the batch: the five rules and the fields that each takes."""

from decimal import Decimal
from itertools import pairwise
from typing import Any, ClassVar

from marshmallow import ValidationError

from service.api.fields import Choice, Document, Field, Kinds, Many, Number, WholeNumber
from service.api.fields.faults import flaw, flaws_at
from service.limits import EXPONENT, LINES, Span

TESTED_POINTS = 100
FACTOR = Span(0, 10_000, above=True)
MULTIPLE = Span(0, 10_000_000, above=True)


class Points(Field):
    """Tested points [[factor, multiple], …], factors rising, multiples never falling."""

    shape: ClassVar[dict[str, Any]] = {
        "type": "array",
        "minItems": 1,
        "maxItems": TESTED_POINTS,
        "items": {"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": "number", "exclusiveMinimum": 0}},
        "examples": [[[1, 1], [2, 2], [10, 6]]],
    }

    def read(self, value: Any) -> list[list[int | Decimal]]:
        """The value for the document; raises ValidationError."""
        points: list[list[int | Decimal]] = POINT_LIST.deserialize(value)
        places: list[tuple[tuple[str | int, ...], str, str]] = []
        for index, ((factor, multiple), (next_factor, next_multiple)) in enumerate(pairwise(points), start=1):
            if next_factor <= factor:
                places.append(((index, 0), "out_of_range", f"write a factor over {factor}, that of the point before"))
            if next_multiple < multiple:
                places.append(((index, 1), "out_of_range", f"write a multiple of at least {multiple}, that of the point before"))
        if places:
            raise flaws_at(places)
        return points


class Point(Field):
    """One tested point [factor, multiple]."""

    def read(self, value: Any) -> list[int | Decimal]:
        """The value for the document; raises ValidationError."""
        if not isinstance(value, list) or len(value) != 2:
            raise flaw("wrong_type", "write a point as [factor, multiple], for instance [2, 1.5]")
        read: list[int | Decimal] = []
        errors: dict[int, Any] = {}
        for index, span in enumerate((FACTOR, MULTIPLE)):
            try:
                read.append(Number(span).read(value[index]))
            except ValidationError as error:
                errors[index] = error.messages
        if errors:
            raise ValidationError(errors)
        return read


POINT_LIST = Many(Point(), most=TESTED_POINTS, least=1)


class LinearScaling(Document):
    """The line grows as the batch does."""

    rule = Choice(("linear",), required=True)


class PerBatchScaling(Document):
    """The line is the same for every batch."""

    rule = Choice(("per_batch",), required=True)


class PowerScaling(Document):
    """The line grows by a power of the batch factor."""

    rule = Choice(("power",), required=True)
    exponent = Number(EXPONENT, required=True)


class TestedScaling(Document):
    """The line grows as it was tried, linear between the points."""

    rule = Choice(("tested",), required=True)
    points = Points(required=True)


class PercentScaling(Document):
    """The line is a percentage of other lines."""

    rule = Choice(("percent",), required=True)
    of = Many(WholeNumber(Span(1, LINES)), most=LINES, least=1, unique=(), required=True)


RULES: dict[str, type[Document]] = {
    "linear": LinearScaling,
    "per_batch": PerBatchScaling,
    "power": PowerScaling,
    "tested": TestedScaling,
    "percent": PercentScaling,
}


def scaling(**declared: Any) -> Kinds:
    """A field that holds a scaling rule with exactly the fields that it takes."""
    return Kinds("Scaling", "How the line's quantity follows the batch factor.", "rule", RULES, **declared)

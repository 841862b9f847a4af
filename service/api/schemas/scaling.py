"""How a recipe line follows the batch: the five rules and the fields that each takes."""

from collections.abc import Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any, ClassVar

from marshmallow import ValidationError

from service.api.fields import Choice, Field, Many, Number, WholeNumber
from service.api.fields.faults import Flaw, flaw, flaws_at
from service.api.fields.shape import expect_object, union
from service.limits import EXPONENT, LINES, SCALING_RULES, Span

TESTED_POINTS = 100
FACTOR = Span(0, 10_000, above=True)
MULTIPLE = Span(0, 10_000_000, above=True)
RULE = Choice(SCALING_RULES)


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
TAKES: dict[str, dict[str, Field | Many]] = {
    "linear": {},
    "per_batch": {},
    "power": {"exponent": Number(EXPONENT)},
    "tested": {"points": Points()},
    "percent": {"of": Many(WholeNumber(Span(1, LINES)), most=LINES, least=1, unique=())},
}
ALL_FIELDS = {name for fields in TAKES.values() for name in fields}


class ScalingField(Field):
    """A scaling rule with exactly the fields that it takes."""

    shape: ClassVar[dict[str, Any]] = {"$ref": "#/components/schemas/Scaling"}

    def read(self, value: Any) -> dict[str, Any]:
        """The value for the document; raises ValidationError."""
        fields = expect_object(value, 'a scaling rule as {"rule": "linear"}')
        if "rule" not in fields:
            raise ValidationError({"rule": flaw("required", f"name the rule: one of {', '.join(SCALING_RULES)}").messages})
        try:
            rule = RULE.deserialize(fields["rule"])
        except ValidationError as error:
            raise ValidationError({"rule": error.messages}) from None
        taken = TAKES[rule]
        errors: dict[str, Any] = {
            name: [Flaw("unknown_field", f"the rule {rule} takes {' and '.join(taken) or 'no other field'}")]
            for name, inner in fields.items()
            if name != "rule" and name not in taken and not (inner is None and name in ALL_FIELDS)
        }
        return {"rule": rule, **_read_taken(taken, fields, rule, errors)}


def _read_taken(taken: Mapping[str, Field | Many], fields: Mapping[str, Any], rule: str, errors: dict[str, Any]) -> dict[str, Any]:
    read: dict[str, Any] = {}
    for name, field in taken.items():
        if fields.get(name) is None:
            errors[name] = [Flaw("required", f"the rule {rule} needs {name}")]
            continue
        try:
            read[name] = field.deserialize(fields[name])
        except ValidationError as error:
            errors[name] = error.messages
    if errors:
        raise ValidationError(errors)
    return read


BASES_SHAPE = {"type": "array", "minItems": 1, "uniqueItems": True, "items": {"type": "integer", "minimum": 1, "maximum": LINES}}


def component(rule: str) -> str:
    """The name of a rule's shape in the published document.

    >>> component("per_batch")
    'PerBatchScaling'
    """
    return rule.title().replace("_", "") + "Scaling"


def shape_of(rule: str, taken: Mapping[str, Field | Many]) -> dict[str, Any]:
    """The shape of one rule, with exactly the fields that it takes."""
    return {
        "type": "object",
        "additionalProperties": False,
        "required": ["rule", *taken],
        "properties": {
            "rule": {"type": "string", "const": rule},
            **{name: field.describe() if isinstance(field, Field) else BASES_SHAPE for name, field in taken.items()},
        },
    }


SCALING_SHAPES: dict[str, dict[str, Any]] = {
    **{component(rule): shape_of(rule, taken) for rule, taken in TAKES.items()},
    "Scaling": union("How the line's quantity follows the batch factor.", "rule", {rule: component(rule) for rule in TAKES}),
}

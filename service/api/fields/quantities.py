"""Quantities and units of temperature as authored.

Responsible for reading ``{"amount", "unit"}`` with the kitchen's own vocabulary and giving it back as
it was written, an alias as its canonical unit. Refuses to convert.
"""

from collections.abc import Mapping
from typing import Any, ClassVar

from service.api.fields.faults import flaw, flaws_at
from service.api.fields.shape import Field, expect_object
from service.api.fields.texts import legal
from service.errors import KitchenError
from service.kitchen.measures.amounts import parse_amount
from service.kitchen.measures.units import PERCENT, PORTION, TEMPERATURES, canonical_unit, measure_or_unit

Places = list[tuple[tuple[str, ...], str, str]]
FORM = '{"amount": 2.5, "unit": "kg"}'
PARTS = ("amount", "unit")


class QuantityField(Field):
    """An exact amount of a unit; ``percent`` and ``portion`` allow these units.

    What a kitchen has ``told`` of its stock and work may be nothing, and may be a quantity of an answer, whose display is ignored.
    """

    def __init__(self, *, told: bool = False, percent: bool = False, portion: bool = True, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.told = told
        self.percent = percent
        self.portion = portion

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {"$ref": "#/components/schemas/" + ("ToldQuantity" if self.told else "Quantity")}

    def read(self, value: Any) -> dict[str, Any]:
        """The value for the document; raises ValidationError."""
        fields = expect_object(value, f"a quantity as {FORM}")
        if self.told and isinstance(fields.get("display"), str):
            fields = {key: fields[key] for key in fields if key != "display"}
        amount, written, unit = fields.get("amount"), fields.get("unit"), None
        places = _missing(fields) if amount is None or written is None or len(fields) > len(PARTS) else []
        if amount is not None:
            try:
                parse_amount(amount, told=self.told)
            except KitchenError as error:
                places.append((("amount",), error.code, error.detail))
        if written is not None:
            try:
                unit = measure_or_unit(written)
            except KitchenError as error:
                places.append((("unit",), error.code if isinstance(written, str) else "wrong_type", error.detail))
        places += self._misplaced(unit)
        if places:
            raise flaws_at(places)
        return {"amount": amount, "unit": unit}

    def _misplaced(self, unit: str | None) -> Places:
        if unit in TEMPERATURES:
            return [(("unit",), "wrong_kind", "a temperature has no place here: write a unit of mass, volume or count")]
        if unit == PERCENT and not self.percent:
            return [(("unit",), "wrong_kind", "percent is legal on recipe lines with the scaling rule percent alone")]
        if unit == PORTION and not self.portion:
            return [(("unit",), "wrong_kind", "a portion is a measure of recipes: write a unit of mass, volume or count")]
        return []


class DegreeUnit(Field):
    """degC or degF, or a common spelling of one."""

    shape: ClassVar[dict[str, Any]] = {
        "type": "string",
        "maxLength": 40,
        "pattern": legal(lines=False, blank=False),
        "examples": list(TEMPERATURES),
    }

    def read(self, value: Any) -> str:
        """The unit; raises ValidationError."""
        try:
            unit = canonical_unit(value)
        except KitchenError:
            unit = ""
        if unit not in TEMPERATURES:
            raise flaw("wrong_kind", "write degC or degF")
        return unit


def _missing(fields: Mapping[str, Any]) -> Places:
    form = f"a quantity is {FORM}"
    unknown: Places = [((key,), "unknown_field", f"{form}, nothing else") for key in fields if key not in PARTS]
    absent: Places = [((key,), "required", f"{form}: {key} is missing") for key in PARTS if key not in fields]
    empty: Places = [((key,), "wrong_type", f"{form}: null is no {key}") for key in PARTS if key in fields and fields[key] is None]
    return unknown + absent + empty

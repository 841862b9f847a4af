"""The field types of the interface: each reads one JSON value exactly, or says what to write instead."""

from service.api.fields.items import AllergenName, ItemReference
from service.api.fields.lists import Many, Table
from service.api.fields.numbers import Currency, MoneyText, Number, WholeNumber
from service.api.fields.objects import Document, Kinds, Object
from service.api.fields.quantities import DegreeUnit, QuantityField
from service.api.fields.shape import Field
from service.api.fields.texts import Choice, Code, Echo, Flag, Text
from service.api.fields.times import CivilDate, Duration, Keeps, Moment, TimeOfDay, Zone

__all__ = [
    "AllergenName",
    "Choice",
    "CivilDate",
    "Code",
    "Currency",
    "DegreeUnit",
    "Document",
    "Duration",
    "Echo",
    "Field",
    "Flag",
    "ItemReference",
    "Keeps",
    "Kinds",
    "Many",
    "Moment",
    "MoneyText",
    "Number",
    "Object",
    "QuantityField",
    "Table",
    "Text",
    "TimeOfDay",
    "WholeNumber",
    "Zone",
]

"""Stored documents: the schema that each noun of the store was taken in by, and what an older release could not store yet.

Responsible for completing a document by the defaults of its schema, at every depth and in the schema's order, so that it and its
tag are those of the same document sent today. Refuses to check anything: what was once taken in stays readable under stricter limits.
"""

from collections.abc import Mapping
from typing import Any

from marshmallow import Schema, fields, missing

from service.api.fields import Field, Many, Object
from service.api.schemas.capacity import CapacityBody
from service.api.schemas.counts import CountBody, OwnWord
from service.api.schemas.equipment import EquipmentBody
from service.api.schemas.ingredients import IngredientBody
from service.api.schemas.menu_items import MenuItemBody
from service.api.schemas.prints import ReportBody
from service.api.schemas.recipes import DraftBody
from service.api.schemas.sites import SiteBody
from service.api.schemas.stations import StationBody
from service.store.documents import Complete

STORED: Mapping[str, type[Schema]] = {
    "stations": StationBody,
    "equipment": EquipmentBody,
    "ingredients": IngredientBody,
    "menu_items": MenuItemBody,
    "sites": SiteBody,
    "recipes": DraftBody,
    "overrides": OwnWord,
    "capacity": CapacityBody,
    "counts": CountBody,
    "reports": ReportBody,
}
"""By the nouns of the store's columns. What is kept as it was (prints, the work behind them, answers) has no schema here."""


def completions() -> dict[str, Complete]:
    """How the documents of each noun are completed, for the store."""
    return {noun: completion(schema()) for noun, schema in STORED.items()}


def completion(schema: Schema) -> Complete:
    """How a document of a schema is completed: absent fields take their defaults, present ones are completed within.

    A field that the schema does not know, as a later release may have stored, stays, behind those that it knows.

    >>> completion(StationBody())({"name": "Vegetables"})
    {'name': 'Vegetables', 'position': 1}
    """
    parts = [(field.attribute or name, field.load_default, _within(field)) for name, field in schema.load_fields.items()]
    known = {key for key, _, _ in parts}

    def complete(stored: Mapping[str, Any]) -> dict[str, Any]:
        whole: dict[str, Any] = {}
        for key, default, within in parts:
            if key in stored:
                value = stored[key]
                whole[key] = value if within is None or value is None else within(value)
            elif default is not missing:
                whole[key] = default() if callable(default) else default
        return whole if stored.keys() <= known else whole | {key: value for key, value in stored.items() if key not in known}

    return complete


def _within(field: fields.Field[Any]) -> Complete | None:
    """How a value of a field is completed, or None where it holds no document of its own."""
    if isinstance(field, Object):
        return completion(field.schema)
    if isinstance(field, Many):
        entry = _within(field.inner)
        return None if entry is None else lambda entries: [entry(each) for each in entries]
    if isinstance(field, Field) and field.document is not None:
        inner = completion(field.document())
        return lambda value: inner(value) if isinstance(value, Mapping) else value
    return None

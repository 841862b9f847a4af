"""PUT(GET(x)) changes nothing: a document that was taken in is taken in again as it is given out, field by field and byte by byte."""

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import strategies as st
from marshmallow import Schema, fields

from service.api.fields import Field, Many, Object
from service.api.schemas.capacity import Capacity, CapacityBody
from service.api.schemas.counts import Count, CountBody, Override, OverrideBody
from service.api.schemas.equipment import Equipment, EquipmentBody
from service.api.schemas.forecasts import Entry
from service.api.schemas.imports import ImportBody
from service.api.schemas.ingredients import Ingredient, IngredientBody
from service.api.schemas.menu_items import MenuItem, MenuItemBody
from service.api.schemas.recipes import Draft, DraftBody
from service.api.schemas.sites import Site, SiteBody
from service.api.schemas.stations import Station, StationBody
from service.api.schemas.stored import STORED, completion
from service.api.wire.json import parse, render
from service.kitchen.measures.units import canonical_unit
from service.store.documents import decode, encode, tag
from tests.laws.documents import documents
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law

COLLECTIONS: dict[type[Schema], type[Schema]] = {
    StationBody: Station,
    EquipmentBody: Equipment,
    IngredientBody: Ingredient,
    DraftBody: Draft,
    MenuItemBody: MenuItem,
    SiteBody: Site,
    OverrideBody: Override,
    CapacityBody: Capacity,
    CountBody: Count,
    Entry: Entry,
}
KEYS: dict[str, Any] = {"code": "a-code", "site": "harbour", "date": "2026-12-01", "period": "noon", "menu_item": "soup", "id": 7}
each_collection = pytest.mark.parametrize("body", COLLECTIONS, ids=lambda body: body.__name__)


def take_in(body: type[Schema], raw: bytes) -> dict[str, Any]:
    """What is stored of a body that arrives as bytes."""
    loaded: dict[str, Any] = body().load(parse(raw))
    stored: dict[str, Any] = decode(encode(loaded))
    return stored


@each_collection
def test_what_is_given_out_is_taken_in_unchanged(body: type[Schema]) -> None:
    @law(documents(body))
    def check(document: dict[str, Any]) -> None:
        stored = take_in(body, render(document))
        again = take_in(body, render(stored))
        assert again == stored
        assert encode(again) == encode(stored)
        assert tag(again) == tag(stored)

    check()


@each_collection
def test_it_is_taken_in_together_with_its_key_too(body: type[Schema]) -> None:
    answer = COLLECTIONS[body]
    keys = {name: KEYS[name] for name in answer().fields if name in KEYS and name not in body().fields}

    @law(documents(body))
    def check(document: dict[str, Any]) -> None:
        stored = take_in(body, render(document))
        assert answer().load(parse(render({**keys, **stored}))) == {**keys, **stored}

    check()


@each_collection
def test_every_field_has_a_value_and_those_that_were_written_have_theirs(body: type[Schema]) -> None:
    @law(documents(body))
    def check(document: dict[str, Any]) -> None:
        stored = take_in(body, render(document))
        assert list(stored) == [field.data_key or name for name, field in body().fields.items()]
        assert kept(document, stored)

    check()


def kept(written: Any, stored: Any) -> bool:
    """Whether everything written stands in what is stored; null stands for a default, an alias for its unit, t for T in a moment."""
    if isinstance(written, Mapping):
        return all(value is None or (name in stored and kept(value, stored[name])) for name, value in written.items())
    if isinstance(written, list):
        return len(written) == len(stored) and all(map(kept, written, stored))
    return bool(written == stored or _spelled(written) == stored)


def _spelled(written: Any) -> Any:
    if not isinstance(written, str):
        return written
    if written.startswith("2027-03-28t"):
        return written.upper()
    return canonical_unit(written) if written in ("lbs", "Ounces", "ea", "%", "°C") else written


@law(kitchens())
def test_a_whole_kitchen_is_imported_as_it_is_exported(kitchen: Kitchen) -> None:
    recipes = [{"code": code, **editions[-1].draft, "publish_from": None} for code, editions in kitchen.editions.items()]
    exported = {noun: [{"code": code, **each} for code, each in found.items()] for noun, found in kitchen.documents.items()}
    stored = take_in(ImportBody, render({**exported, "recipes": recipes}))
    assert take_in(ImportBody, render(stored)) == stored
    for noun, found in kitchen.documents.items():
        assert stored[noun] == [{**each, "code": code} for code, each in found.items()]


@law(st.sampled_from(sorted(COLLECTIONS, key=lambda body: body.__name__)).flatmap(lambda body: st.tuples(st.just(body), documents(body))))
def test_the_order_of_a_bodys_fields_changes_nothing(drawn: tuple[type[Schema], dict[str, Any]]) -> None:
    body, document = drawn
    turned = dict(reversed(document.items()))
    assert encode(take_in(body, render(turned))) == encode(take_in(body, render(document)))


@pytest.mark.parametrize("body", STORED.values(), ids=STORED)
def test_what_was_stored_before_a_field_was_known_is_completed_to_what_it_would_be_today(body: type[Schema]) -> None:
    complete = completion(body())

    @law(documents(body))
    def check(document: dict[str, Any]) -> None:
        stored = take_in(body, render(document))
        older = without_defaults(stored, body())
        assert encode(complete(older)) == encode(stored)
        assert encode(complete(stored)) == encode(stored)
        assert encode(complete({**older, "from-tomorrow": 1})) == encode({**stored, "from-tomorrow": 1})

    check()


def without_defaults(document: Mapping[str, Any], schema: Schema) -> dict[str, Any]:
    """A document as a release stored it that knew none of the fields whose default it has, at any depth."""
    older: dict[str, Any] = {}
    for name, field in schema.fields.items():
        key, default = field.attribute or name, field.load_default
        value = default() if callable(default) else default
        if field.required or document[key] != value:
            older[key] = _without_defaults(document[key], field)
    return older


def _without_defaults(value: Any, field: fields.Field[Any]) -> Any:
    if isinstance(value, list) and isinstance(field, Many):
        return [_without_defaults(each, field.inner) for each in value]
    inner = field.schema if isinstance(field, Object) else field.document() if isinstance(field, Field) and field.document else None
    return without_defaults(value, inner) if inner is not None and isinstance(value, Mapping) else value

"""What the published shapes admit is read, or refused for what no shape can say; and what is read, they admit.

Readers and shapes stand side by side in the fields. Here values are made from the shapes and given to the readers, and values that
lie near what the demo's kitchens wrote are given to both.
"""

import copy
import json
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marshmallow import Schema, ValidationError, fields
from openapi_schema_validator import OAS31Validator

from service.api.document.openapi import build, shape_of
from service.api.exchange.routing import load
from service.api.fields import Field, Many, Object
from service.api.fields.faults import faults_in
from service.api.wire.json import Unparseable, find_control_characters, parse, render
from service.app import NOUNS
from service.resources import folder
from tests.contract.hooks import IN_WORDS, SHAPE, without_nulls
from tests.profiles import examples

DOCUMENT = build(NOUNS)
COMPONENTS: dict[str, Any] = DOCUMENT["components"]["schemas"]
VIEWS = [view for noun in NOUNS for view in noun.views if view.body]
Json = dict[str, Any]


def inlined(shape: Any) -> Any:
    """A shape with what it refers to in its place, as it is sent; without words for readers."""
    if isinstance(shape, list):
        return [inlined(inner) for inner in shape]
    if not isinstance(shape, dict):
        return shape
    if "$ref" in shape:
        name = shape["$ref"].rsplit("/", 1)[-1]
        return inlined(COMPONENTS.get(f"{name}Sent", COMPONENTS.get(name)))
    return {key: inlined(inner) for key, inner in shape.items() if key not in ("description", "examples", "discriminator", "default")}


def admitted_by(shape: Json) -> st.SearchStrategy[Any]:
    """Values that fit a shape, of the words that the shapes of fields are written in."""
    made = made_by(shape)
    validator = OAS31Validator(shape)
    return made.filter(validator.is_valid)


def made_by(shape: Json) -> st.SearchStrategy[Any]:
    """Values of the type of a shape and within its bounds; most of them fit it."""
    for word in ("anyOf", "oneOf"):
        if word in shape:
            return st.one_of([made_by(inner) for inner in shape[word]])
    if "const" in shape:
        return st.just(shape["const"])
    if "enum" in shape:
        return st.sampled_from(shape["enum"])
    kind = shape["type"]
    least, most = shape.get("minimum", shape.get("exclusiveMinimum")), shape.get("maximum")
    makers: dict[str, Any] = {
        "null": st.none,
        "boolean": st.booleans,
        "integer": lambda: st.integers(least, most),
        "number": lambda: numbers(0 if least is None else least, 10**7 if most is None else most),
        "string": lambda: st.from_regex(shape["pattern"].replace("$", r"\Z")) if "pattern" in shape else MOMENTS[shape["format"]],
        "array": lambda: st.lists(made_by(shape["items"]), min_size=shape.get("minItems", 0), max_size=min(shape.get("maxItems", 3), 3)),
        "object": lambda: object_by(shape),
    }
    made: st.SearchStrategy[Any] = makers[kind]()
    return made


def numbers(least: float, most: float) -> st.SearchStrategy[Any]:
    """Whole and other numbers within bounds, of as many decimals as anybody writes."""
    return st.integers(int(least) + 1, int(most)) | st.decimals(Decimal(str(least)), Decimal(str(most)), places=9).map(float)


MOMENTS = {
    "date": st.dates(date(2000, 1, 1), date(2099, 12, 31)).map(str),
    "date-time": st.datetimes(datetime(2001, 1, 1), datetime(2098, 12, 31)).map(lambda moment: f"{moment.isoformat(timespec='seconds')}Z"),  # noqa: DTZ001 - the text has its offset
}


def object_by(shape: Json) -> st.SearchStrategy[Json]:
    """Objects of the fields of a shape, or of its keys where it names none."""
    if "properties" not in shape:
        return st.dictionaries(made_by(shape["propertyNames"]), made_by(shape["additionalProperties"]), max_size=3)
    asked = shape.get("required", ())
    strategies = {key: made_by(inner) for key, inner in shape["properties"].items()}
    needed = {key: strategies[key] for key in asked}
    return st.fixed_dictionaries(needed, optional={key: each for key, each in strategies.items() if key not in asked})


def fields_of(schema: Schema) -> Iterator[fields.Field[Any]]:
    """The fields of a schema that hold no document, at every depth."""
    for each in schema.fields.values():
        held = each.inner if isinstance(each, Many) else each
        if isinstance(held, Object):
            yield from fields_of(held.schema)
        elif isinstance(held, Field):
            yield held


# A field whose entries are checked later, one by one, takes whatever stands there.
READERS = {
    json.dumps(shape_of(each), sort_keys=True): each
    for view in VIEWS
    if view.body
    for each in fields_of(view.body())
    if isinstance(each, Field) and type(each).__name__ != "AnyValue"
}


def named(field: Field) -> str:
    return f"{type(field).__name__} {json.dumps(field.describe())[:60]}"


def read(field: Field, value: Any) -> list[tuple[str, str]]:
    """The faults that a field finds in a value, each by its place and code."""
    try:
        sent = parse(render({"value": value}))["value"]
        if find_control_characters(sent):
            return [("", "control")]
        field.deserialize(sent)
    except ValidationError as error:
        return [(fault.pointer.rsplit("/", 1)[-1], fault.code) for fault in faults_in(error.messages)]
    except Unparseable:
        # How many digits a number may have, no shape can say.
        return [("", "unparseable")]
    return []


@pytest.mark.parametrize("field", READERS.values(), ids=named)
def test_what_a_shape_admits_is_read_or_refused_for_what_no_shape_can_say(field: Field) -> None:
    # There are many fields, and each of them is small: a few examples of each will do.
    zones = type(field).__name__ == "Zone"

    @settings(max_examples=examples(15))
    @given(value=admitted_by(inlined(shape_of(field))))
    def check(value: Any) -> None:
        found = [each for each in read(field, value) if each[1] in SHAPE and each not in IN_WORDS]
        # Which time zones there are, a database of their own says.
        assert found == [] or (zones and found == [("", "not_in_list")]), value

    check()


SCALARS: list[Any] = [
    *(True, False, 0, 1, -1, 2.5, 1e7, 1e-9, 12345678901234, 0.123456789),
    *("", " ", "a", "A b", "onion", "kg", "clove", "2 1/2", "1/3", "0.5", "3/0", "lines\nof text", "x" * 70, "é", "\x00"),
    *(
        "P1D",
        "P1W",
        "PT0S",
        "PT90M",
        "2026-12-03",
        "2026-13-03",
        "04:00",
        "24:00",
        "2026-12-02T07:00:00Z",
        "USD",
        "12.40",
        "milk",
        "fish:cod",
    ),
]
KEYS = ["amount", "unit", "ingredient", "form", "recipe", "rule", "of", "min", "target", "max", "x"]
VALUES = st.recursive(
    st.sampled_from(SCALARS),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(KEYS), inner),
    max_leaves=6,
)


@pytest.mark.parametrize("field", READERS.values(), ids=named)
def test_what_a_field_reads_its_shape_admits(field: Field) -> None:
    shape = OAS31Validator(inlined(shape_of(field)))

    @settings(max_examples=examples(60))
    @given(value=VALUES)
    def check(value: Any) -> None:
        if not read(field, value):
            assert shape.is_valid(without_nulls(value)), value

    check()


CATALOGUE: Json = json.loads((folder("seeds") / "catalogue.json").read_text("utf-8"))
OWN_FIELDS = ("code", "publish_from", "acknowledge")
BODIES = {
    "/v1/stations/{code}": CATALOGUE["stations"],
    "/v1/ingredients/{code}": CATALOGUE["ingredients"],
    "/v1/recipes/{code}/draft": CATALOGUE["recipes"],
    "/v1/menu-items/{code}": CATALOGUE["menu_items"],
    "/v1/sites/{code}": CATALOGUE["sites"],
}


def places(value: Any, place: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in a value."""
    yield place
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in entries:
        yield from places(inner, (*place, key))


@st.composite
def altered(draw: st.DrawFn, bodies: list[Json]) -> Json:
    """A body of the demo of which up to three places are left out, or say something else."""
    body = copy.deepcopy({key: inner for key, inner in draw(st.sampled_from(bodies)).items() if key not in OWN_FIELDS})
    for _ in range(draw(st.integers(0, 3))):
        found = [place for place in places(body) if place]
        if not found:
            break
        *way, last = draw(st.sampled_from(found))
        holder: Any = body
        for key in way:
            holder = holder[key]
        if draw(st.booleans()):
            holder[last] = draw(VALUES | st.none())
        elif isinstance(holder, dict):
            del holder[last]
        else:
            holder.append(copy.deepcopy(holder[last]))
    return body


@pytest.mark.parametrize("view", [view for view in VIEWS if view.path in BODIES], ids=lambda view: view.path)
def test_a_body_is_read_exactly_where_the_document_admits_it_but_for_what_it_means(view: Any) -> None:
    shape = DOCUMENT["paths"][view.path]["put"]["requestBody"]["content"]["application/json"]["schema"]
    admits = OAS31Validator({**shape, "components": DOCUMENT["components"]})
    seen = {"read": 0, "refused": 0}

    @given(body=altered(BODIES[view.path]))
    def check(body: Json) -> None:
        sent = parse(render(body))
        faults = find_control_characters(sent) or load(view.body, sent)[1]
        misshapen = [fault for fault in faults if fault.code in SHAPE and (fault.pointer.rsplit("/", 1)[-1], fault.code) not in IN_WORDS]
        # Of several faults that of a control character is told first, and says nothing of the shape.
        assert not misshapen or not admits.is_valid(body) or find_control_characters(sent), misshapen
        left = without_nulls(body)
        assert faults or admits.is_valid(left), [error.message for error in admits.iter_errors(left)]
        seen["refused" if faults else "read"] += 1

    check()
    assert min(seen.values()) > 0, seen

"""A change that breaks callers of the last released document needs a version that says so."""

import json
from copy import deepcopy
from typing import Any

import pytest

from service import __version__
from service.resources import folder
from tests.contract.compatibility import allowed, breaks

Json = dict[str, Any]
BASELINE = folder("openapi") / "baseline.json"
PATH = "/v1/things/{code}"
THING: Json = {
    "type": "object",
    "required": ["name"],
    "additionalProperties": False,
    "properties": {
        "name": {"type": "string", "maxLength": 200},
        "kind": {"type": "string", "enum": ["mass", "count"]},
        "amount": {"anyOf": [{"type": "number", "minimum": 0}, {"type": "string"}]},
        "parts": {"type": "array", "items": {"$ref": "#/components/schemas/Thing"}},
        "note": {"type": ["string", "null"]},
    },
}
BODY: Json = deepcopy(THING)
BODY["properties"]["parts"]["items"] = {"$ref": "#/components/schemas/Body"}
DOCUMENT: Json = {
    "paths": {
        PATH: {
            "get": {
                "security": [],
                "parameters": [{"name": "on", "in": "query", "required": False, "schema": {"type": "string"}}],
                "responses": {
                    "200": {
                        "headers": {"ETag": {}},
                        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Thing"}}},
                    },
                    "404": {"$ref": "#/components/responses/problem404"},
                },
            },
            "put": {
                "x-roles": ["director", "kitchen"],
                "parameters": [],
                "requestBody": {"required": True, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Body"}}}},
                "responses": {"201": {"description": "Made."}},
            },
        }
    },
    "components": {"schemas": {"Thing": THING, "Body": BODY}, "responses": {"problem404": {"content": {}}}},
}
GET, PUT = f"GET {PATH}", f"PUT {PATH}"


def changed(place: str, value: Any) -> Json:
    """The document with something else at a place; ... takes it away. The path of the route has no steps of its own."""
    document = deepcopy(DOCUMENT)
    found: Any = document
    *steps, last = [PATH if step == "PATH" else int(step) if step.isdigit() and len(step) < 3 else step for step in place.split("/")]
    for step in steps:
        found = found[step]
    if value is ...:
        del found[last]
    else:
        found[last] = value
    return document


BREAKING = [
    ("paths/PATH", ..., f"{GET} is gone"),
    ("paths/PATH/put", ..., f"{PUT} is gone"),
    ("paths/PATH/get/security", [{"bearer": []}], f"{GET} asks for a token now"),
    ("paths/PATH/put/x-roles", ["director"], f"{PUT} is no longer for kitchen"),
    ("paths/PATH/get/parameters", [], f"{GET}: the query parameter on is gone"),
    ("paths/PATH/get/parameters/0/required", True, f"{GET}: the query parameter on is required now"),
    ("paths/PATH/get/parameters/0/schema", {"type": "integer"}, f"{GET}: the query parameter on may no longer be string"),
    (
        "paths/PATH/put/parameters",
        [{"name": "x", "in": "query", "required": True, "schema": {}}],
        f"{PUT}: the query parameter x is new and required",
    ),
    ("paths/PATH/put/requestBody", ..., f"{PUT} takes no body any more"),
    ("paths/PATH/get/responses/200", ..., f"{GET} no longer answers 200"),
    ("paths/PATH/get/responses/200/headers", {}, f"{GET}: answer 200 has no header ETag any more"),
    ("paths/PATH/get/responses/200/content", {"text/csv": {"schema": {}}}, f"{GET}: answer 200 is no longer application/json"),
    ("components/schemas/Thing/properties/name", ..., f"{GET}: answer 200: the field name is gone"),
    ("components/schemas/Thing/required", [], f"{GET}: answer 200: the field name may be missing now"),
    ("components/schemas/Thing/properties/name/type", "integer", f"{GET}: answer 200: name may now be integer"),
    ("components/schemas/Thing/properties/name/type", ["string", "null"], f"{GET}: answer 200: name may now be null"),
    ("components/schemas/Thing/properties/name", {}, f"{GET}: answer 200: name may now be anything"),
    ("components/schemas/Thing/properties/kind/enum", ["mass", "count", "volume"], f"{GET}: answer 200: kind may now say volume"),
    (
        "components/schemas/Thing/properties/amount/anyOf",
        [{"type": "number"}, {"type": "object"}],
        f"{GET}: answer 200: amount may now be object",
    ),
    ("components/schemas/Body/properties/name", ..., f"{PUT}: the body: the field name is gone"),
    ("components/schemas/Body/required", ["name", "kind"], f"{PUT}: the body: the field kind is required now"),
    ("components/schemas/Body/properties/kind/enum", ["mass"], f"{PUT}: the body: kind no longer takes count"),
    ("components/schemas/Body/properties/name/enum", ["mass"], f"{PUT}: the body: name no longer takes others"),
    ("components/schemas/Body/properties/note/type", "string", f"{PUT}: the body: note may no longer be null"),
    ("components/schemas/Body/properties/name/maxLength", 100, f"{PUT}: the body: name: maxLength is 100 now"),
    ("components/schemas/Body/properties/name/pattern", "^a$", f"{PUT}: the body: name has another pattern"),
    ("components/schemas/Body/properties/amount/anyOf/0/minimum", 1, f"{PUT}: the body: amount: minimum is 1 now"),
    ("components/schemas/Body/properties/amount/anyOf", [{"type": "number"}], f"{PUT}: the body: amount has fewer alternatives"),
    ("components/schemas/Body/properties/parts/maxItems", 5, f"{PUT}: the body: parts: maxItems is 5 now"),
    ("components/schemas/Body/properties/parts/uniqueItems", True, f"{PUT}: the body: parts may not repeat entries any more"),
]
HARMLESS = [
    ("paths/PATH/patch", {"responses": {}}),
    ("paths/PATH/get/responses/409", {"description": "Another refusal."}),
    ("paths/PATH/get/responses/404", ...),
    ("paths/PATH/put/x-roles", ["director", "kitchen", "viewer"]),
    ("paths/PATH/put/parameters", [{"name": "x", "in": "query", "required": False, "schema": {}}]),
    ("components/schemas/Thing/properties/more", {"type": "string"}),
    ("components/schemas/Thing/required", ["name", "kind"]),
    ("components/schemas/Thing/properties/note/type", "string"),
    ("components/schemas/Thing/properties/kind/enum", ["mass"]),
    ("components/schemas/Thing/properties/name/maxLength", 100),
    ("components/schemas/Body/properties/more", {"type": "string"}),
    ("components/schemas/Body/required", []),
    ("components/schemas/Body/properties/kind/enum", ["mass", "count", "volume"]),
    ("components/schemas/Body/properties/name/maxLength", 300),
    ("components/schemas/Body/properties/name/type", ["string", "null"]),
    ("components/schemas/Body/properties/amount/anyOf", [{"type": "number", "minimum": 0}, {"type": "string"}, {"type": "null"}]),
    ("components/schemas/Body/description", "Other words."),
]


@pytest.mark.parametrize(("place", "value", "sentence"), BREAKING)
def test_a_break_is_told_where_it_is(place: str, value: Any, sentence: str) -> None:
    assert sentence in breaks(DOCUMENT, changed(place, value))


@pytest.mark.parametrize(("place", "value"), HARMLESS)
def test_what_breaks_nobody_is_no_break(place: str, value: Any) -> None:
    assert breaks(DOCUMENT, changed(place, value)) == []


def test_a_break_deep_in_the_real_document_is_found() -> None:
    real = json.loads((folder("openapi") / "openapi.json").read_text("utf-8"))
    assert breaks(real, real) == []
    narrower = deepcopy(real)
    narrower["components"]["schemas"]["FormSent"]["required"].append("keeps")
    assert any("the field keeps is required now" in sentence for sentence in breaks(real, narrower))


def test_nothing_breaks_for_callers_of_the_last_release_unless_the_version_says_so() -> None:
    baseline = json.loads(BASELINE.read_text("utf-8"))
    current = json.loads((folder("openapi") / "openapi.json").read_text("utf-8"))
    found = breaks(baseline, current)
    assert not found or allowed(baseline["info"]["version"], __version__), (
        f"{found}\nraise the version in service/__init__.py (the second number while the first is 0, else the first), "
        "and make this document the baseline when it is released: python -m tests.contract.baseline"
    )

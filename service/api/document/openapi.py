"""The published document: OpenAPI 3.1 out of the declarations of views and schemas.

Responsible for every route, parameter, body, answer and problem of the interface in one document.
Refuses to be edited by hand.
"""

import json
from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from service import __version__
from service.api.document import examples, links, refusals
from service.api.document.growth import let_answers_grow
from service.api.document.guide import GUIDE
from service.api.document.meanings import put_sentences
from service.api.document.recorded import TODAY, dated, recorded
from service.api.document.shapes import NAMED, SHARED, WORDS
from service.api.exchange.interior import Interior
from service.api.exchange.paths import KINDS, SHAPES, names_in
from service.api.exchange.problems import PROBLEMS, UNREAD
from service.api.exchange.roles import ANYBODY
from service.api.exchange.views import Described, Noun, View
from service.api.fields import Choice, Many, Object
from service.api.fields.shape import Field
from service.api.schemas.forecasts import Entry
from service.api.schemas.prep_lists import KINDS as TASK_SCHEMAS
from service.api.schemas.recipes import StepTime, Window
from service.api.schemas.scaling import RULES
from service.api.wire.answers import JSON
from service.api.wire.json import render
from service.limits import IDEMPOTENCY_KEY_PATTERN

TITLE = "Kitchen prep"
REFERRED = (StepTime, Window, Entry, *TASK_SCHEMAS.values(), *RULES.values())


def published(interior: Interior, today: date) -> bytes:
    """The document of the views of an application, as it is sent: its examples are dated so that they can be sent today."""
    return rendered(tuple(interior.nouns), today - TODAY)


@lru_cache(maxsize=2)
def rendered(nouns: tuple[Noun, ...], later: timedelta) -> bytes:
    """The document of some nouns, its examples so much later; anybody may ask for it, and making it takes long."""
    return render(dated(build(nouns), later))


def build(nouns: Iterable[Noun]) -> dict[str, Any]:
    """The document of some nouns."""
    plugin = MarshmallowPlugin(schema_name_resolver=component_name)
    spec = APISpec(
        title=TITLE,
        version=__version__,
        openapi_version="3.1.0",
        info={"description": GUIDE},
        plugins=[plugin],
        security=[{"bearer": []}],
        servers=[{"url": "/"}],
    )
    plugin.converter.add_attribute_function(describe_field)  # type: ignore[union-attr]
    spec.components.security_scheme("bearer", {"type": "http", "scheme": "bearer", "description": "A token of the service: kp_…"})
    for name, shape in SHARED.items():
        spec.components.schema(name, shape)
    for schema in REFERRED:
        spec.components.schema(component_name(schema), schema=schema)
    for problem in {problem.status: problem for problem in (*PROBLEMS.values(), UNREAD[408])}.values():
        if problem.status in refusals.SHARED:
            spec.components.response(f"problem{problem.status}", refusals.shared(problem))
    for noun in nouns:
        spec.tag({"name": noun.name, "description": noun.description})
        for view in noun.views:
            spec.path(path=view.path, operations={view.method.lower(): operation(plugin, view)})
    document: dict[str, Any] = spec.to_dict()
    links.add(document["paths"])
    for key, name in plugin.converter.refs.items():  # type: ignore[union-attr]
        document["components"]["schemas"][name].setdefault("description", (key[0].__doc__ or "").strip())
    put_sentences(document)
    let_answers_grow(document)
    return document


def write(nouns: Iterable[Noun]) -> str:
    """The document of some nouns as the text of a file."""
    return json.dumps(build(nouns), indent=2, ensure_ascii=False) + "\n"


def component_name(schema: Any) -> str:
    """The name of a schema's component: that of its class."""
    found = schema if isinstance(schema, type) else type(schema)
    return found.__name__


def describe_field(_: Any, field: fields.Field[Any], ret: dict[str, Any]) -> dict[str, Any]:
    """The JSON Schema of a field of the interface, with null where it is legal."""
    if isinstance(field, (Many, Object)):
        shape = {**ret, **(field.describe() if isinstance(field, Many) else {})}
    elif isinstance(field, Field):
        shape = shape_of(field)
    else:
        return {}
    if not field.allow_none:
        return shape
    ret.clear()
    return with_null({name: inner for name, inner in shape.items() if name != "default"}) | (
        {"default": None} if field.load_default is None else {}
    )


def shape_of(field: Field) -> dict[str, Any]:
    """The JSON Schema of a field without null: by the name of its words or of its class where these have one."""
    name = WORDS.get(field.words) if isinstance(field, Choice) else NAMED.get(type(field))
    return {"$ref": f"#/components/schemas/{name}"} if name else field.describe()


def with_null(shape: dict[str, Any]) -> dict[str, Any]:
    """A shape that null fits as well."""
    if not shape:
        return shape
    if "type" in shape:
        kinds = shape["type"] if isinstance(shape["type"], list) else [shape["type"]]
        shape = {**shape, "type": [*(kind for kind in kinds if kind != "null"), "null"]}
        return {**shape, "enum": [*shape["enum"], None]} if "enum" in shape else shape
    if "anyOf" in shape:
        return {**shape, "anyOf": [*(inner for inner in shape["anyOf"] if inner != {"type": "null"}), {"type": "null"}]}
    return {"anyOf": [shape, {"type": "null"}]}


def operation(plugin: MarshmallowPlugin, view: View) -> dict[str, Any]:
    """The operation of one view."""
    described: dict[str, Any] = {
        "operationId": view.operation,
        "summary": view.summary,
        "tags": [view.noun],
        "parameters": [*path_parameters(view), *query_parameters(plugin, view), *header_parameters(view)],
        "responses": {str(status): answer(view, status, described) for status, described in sorted(view.answers.items())},
    }
    described["description"] = "\n\n".join(part for part in (view.description, who_may(view)) if part)
    if view.deprecated is not None:
        ending = view.deprecated
        described |= {"deprecated": True, "x-deprecated-since": ending.since.isoformat(), "x-sunset": ending.sunset.isoformat()}
    if view.open:
        described["security"] = []
    else:
        described["x-roles"] = list(view.roles)
    if view.body:
        content: dict[str, Any] = {"schema": view.body}
        if view.example is not None:
            content["example"] = view.example
        described["requestBody"] = {"required": True, "content": {"application/json": content}}
    if view.method == "GET" and 200 in view.answers:
        described["responses"]["304"] = {"description": "The caller has this state already (If-None-Match).", "headers": {"ETag": ETAG}}
    for status in problems_of(view):
        described["responses"][str(status)] = f"problem{status}" if status in refusals.SHARED else refusals.of_view(view, status)
    return described


def who_may(view: View) -> str:
    """A sentence about who may call a view.

    >>> who_may(View(method="GET", path="/", function=print, noun="", roles=("director", "kitchen")))
    'For directors and kitchens.'
    """
    if view.open:
        return "For anybody, without a token."
    if set(ANYBODY) <= set(view.roles):
        return "For every token."
    *others, last = [f"{role}s" for role in view.roles]
    return f"For {', '.join(others)} and {last}." if others else f"For {last} alone."


TAGS_PATTERN = r'^(\*|(W/)?"[!#-~]*"( *, *(W/)?"[!#-~]*")*)$'
ETAG = {"description": "A strong entity tag.", "schema": {"type": "string"}}
TEXT = {"schema": {"type": "string"}}
HEADERS: dict[str, dict[str, Any]] = {
    "If-Match": {"type": "string", "format": "entity-tags", "pattern": TAGS_PATTERN, "examples": ["*", '"9f86d081884c7d65"']},
    "Idempotency-Key": {"type": "string", "pattern": f"^{IDEMPOTENCY_KEY_PATTERN}$"},
    "If-None-Match": {"type": "string"},
}
LOCATION = {"description": "The path of what was created.", "schema": {"type": "string"}}


def answer(view: View, status: int, described: Described) -> dict[str, Any]:
    """One answer of a view."""
    response: dict[str, Any] = {"description": described.detail}
    if described.schema is not None:
        content: dict[str, Any] = {"schema": described.schema}
        example = recorded().get(view.operation, {}).get(str(status), described.example)
        if example is not None:
            content["example"] = example
        response["content"] = {media_type: content if media_type == JSON else TEXT for media_type in view.produces}
    headers = {}
    if status in (200, 201) and (view.method == "GET" or view.matches):
        headers["ETag"] = ETAG
    if status == 201 and not view.path.endswith(("tokens", "sheet-links")):
        headers["Location"] = LOCATION
    return {**response, "headers": headers} if headers else response


def problems_of(view: View) -> list[int]:
    """The statuses of the problems that a view can answer."""
    statuses = {406, 422}
    if not view.open:
        statuses |= {401}
    # An open view that plans is one whose path is a secret, counted as a token is.
    if not view.open or view.plans:
        statuses |= {429, 503}
    if not set(ANYBODY) <= set(view.roles) and not view.open:
        statuses |= {403}
    if view.path in ("/readyz", "/metrics"):
        statuses |= {503}
    if names_in(view.path) or (view.query is not None and {"site", "sites"} & view.query().fields.keys()):
        statuses |= {404}
    if view.body:
        statuses |= {400, 408, 413, 415}
    if view.matches:
        statuses |= {412}
    if view.conditional:
        statuses |= {428}
    if refusals.conflicts(view):
        statuses |= {409}
    return sorted(statuses)


def path_parameters(view: View) -> list[dict[str, Any]]:
    """The parameters in the path, each with an example where there is one."""
    known = {**examples.PLACES, "code": examples.CODES.get(view.path.removeprefix("/v1/").split("/", 1)[0])}
    return [
        {
            "name": name,
            "in": "path",
            "required": True,
            "schema": SHAPES[KINDS[name]] | ({"examples": [known[name]]} if known.get(name) else {}),
        }
        for name in names_in(view.path)
    ]


def query_parameters(plugin: MarshmallowPlugin, view: View) -> list[dict[str, Any]]:
    """The parameters in the query."""
    schema: Schema | None = view.query() if view.query else None
    return [
        {"name": field.data_key or name, "in": "query", "required": field.required, "schema": without_null(plugin, field)}
        for name, field in (schema.fields.items() if schema else ())
    ]


def without_null(plugin: MarshmallowPlugin, field: fields.Field[Any]) -> dict[str, Any]:
    """A query parameter's shape: no parameter is null, it is left out."""
    shape: dict[str, Any] = shape_of(field) if isinstance(field, Field) else plugin.converter.field2property(field)  # type: ignore[union-attr]
    default = field.load_default
    return {**shape, "default": default} if isinstance(default, (int, str)) else shape


def header_parameters(view: View) -> list[dict[str, Any]]:
    """The headers that a view reads."""
    read = {"If-Match": view.matches, "Idempotency-Key": view.keyed, "If-None-Match": view.method == "GET"}
    return [{"name": name, "in": "header", "required": False, "schema": HEADERS[name]} for name, heeded in read.items() if heeded]

"""The published document: valid, fresh, complete, and true to what the service takes and answers."""

import json
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from openapi_schema_validator import OAS31Validator
from openapi_spec_validator import validate

from service.api.document import openapi
from service.api.document.codes import CODES
from service.api.document.docs import by_slug
from service.api.document.growth import reached
from service.api.document.meanings import OWN, PARAMETERS
from service.api.document.openapi import build
from service.api.document.shapes import WORDS
from service.api.document.vocabulary import NAMES
from service.api.exchange.interior import Interior
from service.api.exchange.paths import rule_of
from service.api.exchange.problems import PROBLEMS, UNREAD
from service.api.exchange.roles import ANYBODY
from service.api.exchange.routing import load
from service.api.exchange.views import View
from service.api.wire.json import parse, render
from service.app import NOUNS, published_document
from service.resources import folder
from tests.api.caller import Caller
from tests.strict import strict

VIEWS = [view for noun in NOUNS for view in noun.views]
PAGES = ("/docs", "/problems")


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return build(NOUNS)


def named(view: View) -> str:
    return f"{view.method} {view.path}"


def validator(document: dict[str, Any], schema: dict[str, Any]) -> OAS31Validator:
    return OAS31Validator({**strict(schema), "components": strict(document["components"])})


def schema_of(document: dict[str, Any], view: View, status: int) -> dict[str, Any]:
    content = document["paths"][view.path][view.method.lower()]["responses"][str(status)]["content"]
    found: dict[str, Any] = content["application/json"]["schema"]
    return found


def test_it_is_valid_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"] == "3.1.0"
    validate(document)


def test_the_committed_file_is_fresh() -> None:
    committed = (Path(folder("openapi")) / "openapi.json").read_text("utf-8")
    assert committed == published_document(), "write it again: kitchen-prep openapi > openapi/openapi.json"


def test_the_service_serves_it_without_a_token(anybody: Caller, document: dict[str, Any]) -> None:
    assert anybody.get("/v1/openapi.json").get_json() == document


def test_it_is_made_once_and_not_sent_to_whom_has_it(anybody: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    first = anybody.get("/v1/openapi.json")
    monkeypatch.setattr(openapi, "build", None)
    assert anybody.get("/v1/openapi.json").data == first.data
    assert anybody.get("/v1/openapi.json", If_None_Match=first.headers["ETag"]).status_code == 304


def test_every_route_of_the_application_is_a_declared_view(app: Flask) -> None:
    declared = {(view.method, rule_of(view.path)) for view in VIEWS}
    routes = {
        (method, rule.rule)
        for rule in app.url_map.iter_rules()
        for method in rule.methods or ()
        if method not in ("HEAD", "OPTIONS") and not rule.rule.startswith(PAGES)
    }
    assert routes == declared


@pytest.mark.parametrize("view", VIEWS, ids=named)
def test_every_view_is_documented_with_summary_answers_and_problems(document: dict[str, Any], view: View) -> None:
    operation = document["paths"][view.path][view.method.lower()]
    assert operation["summary"].endswith(".")
    assert operation["summary"][0].isupper()
    assert set(operation["responses"]) >= {str(status) for status in view.answers}
    if view.body:
        assert operation["requestBody"]["content"]["application/json"]["example"]
        assert {"400", "413", "415", "422"} <= set(operation["responses"])
    for answer in operation["responses"].values():
        assert "$ref" in answer or answer["description"]


def closed(components: dict[str, Any], roots: Iterable[Any]) -> dict[str, set[bool]]:
    """Whether the objects refuse unknown fields that some parts of the document hold, by their components."""
    found: dict[str, set[bool]] = {}
    waiting, seen = [("", root) for root in roots], set()
    while waiting:
        place, value = waiting.pop()
        if isinstance(value, list):
            waiting += [(place, inner) for inner in value]
        elif isinstance(value, dict):
            if value.get("type") == "object" and isinstance(value.get("properties"), dict):
                found.setdefault(place, set()).add(value.get("additionalProperties") is False)
            name = value.get("$ref", "").removeprefix("#/components/schemas/")
            if name in components and name not in seen:
                seen.add(name)
                waiting.append((name, components[name]))
            waiting += [(place, inner) for inner in value.values()]
    return found


def operations(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [operation for path in document["paths"].values() for operation in path.values()]


def test_answers_may_grow_and_requests_name_all_that_they_take(document: dict[str, Any]) -> None:
    components = document["components"]["schemas"]
    sent = closed(components, [operation.get("requestBody") for operation in operations(document)])
    answers = [operation["responses"] for operation in operations(document)]
    answered = closed(components, [*answers, document["components"]["responses"]])
    assert {"DraftBody", "LineSent", "QuantitySent"} <= set(sent)
    assert {"Draft", "Line", "Quantity", "PrepList", "Problem"} <= set(answered)
    assert [name for name, refusing in sent.items() if refusing != {True}] == []
    assert [name for name, refusing in answered.items() if refusing != {False}] == []


def test_an_answer_may_hold_texts_of_any_length_and_a_request_may_not(document: dict[str, Any]) -> None:
    components = document["components"]["schemas"]
    assert components["DraftBody"]["properties"]["title"]["maxLength"] == 200
    answers = [operation["responses"] for operation in operations(document)]
    answered = reached(components, [*answers, document["components"]["responses"]])
    # A unit is a word of a list that stands in both.
    sent = reached(components, [operation.get("requestBody") for operation in operations(document)])
    assert answered & sent >= {"Unit"}
    assert [name for name in sorted(answered - sent) if "maxLength" in json.dumps(components[name])] == []


def test_closed_lists_and_shared_shapes_are_components_also_where_they_may_be_null(document: dict[str, Any]) -> None:
    components = document["components"]["schemas"]
    assert {"Storage", "Units", "Role", "Quantity", "ItemReference", "Task", "Money"} <= set(components)
    storage = {"anyOf": [{"$ref": "#/components/schemas/Storage"}, {"type": "null"}]}
    declared = {key: inner for key, inner in components["DraftBody"]["properties"]["storage"].items() if key != "description"}
    assert declared == storage | {"default": None}
    # A list of one word is no list of others': it tells the kinds of a union apart.
    inline = [text for text in re.findall(r'"enum": (\[[^]]*\])', json.dumps(components)) if text.count(",") > 0]
    assert sorted(inline) == sorted(json.dumps(components[name]["enum"]) for name in WORDS.values())


def test_nothing_stands_in_the_document_that_it_does_not_use(document: dict[str, Any]) -> None:
    text = json.dumps(document)
    for kind, components in document["components"].items():
        if kind != "securitySchemes":
            assert [name for name in components if f'"#/components/{kind}/{name}"' not in text] == []


@pytest.mark.parametrize("view", VIEWS, ids=named)
def test_a_conflict_and_a_fault_are_shown_by_their_own_causes(document: dict[str, Any], view: View) -> None:
    answers = document["paths"][view.path][view.method.lower()]["responses"]
    for status in {"409", "422"} & set(answers):
        content = answers[status]["content"]["application/problem+json"]
        shown = [example["value"] for example in content["examples"].values()]
        for problem in shown:
            validator(document, content["schema"]).validate(problem)
            assert problem["status"] == int(status)
    causes = set(answers.get("409", {}).get("content", {}).get("application/problem+json", {}).get("examples", ()))
    assert ("in-use" in causes) == (view.method == "DELETE" and "409" in answers)
    assert ("shown-once" in causes) == (view.keyed == "once")
    assert ("nothing-to-publish" in causes) == (view.path == "/v1/recipes/{code}/versions" and view.method == "POST")
    assert ("in-flight" in causes) == bool(view.keyed)


@pytest.mark.parametrize("view", VIEWS, ids=named)
def test_the_faults_that_are_shown_are_of_the_views_own_fields_and_parameters(document: dict[str, Any], view: View) -> None:
    operation = document["paths"][view.path][view.method.lower()]
    shown = operation["responses"]["422"]["content"]["application/problem+json"]["examples"]
    faults = {cause: [fault for fault in each["value"]["errors"] if fault["code"] != "unknown_field"] for cause, each in shown.items()}
    assert {"query"} | ({"shape"} if view.body else set()) | ({"match"} if view.matches else set()) <= set(shown)
    parameters = {each["name"] for each in operation["parameters"]}
    queries = {each["name"] for each in operation["parameters"] if each["in"] == "query"}
    assert {fault["parameter"] for fault in faults.pop("query")} == queries
    fields = {field.data_key or name for name, field in view.body().fields.items()} if view.body else set()
    for found in faults.values():
        assert found
        places = [fault.get("parameter") or fault["pointer"].split("/")[1] for fault in found]
        assert set(places) <= parameters | fields


def test_every_field_and_parameter_has_a_sentence_and_every_sentence_a_field(document: dict[str, Any]) -> None:
    shapes = document["components"]["schemas"]
    fields = {(name, key): inner for name, shape in shapes.items() for key, inner in shape.get("properties", {}).items()}
    assert [place for place, inner in fields.items() if not inner.get("description", "").endswith(".")] == []
    parameters = {(each["name"], each.get("description", "")) for operation in operations(document) for each in operation["parameters"]}
    assert [name for name, sentence in parameters if not sentence.endswith(".")] == []
    assert sorted(NAMES.keys() - {key for _, key in fields} - {name for name, _ in parameters}) == []
    assert sorted(OWN.keys() - fields.keys()) == []
    assert sorted(PARAMETERS.keys() - {name for name, _ in parameters}) == []


VERBS = {"check", "create", "delete", "get", "import", "list", "preview", "print", "publish", "push", "put", "record", "report"}
VERBS |= {"revoke", "scale", "withdraw"}


def test_operation_ids_are_verbs_and_nouns(document: dict[str, Any]) -> None:
    ids = [operation["operationId"] for operation in operations(document)]
    assert [name for name in ids if name.split("_")[0] not in VERBS or "_" not in name] == []
    assert {"report_progress", "push_forecasts", "get_prep_list", "put_draft", "list_menu_items"} <= set(ids)


def test_the_guide_stands_first_and_each_route_says_who_may_call_it(document: dict[str, Any]) -> None:
    guide = document["info"]["description"]
    assert [title for title in ("Tokens and roles", "Pages", "ETags", "Repetition", "Errors", "Time") if f"## {title}\n" not in guide] == []
    # A line that began with a number and a dot would be read as the item of a list.
    assert [line for line in guide.splitlines() if re.match(r"\d+\. ", line)] == []
    assert document["tags"][0]["name"] == "Prep lists"
    for view in VIEWS:
        said = document["paths"][view.path][view.method.lower()]["description"].rsplit("\n\n", 1)[-1]
        assert said.startswith("For ")
        assert view.open or set(ANYBODY) <= set(view.roles) or all(f"{role}" in said for role in view.roles), said


def test_operation_ids_are_unique(document: dict[str, Any]) -> None:
    ids = [operation["operationId"] for path in document["paths"].values() for operation in path.values()]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("view", VIEWS, ids=named)
def test_every_view_asks_for_a_token_and_a_role_unless_it_is_open(
    view: View, anybody: Caller, caller_of: Callable[..., Caller], director: Caller
) -> None:
    path = view.path.replace("{number}", "1").replace("{date}", "2026-12-03").replace("{id}", "ab").replace("{task}", "make.none")
    for name in ("code", "site", "period", "menu_item"):
        path = path.replace(f"{{{name}}}", "none")
    if view.open:
        assert view.path in ("/livez", "/readyz", "/metrics", "/v1", "/v1/openapi.json", "/sheets/{secret}")
        # Without its secret a sheet's address is none.
        assert anybody.send(view.method, path).status_code == (404 if "{secret}" in path else 200)
        return
    assert anybody.send(view.method, path).status_code == 401
    assert director.send(view.method, path).status_code not in (401, 403)
    callers = {"kitchen": caller_of("kitchen", ["mill-street"]), "integration": caller_of("integration", None, "till-east")}
    for role, caller in {**callers, "viewer": caller_of("viewer")}.items():
        assert (caller.send(view.method, path).status_code == 403) == (role not in view.roles)


@pytest.mark.parametrize("view", [view for view in VIEWS if view.body], ids=named)
def test_every_example_of_a_body_is_accepted_as_it_stands(document: dict[str, Any], view: View) -> None:
    assert view.body is not None
    read, faults = load(view.body, parse(render(view.example)))
    assert (faults, read is not None) == ([], True)
    schema = document["paths"][view.path][view.method.lower()]["requestBody"]["content"]["application/json"]["schema"]
    validator(document, schema).validate(json.loads(render(view.example)))


@pytest.mark.parametrize("view", [view for view in VIEWS if any(answer.example for answer in view.answers.values())], ids=named)
def test_every_example_of_an_answer_fits_its_schema(document: dict[str, Any], view: View) -> None:
    for status, answer in view.answers.items():
        if answer.example is not None:
            validator(document, schema_of(document, view, status)).validate(answer.example)


def test_every_problem_and_every_code_is_explained(anybody: Caller) -> None:
    page = anybody.get("/problems")
    assert page.status_code == 200
    for problem in (*PROBLEMS.values(), *UNREAD.values()):
        assert f"/problems/{problem.slug}" in page.get_data(as_text=True)
        explained = anybody.get(f"/problems/{problem.slug}")
        assert explained.status_code == 200
        assert explained.headers["Content-Security-Policy"].startswith("default-src 'none'")
    text = anybody.get("/problems/invalid").get_data(as_text=True)
    assert all(f"<code>{code}</code>" in text for code in CODES)
    assert anybody.get("/problems/nonsense").status_code == 404
    assert {problem.slug for problem in (*PROBLEMS.values(), *UNREAD.values())} | {"internal"} == by_slug().keys()


def test_the_interactive_page_needs_nothing_from_elsewhere(anybody: Caller, app: Flask) -> None:
    page = anybody.get("/docs/")
    text = page.get_data(as_text=True)
    assert page.status_code == 200
    assert "http://" not in text
    assert "https://" not in text
    assert '"validatorUrl": null' in text
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "'sha256-" in policy
    assert "script-src 'self' 'unsafe-inline'" not in policy
    for file in ("swagger-ui-bundle.js", "swagger-ui.css", "swagger-ui-standalone-preset.js"):
        assert file in text
        asset = anybody.get(f"/docs/{file}")
        assert asset.status_code == 200
        asset.close()
    assert anybody.get("/docs/../../../etc/passwd").status_code == 404
    assert Interior.of(app).config

"""Every refusal that a route can give is in the document, and what the document says of it is so."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from flask import Flask
from openapi_schema_validator import OAS31Validator

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.resources import folder
from tests.contract.scene import NOW, Scene
from tests.strict import strict

DOCUMENT = strict(json.loads((folder("openapi") / "openapi.json").read_text("utf-8")))
OPERATIONS = [
    pytest.param(method, path, operation, id=f"{method.upper()} {path}")
    for path, operations in DOCUMENT["paths"].items()
    for method, operation in operations.items()
]
PROBLEM = OAS31Validator({**DOCUMENT["components"]["schemas"]["Problem"], "components": DOCUMENT["components"]})
LARGE = b" " * ((32 << 20) + 1)
NOWHERE = "%C3%84"
LIST = "/v1/sites/mill-street/prep-lists/2026-12-03"
# What a route may answer on top of what is sent to it here: the tests of load, slow bodies and repetition provoke these.
ELSEWHERE = {"408", "409", "429", "503"}


@dataclass(frozen=True)
class Wrong:
    """A request that is to be refused with a status."""

    status: int
    headers: dict[str, str]
    query: dict[str, str] | None = None
    body: bytes | None = None
    nowhere: bool = False


@pytest.fixture(scope="module")
def app(scene: Scene, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    """One application for all: nothing that is refused changes anything."""
    made = create_app(Config.from_env(scene.copied(tmp_path_factory.mktemp("errors") / "kitchen.sqlite3")))
    yield made
    Interior.of(made).engine.dispose()


@pytest.fixture(scope="module")
def places(app: Flask, scene: Scene) -> dict[str, str]:
    """What stands in paths where the document has no example; a list is printed and reported, a count overridden, a date closed."""
    client = app.test_client()
    listed = client.get(LIST, headers=scene.headers).get_json()
    task = next(task["id"] for station in listed["stations"] for task in station["tasks"])
    assert client.post(f"{LIST}/prints", headers=scene.headers).status_code == 201
    assert client.put(f"{LIST}/tasks/{task}/progress", headers=scene.headers, json={"state": "doing", "at": NOW}).status_code == 200
    override = "/v1/sites/mill-street/overrides/2026-12-03/lunch/soup-bowl"
    assert client.put(override, headers=scene.headers, json={"add": 1}).status_code == 201
    assert client.put("/v1/sites/mill-street/capacity/2026-12-03", headers=scene.headers, json={"shifts": []}).status_code == 201
    link = client.post("/v1/sites/mill-street/sheet-links", headers=scene.headers, json={}).get_json()["url"]
    return {"task": task, "id": "none", "secret": link.rpartition("/")[2]}


def wrongs(operation: dict[str, Any], token: str, others: dict[str, str]) -> Iterator[Wrong]:
    """Every wrong request that an operation can be sent."""
    known = {"Authorization": f"Bearer {token}"}
    if operation.get("security") != []:
        yield Wrong(401, {})
        yield from (Wrong(403, {"Authorization": f"Bearer {others[role]}"}) for role in others if role not in operation["x-roles"])
    if any(parameter["in"] == "path" for parameter in operation["parameters"]):
        yield Wrong(404, known, nowhere=True)
    for parameter in operation["parameters"]:
        if parameter["name"] in ("site", "sites") and parameter["in"] == "query":
            # A site of several is looked for once the query is right.
            asked = {each["name"] for each in operation["parameters"] if each["in"] == "query" and each["required"]}
            keys = dict.fromkeys(asked, "2026-12-03") if parameter["name"] == "sites" else {}
            yield Wrong(404, known, query={parameter["name"]: "no-such-site"} | keys)
    yield Wrong(406, known | {"Accept": "image/png"})
    if "requestBody" in operation:
        sent = known | {"Content-Type": "application/json"}
        yield Wrong(413, sent, body=LARGE)
        yield Wrong(415, known | {"Content-Type": "text/plain"}, body=b"{}")
        yield Wrong(400, sent, body=b"{")
        yield Wrong(422, sent, body=b"[]")
    else:
        yield Wrong(422, known, query={"no-such-key": "1"})


def states(operation: dict[str, Any], token: str, stored: bytes) -> Iterator[Wrong]:
    """Requests to change what is stored, without its state and with another one."""
    known = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    if any(parameter["name"] == "If-Match" for parameter in operation["parameters"]):
        if "428" in operation["responses"]:
            yield Wrong(428, known, body=stored)
        else:
            # A report may be made whatever was said before; it is not what is read of it.
            stored = json.dumps(operation["requestBody"]["content"]["application/json"]["example"]).encode()
        yield Wrong(412, known | {"If-Match": '"another"'}, body=stored)


def address(path: str, operation: dict[str, Any], places: dict[str, str], *, nowhere: bool) -> str:
    """The path with its examples and places, or with names that nothing has."""
    for parameter in operation["parameters"]:
        if parameter["in"] == "path":
            example = NOWHERE if nowhere else parameter["schema"].get("examples", [places.get(parameter["name"])])[0]
            path = path.replace(f"{{{parameter['name']}}}", str(example))
    return path


@pytest.mark.parametrize(("method", "path", "operation"), OPERATIONS)
def test_every_refusal_is_documented(
    app: Flask, scene: Scene, places: dict[str, str], method: str, path: str, operation: dict[str, Any]
) -> None:
    client = app.test_client()
    found = set()
    stored = client.get(address(path, operation, places, nowhere=False), headers=scene.headers)
    expected = list(wrongs(operation, scene.token, scene.others))
    expected += states(operation, scene.token, stored.data) if stored.status_code == 200 else []
    for wrong in expected:
        where = address(path, operation, places, nowhere=wrong.nowhere)
        answer = client.open(where, method=method.upper(), headers=wrong.headers, query_string=wrong.query, data=wrong.body)
        assert answer.status_code == wrong.status, (wrong.headers, wrong.query, answer.get_data(as_text=True))
        assert answer.content_type == "application/problem+json"
        PROBLEM.validate(answer.get_json())
        found.add(str(answer.status_code))
    documented = {status for status in operation["responses"] if status >= "400"}
    assert found <= documented
    assert found | ELSEWHERE >= documented


@pytest.mark.parametrize(("method", "path", "operation"), OPERATIONS)
def test_every_route_that_takes_a_token_may_ask_to_wait(method: str, path: str, operation: dict[str, Any]) -> None:
    documented = set(operation["responses"])
    if operation.get("security") != []:
        assert {"401", "429", "503"} <= documented
    if "requestBody" in operation:
        assert {"400", "408", "413", "415", "422"} <= documented


def test_refusals_tell_how_to_go_on() -> None:
    answers = DOCUMENT["components"]["responses"]
    assert "WWW-Authenticate" in answers["problem401"]["headers"]
    assert all("Retry-After" in answers[name]["headers"] for name in ("problem429", "problem503"))

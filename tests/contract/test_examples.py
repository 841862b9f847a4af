"""The examples of the published document, sent as they stand by a new group: each is accepted, and each answer fits its shape."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from openapi_schema_validator import OAS31Validator

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from service.resources import folder
from tests.api.caller import Caller
from tests.strict import strict

DOCUMENT = strict(json.loads((folder("openapi") / "openapi.json").read_text("utf-8")))
BODIES = {
    operation["operationId"]: operation["requestBody"]["content"]["application/json"].get("example")
    for operations in DOCUMENT["paths"].values()
    for operation in operations.values()
    if "requestBody" in operation
}
# The evening before the list: what the examples count, push and publish has happened.
NOW = "2026-12-02T22:00:00-05:00"
Send = Callable[..., Any]

# Operations in an order in which a new group could send them, each with the status of its answer.
OPENING = [
    ("put_stations_by_code", 201),
    ("put_ingredients_by_code", 201),
    ("put_recipes_by_code_draft", 201),
    ("post_recipes_by_code_draft_preview", 200),
    ("post_recipes_by_code_versions", 201),
]
DAY = [
    ("post_recipes_by_code_scalings", 200),
    ("put_menu_items_by_code", 201),
    ("put_sites_by_code", 201),
    ("post_imports", 200),
    ("post_forecasts", 200),
    ("put_sites_by_site_overrides_by_date_by_period_by_menu_item", 201),
    ("post_sites_by_site_counts", 201),
    ("put_sites_by_site_prep_lists_by_date_tasks_by_task_progress", 200),
    ("post_tokens", 201),
]
CLOSING = [("post_recipes_by_code_versions_by_number_withdrawal", 200)]
READINGS = [
    operation["operationId"]
    for operations in DOCUMENT["paths"].values()
    for method, operation in operations.items()
    if method == "get" and not operation["operationId"].endswith("progress")
]


@pytest.fixture
def director(sqlite_url: str) -> Iterator[Caller]:
    """The director of a group that has nothing yet but what the examples take for granted."""
    app = create_app(Config.from_env({"DATABASE_URL": sqlite_url, "KITCHEN_PREP_NOW": NOW, "KITCHEN_PREP_LOG_LEVEL": "CRITICAL"}))
    interior = Interior.of(app)
    with interior.writers() as session:
        secret, _ = create_token(session, "director", "director", None, None, 365, interior.config.now())
        session.commit()
    caller = Caller(app.test_client(), secret)
    for code in ("hot-line", "bakery", "cold-line"):
        assert caller.put(f"/v1/stations/{code}", {"name": code}).status_code == 201
    for code in ("cumin", "salt", "onion-trim"):
        assert caller.put(f"/v1/ingredients/{code}", {"name": code, "kind": "mass"}).status_code == 201
    yield caller
    interior.engine.dispose()


def find(name: str) -> tuple[str, str, dict[str, Any]]:
    """Path, method and declaration of an operation."""
    return next(
        (path, method, operation)
        for path, operations in DOCUMENT["paths"].items()
        for method, operation in operations.items()
        if operation["operationId"] == name
    )


def send(director: Caller, name: str, **places: str) -> Any:
    """Send an operation with its examples; the answer, which is one of those in the document and fits its shape."""
    path, method, operation = find(name)
    query = {}
    for parameter in operation["parameters"]:
        example = places.get(parameter["name"], parameter["schema"].get("examples", [None])[0])
        if parameter["in"] == "path":
            path = path.replace(f"{{{parameter['name']}}}", str(example))
        elif parameter["in"] == "query" and parameter["required"]:
            query[parameter["name"]] = example if example is not None else 1
    answer = director.client.open(
        path, method=method.upper(), json=BODIES.get(name), query_string=query, headers={"Authorization": f"Bearer {director.secret}"}
    )
    described = operation["responses"].get(str(answer.status_code))
    assert described, (name, answer.status_code, answer.get_data(as_text=True))
    if answer.is_json and "application/json" in described.get("content", {}):
        schema = described["content"]["application/json"]["schema"]
        OAS31Validator({**schema, "components": DOCUMENT["components"]}).validate(answer.get_json())
    return answer


def follow(director: Caller, steps: list[tuple[str, int]]) -> None:
    for name, status in steps:
        places = {"task": prepared(director)} if name.endswith("progress") else {}
        answer = send(director, name, **places)
        assert answer.status_code == status, (name, answer.get_data(as_text=True))


def prepared(director: Caller) -> str:
    """A task of the examples' list that is measured in mass, as the example of a report is."""
    listed = send(director, "get_sites_by_site_prep_lists_by_date").get_json()
    return str(next(task["id"] for station in listed["stations"] for task in station["tasks"] if task["kind"] == "prep"))


def test_a_new_group_can_send_every_example_as_it_stands(director: Caller) -> None:
    follow(director, OPENING + DAY)


def test_what_nobody_uses_yet_can_be_withdrawn_by_its_example(director: Caller) -> None:
    follow(director, OPENING + CLOSING)


def test_every_example_of_a_body_is_sent() -> None:
    assert {name for name, _ in OPENING + DAY + CLOSING} == set(BODIES)
    assert all(BODIES.values())


def test_every_reading_of_what_the_examples_made_is_answered(director: Caller) -> None:
    follow(director, OPENING + DAY)
    assert director.post("/v1/sites/mill-street/prep-lists/2026-12-03/prints", None).status_code == 201
    for name in READINGS:
        assert send(director, name).status_code == 200, name

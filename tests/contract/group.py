"""A new group that begins with the examples of the published document: what it sends, in which order, and what it is answered.

Responsible for sending the examples as they stand. Refuses to judge the answers, but for their status and shape.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from openapi_schema_validator import OAS31Validator

from service.api.document.examples import PLACES
from service.api.document.openapi import build
from service.api.exchange.interior import Interior
from service.app import NOUNS, create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.caller import Caller
from tests.strict import strict

DOCUMENT = strict(build(NOUNS))
BODIES = {
    operation["operationId"]: operation["requestBody"]["content"]["application/json"].get("example")
    for operations in DOCUMENT["paths"].values()
    for operation in operations.values()
    if "requestBody" in operation
}
# The evening before the list: what the examples count, push and publish has happened.
NOW = "2026-12-02T22:00:00-06:00"
LIST = "/v1/sites/mill-street/prep-lists/2026-12-03"
# What stands in queries that must be there.
QUERY = {"from": PLACES["date"], "to": PLACES["date"], "date": PLACES["date"], "since": 1}

# Operations in an order in which a new group could send them, each with the status of its answer.
OPENING = [
    ("put_station", 201),
    ("put_equipment", 201),
    ("put_ingredient", 201),
    ("put_draft", 201),
    ("preview_draft", 200),
    ("publish_version", 201),
]
DAY = [
    ("scale_recipe", 200),
    ("put_menu_item", 201),
    ("put_site", 201),
    ("import_catalogue", 200),
    ("push_forecasts", 200),
    ("put_override", 201),
    ("put_capacity", 201),
    ("record_count", 201),
    ("print_list", 201),
    ("report_progress", 200),
    ("create_sheet_link", 201),
    ("create_token", 201),
]
CLOSING = [("withdraw_version", 200)]
READINGS = [
    operation["operationId"] for operations in DOCUMENT["paths"].values() for method, operation in operations.items() if method == "get"
]


@contextmanager
def opened(url: str) -> Iterator[Caller]:
    """The director of a group that has nothing yet but what the examples take for granted."""
    app = create_app(Config.from_env({"DATABASE_URL": url, "KITCHEN_PREP_NOW": NOW, "KITCHEN_PREP_LOG_LEVEL": "CRITICAL"}))
    interior = Interior.of(app)
    with interior.writers() as session:
        secret, _ = create_token(session, "director", "director", None, None, 365, interior.config.now())
        session.commit()
    caller = Caller(app.test_client(), secret)
    for code in ("hot-line", "bakery", "cold-line"):
        assert caller.put(f"/v1/stations/{code}", {"name": code}).status_code == 201
    assert caller.put("/v1/equipment/combi-oven", {"name": "Combi oven"}).status_code == 201
    for code in ("cumin", "salt", "veg-trim"):
        assert caller.put(f"/v1/ingredients/{code}", {"name": code, "kind": "mass"}).status_code == 201
    try:
        yield caller
    finally:
        interior.engine.dispose()


def shared(director: Caller) -> str:
    """The secret of a link to the sheets of the examples' site."""
    return str(director.post("/v1/sites/mill-street/sheet-links", {}).get_json()["url"].rpartition("/")[2])


def find(name: str) -> tuple[str, str, dict[str, Any]]:
    """Path, method and declaration of an operation."""
    return next(
        (path, method, operation)
        for path, operations in DOCUMENT["paths"].items()
        for method, operation in operations.items()
        if operation["operationId"] == name
    )


def address_of(name: str, places: dict[str, str]) -> str:
    """The path of an operation, with its examples or what stands in their places."""
    path, _, operation = find(name)
    for parameter in operation["parameters"]:
        if parameter["in"] == "path":
            example = places.get(parameter["name"], parameter["schema"].get("examples", [None])[0])
            path = path.replace(f"{{{parameter['name']}}}", str(example))
    return path


def send(
    director: Caller,
    name: str,
    places: dict[str, str] | None = None,
    headers: dict[str, str] | None = None,
    *,
    body: Any = None,
    query: dict[str, str] | None = None,
) -> Any:
    """Send an operation with its examples, or another body or query; the answer is one of those in the document and fits its shape."""
    _, method, operation = find(name)
    required = {each["name"]: QUERY[each["name"]] for each in operation["parameters"] if each["in"] == "query" and each["required"]}
    sent = {"Authorization": f"Bearer {director.secret}", **(headers or {})}
    answer = director.client.open(
        address_of(name, places or {}),
        method=method.upper(),
        json=BODIES.get(name) if body is None else body,
        query_string=required if query is None else query,
        headers=sent,
    )
    described = operation["responses"].get(str(answer.status_code))
    assert described, (name, answer.status_code, answer.get_data(as_text=True))
    if answer.is_json and "application/json" in described.get("content", {}):
        schema = described["content"]["application/json"]["schema"]
        OAS31Validator({**schema, "components": DOCUMENT["components"]}).validate(answer.get_json())
    return answer


def follow(director: Caller, steps: list[tuple[str, int]]) -> Iterator[tuple[str, Any]]:
    """Send operations one after the other; each with its answer, which has the status that it should have."""
    for name, status in steps:
        places = {"task": prepared(director)} if name.endswith("progress") else {}
        answer = send(director, name, places)
        assert answer.status_code == status, (name, answer.get_data(as_text=True))
        yield name, answer


def prepared(director: Caller) -> str:
    """A task of the examples' list that is measured in mass, as the example of a report is."""
    listed = send(director, "get_prep_list").get_json()
    return str(next(task["id"] for station in listed["stations"] for task in station["tasks"] if task["kind"] == "prep"))

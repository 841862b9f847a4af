"""Requests that the service refuses, and the problems by which it does: the examples of 409 and 422 in the published document.

Responsible for a mistake or several of each operation, each under the word for its cause. Refuses to judge the answers, but for their
status and shape.
"""

from collections.abc import Iterator
from typing import Any

from service.api.document import examples
from service.api.exchange.idempotency import HEADER as KEY
from service.api.exchange.idempotency import Keyed, digest
from service.api.exchange.interior import Interior
from service.store.idempotency import KeptUnder
from tests.api.caller import Caller
from tests.contract.group import BODIES, DOCUMENT, address_of, prepared, send, shared

# The id of the request, which its problem repeats.
REQUEST = {"X-Request-Id": "0b0e5c38-6f0f-4f3c-9d7c-5f1f2a4a9b11"}
KG = {"amount": 1, "unit": "kg"}
SECRET = ("create_sheet_link", "create_token")
UNHEARD_OF = {"unheard-of": "1"}

# Bodies of a wrong shape: all that is wrong with it is told at once.
MISSHAPEN: dict[str, Any] = {
    "create_sheet_link": {"stations": [], "days": 0},
    "create_token": {"name": "Mill Street pass", "role": "cook", "site": "mill-street"},
    "import_catalogue": {"stations": [{"code": "veg", "position": "first"}], "recipe": []},
    "preview_draft": {"from": "tomorrow", "acknowledge": ["dairy"]},
    "publish_version": {"from": "tomorrow", "acknowledge": ["dairy"]},
    "push_forecasts": {"source": "till-east", "as_of": "2026-12-01 21:00", "entrys": []},
    "put_capacity": {"shifts": [{"name": "Early", "stations": [], "from": "6.00", "until": "14:00"}]},
    "put_draft": {
        "title": "Lentil soup",
        "station": "hot-line",
        "yield": {"amount": "20 L", "unit": "L"},
        "lines": [{"item": {"ingredient": "cumin"}, "quantity": {"amount": 2, "unit": "T"}, "scaling": {"rule": "percent"}, "step": 0}],
        "serves": 80,
    },
    "put_equipment": {"position": "first"},
    "put_ingredient": {"name": "Floury potato", "kind": "weight", "forms": [{"code": "Peeled", "name": "peeled", "trim_yield": 75}]},
    "put_menu_item": {"name": "Soup bowl", "price": {"amount": 6.5, "currency": "USD"}, "components": []},
    "put_override": {"count": -1, "add": "twelve"},
    "put_site": {"name": "Mill Street", "time_zone": "Chicago", "periods": [{"code": "lunch", "name": "Lunch", "ready_by": "11.30"}]},
    "put_station": {"name": "", "positon": 10},
    "record_count": {"counted_at": "2026-12-01T21:30:00", "lots": [{"item": {"ingredient": "cumin"}, "quantity": {"amount": 3}}]},
    "report_progress": {"state": "finished", "made": {"amount": -1, "unit": "kg"}},
    "scale_recipe": {"to": {"quantity": {"amount": 350, "unit": "servings"}}, "units": "imperial"},
    "withdraw_version": {"from": "2026-12-32", "reason": "back to the older one"},
}

# Bodies of the right shape that mean what cannot be.
MEANINGLESS: dict[str, Any] = {
    "create_sheet_link": {"stations": ["grill"]},
    "create_token": {"name": "Mill Street pass", "role": "kitchen"},
    "import_catalogue": {"recipes": [{"code": "lentil-soup", **examples.SOUP, "station": "grill", "publish_from": "2026-12-04"}]},
    "publish_version": {"from": "2026-12-04", "sites": ["mill-stret"]},
    "push_forecasts": examples.PUSH | {"as_of": "2026-12-03T15:00:00-05:00"},
    "put_capacity": {"equipment": [{"equipment": "kettle", "count": 1}]},
    "put_ingredient": examples.POTATO | {"forms": [examples.POTATO["forms"][0] | {"station": "vegg"}], "packs": []},
    "put_menu_item": examples.SOUP_BOWL | {"components": [{"recipe": "lentil-soop", "quantity": {"amount": 1, "unit": "portion"}}]},
    "put_override": examples.OVERRIDE | {"event": "banquet-12"},
    "put_site": examples.SITE | {"station_map": {"bakery": "cold-lines"}, "vessels": []},
    "record_count": {
        "counted_at": "2026-12-03T21:30:00-06:00",
        "lots": [{"item": {"ingredient": "cumin"}, "quantity": {"amount": 2, "unit": "L"}}, {"item": {"recipe": "soup"}, "quantity": KG}],
    },
    "report_progress": {"state": "done", "made": {"amount": 2, "unit": "L"}, "at": "2026-12-03T08:00:00-06:00"},
    "scale_recipe": {"to": {"have": {"item": {"ingredient": "veg-trim"}, "quantity": KG}}},
    "withdraw_version": {"from": "2026-12-03"},
}

# Queries of the right shape that ask for what there cannot be.
MISASKED: dict[str, dict[str, str]] = {
    "get_order_list": {"from": "2026-12-03", "to": "2026-12-02"},
    "get_prep_list": {"from": "2026-12-04", "station": "grill"},
    "get_schedule": {"from": "2026-12-04", "station": "grill"},
    "get_work_for": {"from": "2026-12-04"},
    "list_capacity": {"from": "2026-12-03", "to": "2026-12-02"},
    "list_counts": {"from": "2026-12-03", "to": "2026-12-02"},
    "list_forecasts": {"from": "2026-12-03", "to": "2026-12-02"},
    "list_order_lists": {"from": "2026-12-03", "to": "2026-12-02"},
    "list_overrides": {"from": "2026-12-03", "to": "2026-12-02"},
    "list_prep_lists": {"from": "2026-12-04"},
    "list_site_forecasts": {"from": "2026-12-03", "to": "2026-12-02"},
    "print_list": {"from": "2026-12-04"},
}


def problems(director: Caller) -> Iterator[tuple[str, str, str, Any]]:
    """Every operation's refusals, as a group gives them that has sent all examples: operation, status, cause and the problem."""
    places = {"task": prepared(director), "secret": shared(director)}
    for operations in DOCUMENT["paths"].values():
        for operation in operations.values():
            name, answers = operation["operationId"], operation["responses"]
            for cause, wrong in wrongs(operation) if "422" in answers else ():
                yield name, "422", cause, refused(director, name, 422, places, **wrong)
            if KEY in named(operation):
                yield from of_key(director, name, places)
            if name.startswith("delete_") and "409" in answers:
                yield name, "409", "in-use", refused(director, name, 409, places | unpublished(director, name))
    yield "publish_version", "409", "nothing-to-publish", refused(director, "publish_version", 409, places)


def unpublished(director: Caller, name: str) -> dict[str, str]:
    """The code of a draft that cannot be deleted: it was never published, and something uses it."""
    if name != "delete_draft":
        return {}
    cup = {"name": "Cup of stock", "components": [{"recipe": "stock", "quantity": KG}]}
    assert director.put("/v1/recipes/stock/draft", examples.SOUP).status_code == 201
    assert director.put("/v1/menu-items/stock-cup", cup).status_code == 201
    return {"code": "stock"}


def named(operation: dict[str, Any]) -> set[str]:
    """The names of an operation's parameters."""
    return {parameter["name"] for parameter in operation["parameters"]}


def wrongs(operation: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Ways to send an operation wrongly: what is sent besides its example, or in its place, by the cause of the refusal."""
    name = operation["operationId"]
    if name in BODIES:
        yield "shape", {"body": MISSHAPEN[name]}
    if name in MEANINGLESS or name in MISASKED:
        yield "meaning", {"body": MEANINGLESS.get(name), "query": MISASKED.get(name)}
    # A question mark is nothing that any key takes.
    yield "query", {"query": {each["name"]: "?" for each in operation["parameters"] if each["in"] == "query"} or UNHEARD_OF}
    if "If-Match" in named(operation):
        yield "match", {"headers": {"If-Match": "9f86d081884c7d65"}}


def of_key(director: Caller, name: str, places: dict[str, str]) -> Iterator[tuple[str, str, str, Any]]:
    """The refusals of an Idempotency-Key: while it is being answered, for another request, and where a secret was shown."""
    key = {KEY: "a-key-of-ones-own"}
    address = f"POST {address_of(name, places)}"
    under = KeptUnder(director.get("/v1/whoami").get_json()["id"], digest(address), digest(key[KEY]))
    with Interior.of(director.client.application).twins.alone(Keyed(under, "")):
        yield name, "409", "in-flight", refused(director, name, 409, places, headers=key)
    # What was published is published no second time.
    once = {"body": examples.PUBLICATION | {"from": "2026-12-09"}} if name == "publish_version" else {}
    assert send(director, name, places, key, **once).status_code in (200, 201), name
    other = {"body": MEANINGLESS.get(name), "query": MISASKED.get(name)}
    yield name, "422", "key", refused(director, name, 422, places, headers=key, **other)
    if name in SECRET:
        yield name, "409", "shown-once", refused(director, name, 409, places, headers=key)


def refused(director: Caller, name: str, status: int, places: dict[str, str], headers: dict[str, str] | None = None, **sent: Any) -> Any:
    """The problem by which a request is refused."""
    answer = send(director, name, places, REQUEST | {"If-Match": "*"} | (headers or {}), **sent)
    assert answer.status_code == status, (name, sent, answer.get_data(as_text=True))
    return answer.get_json()

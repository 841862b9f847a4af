"""Allergen reports over the interface: rule A1 by date and site, and the refusals of the two routes."""

from collections.abc import Callable
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import DRAFT, LINE, STATION, G
from tests.api.caller import Caller, faults

SITE = {"name": "House", "time_zone": "Europe/Dublin", "periods": [{"code": "lunch", "name": "Lunch", "ready_by": "12:00"}]}


@pytest.fixture
def pantry(director: Caller) -> Caller:
    """A soup of onion; from 10 December on, at the mill alone, with cream."""
    director.put("/v1/stations/veg", STATION)
    director.put("/v1/ingredients/onion", {"name": "Onion", "kind": "mass", "contains": ["sulphite"]})
    director.put("/v1/ingredients/cream", {"name": "Cream", "kind": "mass", "contains": ["milk"], "may_contain": ["egg"]})
    for site in ("mill", "quay"):
        assert director.put(f"/v1/sites/{site}", SITE).status_code == 201
    assert director.put("/v1/recipes/soup/draft", DRAFT).status_code == 201
    assert director.post("/v1/recipes/soup/versions", {"from": "2026-01-01"}).status_code == 201
    body = {"name": "Bowl", "components": [{"recipe": "soup", "quantity": {"amount": 1, "unit": "L"}}]}
    assert director.put("/v1/menu-items/bowl", body).status_code == 201
    cream = {**LINE, "item": {"ingredient": "cream"}}
    tag = director.get("/v1/recipes/soup/draft").headers["ETag"]
    assert director.put("/v1/recipes/soup/draft", {**DRAFT, "lines": [LINE, cream]}, If_Match=tag).status_code == 200
    body = {"from": "2026-12-10", "sites": ["mill"], "acknowledge": ["milk", "egg"]}
    answer = director.post("/v1/recipes/soup/versions", body)
    assert answer.status_code == 201, answer.get_json()
    return director


@pytest.mark.parametrize("path", ["/v1/recipes/soup/allergens", "/v1/menu-items/bowl/allergens"])
def test_a1_a_report_is_by_date_and_site(pantry: Caller, path: str) -> None:
    found = {}
    for query in ("", "?on=2026-12-10", "?on=2026-12-10&site=quay", "?site=mill", "?on=2026-12-10&site=mill"):
        answer = pantry.get(path + query)
        assert answer.status_code == 200, answer.get_json()
        found[query] = answer.get_json()["contains"]
    onion, creamed = ["sulphite"], ["milk", "sulphite"]
    assert list(found.values()) == [onion, onion, onion, onion, creamed]


def test_a1_a_report_of_the_pilot_tells_both_laws_and_the_source(pantry: Caller) -> None:
    report = pantry.get("/v1/recipes/soup/allergens?on=2026-12-10&site=mill").get_json()
    assert (report["version"], report["site"], report["on"]) == (2, "mill", "2026-12-10")
    assert [row["allergen"] for row in report["us"]] == ["milk", "egg"]
    assert [row["allergen"] for row in report["eu"]] == ["egg", "milk", "sulphite"]
    assert [each["item"]["ingredient"] for each in report["sources"]] == ["cream", "onion"]
    assert len(report["cautions"]) == 2


def test_a1_a_kitchen_without_a_site_in_its_query_reads_of_the_first_of_its_own(pantry: Caller, caller_of: Callable[..., Caller]) -> None:
    for path in ("/v1/recipes/soup/allergens", "/v1/menu-items/bowl/allergens"):
        report = caller_of("kitchen", ["mill"]).get(f"{path}?on=2026-12-10").get_json()
        assert (report["site"], report["contains"]) == ("mill", ["milk", "sulphite"])


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/v1/recipes/stew/allergens", 404),
        ("/v1/recipes/soup/allergens?on=2025-12-31", 404),
        ("/v1/recipes/soup/allergens?site=nowhere", 404),
        ("/v1/menu-items/plate/allergens", 404),
        ("/v1/menu-items/bowl/allergens?site=nowhere", 404),
        ("/v1/recipes/soup/allergens?on=yesterday", 422),
        ("/v1/menu-items/bowl/allergens?when=now", 422),
    ],
)
def test_a_report_that_cannot_be_is_refused(pantry: Caller, path: str, status: int) -> None:
    assert pantry.get(path).status_code == status


def test_h1_a_laxer_step_is_refused_with_its_pointer_and_published_with_its_reason(pantry: Caller) -> None:
    safety = {"kind": "cook", "class": "poultry", "temperature": {"amount": 60, "unit": "degC"}}
    body = {**DRAFT, "steps": [{"text": "Poach.", "safety": safety}]}
    pantry.put("/v1/recipes/hen/draft", body)
    answer = pantry.post("/v1/recipes/hen/versions", {"from": "2026-12-02"})
    assert answer.status_code == 422
    assert faults(answer) == {("/steps/0/safety/temperature", "safety_laxer")}
    tag = pantry.get("/v1/recipes/hen/draft").headers["ETag"]
    with_reason = {**body, "steps": [{"text": "Poach.", "safety": {**safety, "time": "PT45M", "reason": "Our approved plan, 7.2."}}]}
    pantry.put("/v1/recipes/hen/draft", with_reason, If_Match=tag)
    assert pantry.post("/v1/recipes/hen/versions", {"from": "2026-12-02"}).status_code == 201
    (step,) = pantry.get("/v1/recipes/hen/versions/1").get_json()["steps"]
    assert step["safety"]["reason"] == "Our approved plan, 7.2."


def test_h2_a_cold_ready_to_eat_item_that_keeps_too_long_is_refused_without_its_reason(pantry: Caller) -> None:
    body = {**DRAFT, "ready_to_eat": True, "storage": "cold", "keeps": "P10D"}
    pantry.put("/v1/recipes/pickle/draft", body)
    answer = pantry.post("/v1/recipes/pickle/versions", {"from": "2026-12-02"})
    assert (answer.status_code, faults(answer)) == (422, {("/keeps", "safety_laxer")})
    tag = pantry.get("/v1/recipes/pickle/draft").headers["ETag"]
    pantry.put("/v1/recipes/pickle/draft", {**body, "keeps_reason": "Vinegar, pH 3.6."}, If_Match=tag)
    assert pantry.post("/v1/recipes/pickle/versions", {"from": "2026-12-02"}).status_code == 201


def keep(pantry: Caller, code: str, keeps: str, **fields: Any) -> TestResponse:
    """Publish a cold recipe that is ready to eat; the answer."""
    path = f"/v1/recipes/{code}/draft"
    tag = pantry.get(path).headers.get("ETag", "")
    body = {**DRAFT, "yield": G, "ready_to_eat": True, "storage": "cold", "keeps": keeps, **fields}
    assert pantry.put(path, body, If_Match=tag).status_code in (200, 201)
    return pantry.post(f"/v1/recipes/{code}/versions", {"from": "2026-12-02"})


def test_h2_a_cold_dish_keeps_no_longer_than_its_cold_part_and_the_part_no_shorter_than_its_users(pantry: Caller) -> None:
    of_salad = [{"item": {"recipe": "salad"}, "quantity": G}]
    assert keep(pantry, "salad", "P0D").status_code == 201
    refused = keep(pantry, "sandwich", "P2D", lines=of_salad)
    assert (refused.status_code, faults(refused)) == (422, {("/keeps", "keeps_exceeds_part")})
    assert keep(pantry, "sandwich", "P2D", lines=of_salad, keeps_reason="Our approved plan, 4.1.").status_code == 201
    assert keep(pantry, "salad", "P2D").status_code == 201
    assert keep(pantry, "wrap", "P2D", lines=of_salad).status_code == 201
    # What would make it shorter again names the wrap, and not the sandwich that has its reason; in a preview too.
    refused = keep(pantry, "salad", "P1D")
    assert (refused.status_code, faults(refused)) == (422, {("", "keeps_exceeds_part")})
    (fault,) = refused.get_json()["errors"]
    assert "recipe wrap" in fault["detail"]
    foreseen = pantry.post("/v1/recipes/salad/draft/preview", {"from": "2026-12-02"}).get_json()
    assert foreseen["faults"] == [fault]
    # Both at once, in one import, are as good as one after the other.
    body = {"ready_to_eat": True, "storage": "cold", "keeps": "P1D", "yield": G, "publish_from": "2026-12-02"}
    both = [{**DRAFT, **body, "code": "salad"}, {**DRAFT, **body, "code": "wrap", "lines": of_salad}]
    assert faults(pantry.post("/v1/imports", {"recipes": both[:1]})) == {("/recipes/0", "keeps_exceeds_part")}
    assert pantry.post("/v1/imports", {"recipes": both}).status_code == 200

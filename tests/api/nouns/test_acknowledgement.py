"""Acknowledged allergens over the interface: rule A2 for versions, ingredients and imports."""

from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import SITE, Json, changed
from tests.api.caller import Caller, faults

G = {"amount": 100, "unit": "g"}
TODAY, LATER = "2026-12-02", "2026-12-09"
SAUCE, PLATE, LUNCH = "/v1/recipes/sauce", "/v1/menu-items/plate", "/v1/menu-items/lunch"


def recipe(title: str, *items: Json) -> Json:
    lines = [{"item": item, "quantity": {"amount": 1, "unit": "kg"}} for item in items]
    return {"title": title, "station": "hot-line", "yield": {"amount": 1, "unit": "kg"}, "lines": lines}


def sold(name: str, *recipes: str) -> Json:
    return {"name": name, "components": [{"recipe": each, "quantity": G} for each in recipes]}


OIL, BUTTER, FISH = {"ingredient": "oil"}, {"ingredient": "butter"}, {"ingredient": "cod"}
WITH_OIL, WITH_BUTTER = recipe("Sauce", OIL), recipe("Sauce", OIL, BUTTER)
CATALOGUE: Json = {
    "stations": [{"code": "hot-line", "name": "Hot line"}],
    "ingredients": [
        {"code": "oil", "name": "Oil", "kind": "mass"},
        {"code": "butter", "name": "Butter", "kind": "mass", "contains": ["milk"]},
        {"code": "cod", "name": "Cod", "kind": "mass", "contains": ["fish:cod"]},
    ],
    "recipes": [
        {"code": "sauce", "publish_from": TODAY, **WITH_OIL},
        {"code": "dish", "publish_from": TODAY, **recipe("Dish", {"recipe": "sauce"})},
    ],
    "menu_items": [{"code": "plate", **sold("Plate", "dish")}, {"code": "lunch", **sold("Lunch", "sauce")}],
    "sites": [{"code": "mill-street", **SITE}],
}


@pytest.fixture
def kitchen(director: Caller) -> Caller:
    """A director of a sauce of oil, in a dish, in two menu items."""
    assert director.post("/v1/imports", CATALOGUE).status_code == 200
    return director


def redraft(caller: Caller, code: str, document: Json) -> None:
    assert caller.put(f"/v1/recipes/{code}/draft", document, If_Match="*").status_code == 200


def publish(caller: Caller, code: str = "sauce", **fields: Any) -> TestResponse:
    return caller.post(f"/v1/recipes/{code}/versions", {"from": LATER, **fields})


def details(answer: TestResponse) -> list[str]:
    return [fault["detail"] for fault in answer.get_json()["errors"]]


def test_a2_a_version_that_adds_milk_names_what_it_reaches_and_is_published_once_acknowledged(kitchen: Caller) -> None:
    first = kitchen.get(f"{SAUCE}/versions/1")
    redraft(kitchen, "sauce", WITH_BUTTER)
    refused = publish(kitchen)
    assert (refused.status_code, faults(refused)) == (422, {("/acknowledge", "acknowledge_needed")})
    (detail,) = details(refused)
    assert "milk" in detail
    assert "recipe dish, menu item lunch, menu item plate" in detail
    assert kitchen.get(f"{SAUCE}/versions/2").status_code == 404
    made = publish(kitchen, acknowledge=["milk"])
    assert (made.status_code, made.get_json()["version"]) == (201, 2)
    again = kitchen.get(f"{SAUCE}/versions/1")
    assert (again.data, again.headers["ETag"]) == (first.data, first.headers["ETag"])
    assert kitchen.get(f"{SAUCE}/versions/1", If_None_Match=first.headers["ETag"]).status_code == 304


def test_a2_every_allergen_is_a_fault_of_its_own_beside_all_other_faults(kitchen: Caller) -> None:
    redraft(kitchen, "sauce", changed(recipe("Sauce", BUTTER, FISH), station="attic"))
    refused = publish(kitchen, acknowledge=["egg"])
    assert sorted(fault["code"] for fault in refused.get_json()["errors"]) == ["acknowledge_needed"] * 2 + ["unknown_reference"]
    assert sum("fish:cod" in each for each in details(refused)) == sum("milk" in each for each in details(refused)) == 1


@pytest.mark.parametrize(("word", "status"), [("fish:cod", 201), ("fish", 201), ("fish:hake", 422), ("milk", 422)])
def test_a2_a_species_is_acknowledged_by_its_name_or_that_of_its_kind(kitchen: Caller, word: str, status: int) -> None:
    redraft(kitchen, "sauce", recipe("Sauce", FISH))
    assert publish(kitchen, acknowledge=[word]).status_code == status


def test_a2_a_pilot_and_everybody_after_it_acknowledge_each(kitchen: Caller) -> None:
    redraft(kitchen, "sauce", WITH_BUTTER)
    assert publish(kitchen, sites=["mill-street"]).status_code == 422
    assert publish(kitchen, sites=["mill-street"], acknowledge=["milk"]).status_code == 201
    assert publish(kitchen).status_code == 422
    assert publish(kitchen, acknowledge=["milk"]).status_code == 201


def test_a2_an_ingredient_that_gains_an_allergen_is_acknowledged_in_the_query(kitchen: Caller) -> None:
    path, now = "/v1/ingredients/oil", {"name": "Oil", "kind": "mass", "contains": ["soy"], "may_contain": ["peanut"]}
    refused = kitchen.put(path, now, If_Match="*")
    assert (refused.status_code, faults(refused)) == (422, {("acknowledge", "acknowledge_needed")})
    assert all("recipe dish, recipe sauce, menu item lunch, menu item plate" in each for each in details(refused))
    assert len(details(kitchen.put(f"{path}?acknowledge=soy", now, If_Match="*"))) == 1
    assert kitchen.put(f"{path}?acknowledge=soy,peanut", now).status_code == 428
    assert kitchen.put(f"{path}?acknowledge=soy,peanut", now, If_Match='"old"').status_code == 412
    assert kitchen.put(f"{path}?acknowledge=soy,peanut", now, If_Match="*").status_code == 200
    assert kitchen.put(path, now, If_Match="*").status_code == 200
    assert kitchen.put(path, {"name": "Oil", "kind": "mass"}, If_Match="*").status_code == 200


def test_a2_an_ingredient_that_nothing_uses_may_gain_anything(kitchen: Caller) -> None:
    assert kitchen.put("/v1/ingredients/butter", changed(CATALOGUE["ingredients"][1], contains=["egg"]), If_Match="*").status_code == 200


def test_a2_a_menu_item_may_be_put_without_acknowledging(kitchen: Caller) -> None:
    assert kitchen.put("/v1/recipes/cream/draft", recipe("Cream", BUTTER)).status_code == 201
    assert publish(kitchen, "cream").status_code == 201
    assert kitchen.put(LUNCH, sold("Lunch", "sauce", "cream"), If_Match="*").status_code == 200


def test_a2_an_import_needs_none_the_first_time_and_repeats_unchanged(kitchen: Caller) -> None:
    again = kitchen.post("/v1/imports", CATALOGUE)
    assert (again.status_code, again.get_json()["published"]) == (200, 0)


def test_a2_an_import_of_a_version_points_at_the_recipe_that_may_acknowledge(kitchen: Caller) -> None:
    recipes: list[Json] = [CATALOGUE["recipes"][1], {"code": "sauce", "publish_from": LATER, **WITH_BUTTER}]
    for dry_run in ("", "?dry_run=true"):
        refused = kitchen.post(f"/v1/imports{dry_run}", {"recipes": recipes})
        assert (refused.status_code, faults(refused)) == (422, {("/recipes/1/acknowledge", "acknowledge_needed")})
        assert "menu item plate" in details(refused)[0]
    assert kitchen.get(f"{SAUCE}/versions/2").status_code == 404
    recipes[1]["acknowledge"] = ["milk"]
    assert kitchen.post("/v1/imports", {"recipes": recipes}).get_json()["published"] == 1


def test_a2_in_an_import_the_words_of_any_recipe_or_of_the_query_cover_the_whole_body(kitchen: Caller) -> None:
    body: Json = {"ingredients": [changed(CATALOGUE["ingredients"][0], contains=["soy"])], "recipes": CATALOGUE["recipes"]}
    refused = kitchen.post("/v1/imports?dry_run=true", body)
    assert (refused.status_code, faults(refused)) == (422, {("/ingredients/0", "acknowledge_needed")})
    covering = changed(body, recipes=[changed(CATALOGUE["recipes"][1], acknowledge=["soy"])])
    assert kitchen.post("/v1/imports?dry_run=true", covering).status_code == 200
    assert kitchen.post("/v1/imports?dry_run=true&acknowledge=soy", body).status_code == 200
    assert kitchen.post("/v1/imports", covering).get_json()["replaced"] == 1

"""The uses of an ingredient over the interface: every node once, at all levels, and to each caller those of its sites."""

from collections.abc import Callable
from typing import Any

import pytest

from service.api.exchange.routing import load
from service.api.schemas.uses import Uses
from tests.api.bodies import FORM, SITE, Json, changed
from tests.api.caller import Caller

USES = "/v1/ingredients/onion/uses"


def recipe(code: str, *items: Json, **fields: Any) -> Json:
    lines = [{"item": item, "quantity": {"amount": 1, "unit": "kg"}} for item in items]
    return {"code": code, "title": code.capitalize(), "station": "veg", "yield": {"amount": 1, "unit": "kg"}, "lines": lines, **fields}


PAR: Json = {"item": {"ingredient": "onion", "form": "small-dice"}, "level": {"amount": 1, "unit": "kg"}, "weekdays": [5, 1], "by": "09:00"}
DICED = {"ingredient": "onion", "form": "small-dice"}
CATALOGUE: Json = {
    "stations": [{"code": "veg", "name": "Vegetable prep"}],
    "ingredients": [{"code": "onion", "name": "Onion", "kind": "mass", "forms": [FORM]}, {"code": "oil", "name": "Oil", "kind": "mass"}],
    "recipes": [
        recipe("base", DICED, {"ingredient": "onion"}, publish_from="2026-12-02"),
        recipe("soup", {"recipe": "base"}, publish_from="2026-12-10"),
        recipe("oily", {"ingredient": "oil"}, publish_from="2026-12-02"),
    ],
    "menu_items": [{"code": "bowl", "name": "Soup bowl", "components": [{"recipe": "soup", "quantity": {"amount": 1, "unit": "kg"}}]}],
    "sites": [{"code": "mill-street", **changed(SITE, pars=[PAR])}, {"code": "harbour", **SITE}],
}


@pytest.fixture
def kitchen(director: Caller) -> Caller:
    assert director.post("/v1/imports", CATALOGUE).status_code == 200
    return director


def test_all_levels_stand_once_with_version_and_level(kitchen: Caller) -> None:
    answer = kitchen.get(USES)
    assert (answer.status_code, load(Uses, answer.get_json())[1]) == (200, [])
    told = answer.get_json()
    assert (told["ingredient"], told["name"]) == ("onion", "Onion")
    assert told["forms"] == [{"form": "small-dice", "name": "small dice", "station": "veg", "level": 1}]
    base, soup = told["recipes"]
    assert base == {
        "recipe": "base",
        "title": "Base",
        "version": 1,
        "from": "2026-12-02",
        "sites": None,
        "level": 1,
        "direct": True,
        "items": [{**DICED, "title": "Onion, small dice"}, {"ingredient": "onion", "title": "Onion"}],
    }
    assert (soup["recipe"], soup["level"], soup["direct"], soup["items"]) == ("soup", 2, False, [])
    assert told["menu_items"] == [{"menu_item": "bowl", "name": "Soup bowl", "level": 3}]
    assert told["pars"] == [
        {"site": "mill-street", "item": {**DICED, "title": "Onion, small dice"}, "weekdays": [1, 5], "by": "09:00", "level": 1}
    ]
    assert kitchen.get(USES, If_None_Match=answer.headers["ETag"]).status_code == 304


def test_an_ingredient_without_users_has_none_and_an_unknown_one_is_404(kitchen: Caller) -> None:
    assert kitchen.put("/v1/ingredients/leek", {"name": "Leek", "kind": "mass"}).status_code == 201
    told = kitchen.get("/v1/ingredients/leek/uses").get_json()
    assert [told[name] for name in ("forms", "recipes", "menu_items", "pars")] == [[], [], [], []]
    assert kitchen.get("/v1/ingredients/nothing/uses").status_code == 404


def test_a_kitchen_is_told_of_its_own_sites(kitchen: Caller, caller_of: Callable[..., Caller]) -> None:
    pilot = changed(recipe("pilot", DICED), code=...)
    assert kitchen.put("/v1/recipes/pilot/draft", pilot).status_code == 201
    made = kitchen.post("/v1/recipes/pilot/versions", {"from": "2026-12-02", "sites": ["mill-street"]})
    assert made.status_code == 201
    own, other = caller_of("kitchen", ["mill-street"]).get(USES).get_json(), caller_of("kitchen", ["harbour"]).get(USES).get_json()
    assert [(row["recipe"], row["sites"]) for row in own["recipes"]] == [("base", None), ("pilot", ["mill-street"]), ("soup", None)]
    assert [row["recipe"] for row in other["recipes"]] == ["base", "soup"]
    assert ([row["site"] for row in own["pars"]], other["pars"]) == (["mill-street"], [])

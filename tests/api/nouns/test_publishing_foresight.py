"""The director's desk over the interface: what a publication would do, told before it is done."""

from typing import Any

import pytest

from service.api.exchange.routing import load
from service.api.schemas.previews import Preview
from service.api.wire.json import parse
from tests.api.bodies import Json, changed
from tests.api.caller import Caller

TODAY, LATER = "2026-12-02", "2026-12-09"
SAUCE, PREVIEW = "/v1/recipes/sauce", "/v1/recipes/sauce/draft/preview"
EUR = {"currency": "EUR"}


def quantity(amount: Any, unit: str) -> Json:
    return {"amount": amount, "unit": unit}


def ingredient(code: str, price: str, **fields: Any) -> Json:
    pack = {"label": "bag", "quantity": quantity(1, "kg"), "price": {"amount": price, **EUR}, "from": "2026-01-01"}
    return {"code": code, "name": code.capitalize(), "kind": "mass", "packs": [pack], **fields}


def recipe(title: str, *lines: Json, **fields: Any) -> Json:
    return {"title": title, "station": "hot-line", "yield": quantity(2, "kg"), "portion": quantity(200, "g"), "lines": [*lines], **fields}


def line(amount: Any, unit: str = "kg", **item: str) -> Json:
    return {"item": item, "quantity": quantity(amount, unit)}


HANDS_ON = {"set_up": "PT5M", "per": quantity(1, "kg"), "time": "PT6M"}
DICED = {"code": "diced", "name": "diced", "station": "veg", "trim_yield": 0.8, "active": HANDS_ON}
OILY = recipe("Sauce", line(2, ingredient="oil"), steps=[{"text": "Stir.", "active": "PT10M"}])
BUTTERED = recipe(
    "Sauce",
    line(1, ingredient="oil"),
    line(1, ingredient="butter"),
    line(1, ingredient="onion", form="diced"),
    steps=[{"text": "Stir.", "active": "PT12M"}],
    keeps="P2D",
)
SITE: Json = {"time_zone": "America/New_York", "periods": [{"code": "lunch", "name": "Lunch", "ready_by": "11:30"}]}
CATALOGUE: Json = {
    "stations": [{"code": "veg", "name": "Veg", "position": 1}, {"code": "hot-line", "name": "Hot line", "position": 2}],
    "ingredients": [
        ingredient("oil", "2.00", may_contain=["peanut"]),
        ingredient("butter", "10.00", contains=["milk"]),
        ingredient("onion", "1.60", forms=[DICED]),
    ],
    "recipes": [
        {"code": "sauce", "publish_from": TODAY, **OILY},
        {"code": "dish", "publish_from": TODAY, **recipe("Dish", line(2, recipe="sauce"))},
        {"code": "loaf", "publish_from": TODAY, **recipe("Loaf", line(2, ingredient="oil"))},
    ],
    "menu_items": [
        {
            "code": "plate",
            "name": "Plate",
            "price": {"amount": "5.00", **EUR},
            "components": [{"recipe": "dish", "quantity": quantity(1, "portion")}],
        },
        {"code": "bread", "name": "Bread", "components": [{"recipe": "loaf", "quantity": quantity(1, "portion")}]},
    ],
    "sites": [{"code": code, "name": code.title(), **SITE} for code in ("mill-street", "harbour")],
}


def pushed(site: str, on: str, count: int, menu_item: str = "plate") -> Json:
    return {"site": site, "date": on, "period": "lunch", "menu_item": menu_item, "count": count}


FORECASTS = [
    pushed("mill-street", "2026-12-08", 10),
    pushed("mill-street", "2026-12-09", 20),
    pushed("mill-street", "2026-12-11", 0),
    pushed("mill-street", "2026-12-12", 30),
    pushed("harbour", "2026-12-10", 40),
    pushed("harbour", "2026-12-11", 50, "bread"),
]


@pytest.fixture
def desk(director: Caller) -> Caller:
    """A director of a sauce in a dish on a plate, with guests expected, who has redrafted the sauce."""
    director_has = [
        director.post("/v1/imports", CATALOGUE),
        director.post("/v1/forecasts", {"source": "till-east", "as_of": "2026-12-02T12:00:00Z", "entries": FORECASTS}),
        director.put(f"{SAUCE}/draft", BUTTERED, If_Match="*"),
    ]
    assert [answer.status_code for answer in director_has] == [200, 200, 200]
    return director


def preview(desk: Caller, path: str = PREVIEW, **fields: Any) -> Json:
    answer = desk.post(path, {"from": LATER, **fields})
    assert answer.status_code == 200, answer.get_json()
    assert load(Preview, parse(answer.data))[1] == []
    told: Json = answer.get_json()
    return told


def codes(told: Json) -> list[str]:
    return [fault["code"] for fault in told["faults"]]


def test_it_tells_version_dates_and_what_it_is_compared_with(desk: Caller) -> None:
    told = preview(desk, acknowledge=["milk"])
    assert [told[name] for name in ("recipe", "version", "from", "sites", "compared_with")] == ["sauce", 2, LATER, None, 1]
    assert (told["faults"], told["acknowledge"]) == ([], ["milk"])


def test_nothing_is_saved(desk: Caller) -> None:
    draft, versions = desk.get(f"{SAUCE}/draft"), desk.get(f"{SAUCE}/versions")
    preview(desk)
    preview(desk, acknowledge=["milk"])
    assert desk.get(f"{SAUCE}/draft", If_None_Match=draft.headers["ETag"]).status_code == 304
    assert desk.get(f"{SAUCE}/versions", If_None_Match=versions.headers["ETag"]).status_code == 304


def test_it_tells_the_faults_that_publishing_would_be_refused_for(desk: Caller) -> None:
    refused = desk.post(f"{SAUCE}/versions", {"from": "2026-11-01", "sites": ["nowhere"]})
    told = preview(desk, **{"from": "2026-11-01"}, sites=["nowhere"])
    assert refused.status_code == 422
    assert told["faults"] == refused.get_json()["errors"]
    assert codes(told) == ["unknown_site", "out_of_range"]
    assert codes(preview(desk)) == ["acknowledge_needed"]


def test_it_tells_that_there_is_nothing_to_publish(desk: Caller) -> None:
    desk.put(f"{SAUCE}/draft", OILY, If_Match="*")
    told = preview(desk, **{"from": TODAY})
    assert (codes(told), told["changes"]["fields"], told["allergens"]) == (["nothing_to_publish"], [], [])


def test_it_tells_the_warnings_that_publishing_would_give(desk: Caller) -> None:
    thin = changed(BUTTERED, **{"yield": quantity(500, "g")})
    desk.put(f"{SAUCE}/draft", thin, If_Match="*")
    told = preview(desk, acknowledge=["milk"])
    made = desk.post(f"{SAUCE}/versions", {"from": LATER, "acknowledge": ["milk"]}).get_json()
    assert [each["code"] for each in told["warnings"]] == ["low_cooking_yield"]
    assert (told["warnings"], told["cooking_yield"], told["version"]) == (made["warnings"], made["cooking_yield"], made["version"])


def test_it_tells_changes_by_field_line_and_step(desk: Caller) -> None:
    told = preview(desk)["changes"]
    assert told["fields"] == [{"field": "keeps", "old": None, "new": "P2D"}]
    assert [row["item"] for row in told["lines"]["added"]] == [{"ingredient": "butter"}, {"ingredient": "onion", "form": "diced"}]
    amounts = [[row[state]["quantity"]["amount"] for state in ("old", "new")] for row in told["lines"]["changed"]]
    assert amounts == [[2, 1]]
    assert [(row["old"]["active"], row["new"]["active"]) for row in told["steps"]["changed"]] == [("PT10M", "PT12M")]


def test_it_tells_allergens_that_come_and_go_at_every_level_up(desk: Caller) -> None:
    desk.put(f"{SAUCE}/draft", recipe("Sauce", line(2, ingredient="butter")), If_Match="*")
    told = preview(desk)["allergens"]
    assert [(row.get("recipe"), row.get("menu_item"), row["level"]) for row in told] == [
        ("sauce", None, 0),
        ("dish", None, 1),
        (None, "plate", 2),
    ]
    for row in told:
        assert row["added"] == {"contains": ["milk"], "may_contain": []}
        assert row["removed"] == {"contains": [], "may_contain": ["peanut"]}


def test_it_tells_hands_on_time_by_station(desk: Caller) -> None:
    # Dicing 1 kg: 5 min to set up and 6 min a kilo.
    assert preview(desk)["stations"] == [
        {"station": "veg", "name": "Veg", "before": "PT0S", "after": "PT11M"},
        {"station": "hot-line", "name": "Hot line", "before": "PT10M", "after": "PT12M"},
    ]


def test_c2_it_tells_what_a_portion_and_a_guest_cost_before_and_after(desk: Caller) -> None:
    # Before, 2 kg of oil at 2.00 make ten portions: 0.40 each. After, 1 kg of oil, 1 kg of butter and 1 kg EP of onion
    # at 1.60 ÷ 0.8: 2.00 + 10.00 + 2.00 = 14.00, 1.40 each. The dish is nothing but sauce; 0.40 and 1.40 of 5.00.
    (told,) = preview(desk)["costs"]
    portions = {row["recipe"]: [row[when]["portion"]["amount"] for when in ("before", "after")] for row in told["recipes"]}
    assert (told["site"], told["on"], portions) == (None, LATER, {"sauce": ["0.40", "1.40"], "dish": ["0.40", "1.40"]})
    (plate,) = told["menu_items"]
    assert [plate[when]["food_cost_percent"] for when in ("before", "after")] == [8, 28]
    assert [plate[when]["cost"]["amount"] for when in ("before", "after")] == ["0.40", "1.40"]


def test_it_tells_prices_that_are_missing(desk: Caller) -> None:
    assert desk.put("/v1/ingredients/butter", {"name": "Butter", "kind": "mass", "contains": ["milk"]}, If_Match="*").status_code == 200
    (told,) = preview(desk)["costs"]
    sauce = told["recipes"][0]["after"]
    assert (sauce["portion"]["amount"], [each["item"]["ingredient"] for each in sauce["missing"]]) == ("0.40", ["butter"])


def guests(told: Json) -> dict[str, dict[str, list[tuple[str, int]]]]:
    """By site and date the menu items touched, with their guests."""
    return {
        row["site"]: {each["date"]: [(sold["menu_item"], sold["count"]) for sold in each["menu_items"]] for each in row["dates"]}
        for row in told["forecasts"]
    }


def test_it_tells_the_sites_and_dates_with_guests(desk: Caller) -> None:
    assert guests(preview(desk)) == {
        "harbour": {"2026-12-10": [("plate", 40)]},
        "mill-street": {LATER: [("plate", 20)], "2026-12-12": [("plate", 30)]},
    }


def test_a_pilot_is_compared_and_told_at_its_sites(desk: Caller) -> None:
    assert desk.post(f"{SAUCE}/versions", {"from": LATER, "sites": ["harbour"], "acknowledge": ["milk"]}).status_code == 201
    told = preview(desk, **{"from": "2026-12-10"}, sites=["harbour"])
    assert (told["compared_with"], told["acknowledge"], codes(told)) == (2, [], [])
    assert [row["site"] for row in told["costs"]] == ["harbour"]
    assert [*guests(told)] == ["harbour"]
    everybody = preview(desk, **{"from": "2026-12-10"})
    assert (everybody["compared_with"], everybody["acknowledge"]) == (1, ["milk"])


def test_a_later_version_ends_the_dates_that_it_tells(desk: Caller) -> None:
    desk.put(f"{SAUCE}/draft", OILY, If_Match="*")
    assert desk.post(f"{SAUCE}/versions", {"from": "2026-12-10"}).status_code == 201
    desk.put(f"{SAUCE}/draft", BUTTERED, If_Match="*")
    told = preview(desk)
    assert guests(told) == {"mill-street": {LATER: [("plate", 20)]}}


def test_a_first_version_is_compared_with_nothing(desk: Caller) -> None:
    assert desk.put("/v1/recipes/dip/draft", BUTTERED).status_code == 201
    told = preview(desk, "/v1/recipes/dip/draft/preview")
    assert (told["version"], told["compared_with"], told["acknowledge"], told["faults"]) == (1, None, [], [])
    assert len(told["changes"]["lines"]["added"]) == 3
    assert (told["costs"][0]["recipes"][0]["before"], told["allergens"][0]["added"]["contains"]) == (None, ["milk"])


@pytest.mark.parametrize(
    "broken",
    [
        {"lines": [line(1, ingredient="nothing"), line(1, recipe="nothing")]},
        {"lines": [line(1, recipe="dish")]},
        {"lines": [line(1, recipe="sauce")]},
        {"yield": quantity(2, "bucket")},
        {"portion": quantity(2, "bucket")},
        {"equivalents": [{"a": quantity(1, "pail"), "b": quantity(1, "bucket")}]},
        {"batch": {"largest": quantity(1, "L")}},
        {"batch": {"largest": quantity(1, "bucket"), "smallest": quantity(2, "kg")}},
        {"by_products": [{"ingredient": "nothing", "quantity": quantity(1, "kg")}]},
        {"lines": [line(1, "bunch", ingredient="oil"), line(1, "L", ingredient="onion", form="diced")]},
        {"station": "attic", "steps": [{"text": "Wait.", "station": "cellar", "active": "PT1M"}]},
        {"yield": quantity(2, "L")},
        {"yield": quantity(2, "each"), "portion": None},
    ],
)
def test_a_draft_with_faults_is_told_of_as_far_as_it_can_be_understood(desk: Caller, broken: Json) -> None:
    assert desk.put(
        "/v1/sites/harbour", {"name": "Harbour", **SITE, "vessels": [{"recipe": "sauce", "largest": quantity(5, "kg")}]}, If_Match="*"
    )
    assert desk.put(f"{SAUCE}/draft", {**BUTTERED, **broken}, If_Match="*").status_code == 200
    told = preview(desk, acknowledge=["milk"])
    refused = desk.post(f"{SAUCE}/versions", {"from": LATER, "acknowledge": ["milk"]})
    assert (refused.status_code, refused.get_json()["errors"]) == (422, told["faults"])
    assert told["changes"]["fields"] or told["changes"]["lines"]["added"]


def test_without_a_draft_there_is_nothing_to_preview(desk: Caller) -> None:
    assert desk.post("/v1/recipes/nothing/draft/preview", {"from": LATER}).status_code == 404
    assert desk.post(PREVIEW, {"from": "tomorrow"}).status_code == 422
    assert desk.post(PREVIEW, {"from": LATER, "colour": "red"}).status_code == 422

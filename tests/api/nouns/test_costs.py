"""Costs over the interface (C1, C2): what is told of recipes and menu items, and what is said where a price is missing."""

import pytest

from tests.api.caller import Caller, faults
from tests.api.shop import CATALOGUE, Json, line, measure, money, open_shop


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director)
    return director


def got(caller: Caller, path: str) -> Json:
    answer = caller.get(path)
    assert answer.status_code == 200, answer.get_json()
    body: Json = answer.get_json()
    return body


def test_c2_a_recipe_tells_its_batch_its_portion_its_lines_and_what_is_missing(shop: Caller) -> None:
    cost = got(shop, "/v1/recipes/soup/cost")
    # Onion: (0.80 - 0.1 × 0.40) / 0.8 = 0.95 a kilo; two of them and a kilo of lentils.
    assert (cost["batch"], cost["portion"], cost["currency"]) == (money("3.90 EUR"), money("0.0975 EUR"), "EUR")
    assert [row["cost"] for row in cost["lines"]] == [money("1.90 EUR"), money("2.00 EUR"), None]
    assert [row["quantity"] for row in cost["lines"]] == [measure("2 kg"), measure("1 kg"), measure("40 g")]
    gone = [{"item": {"ingredient": "salt", "title": "Salt"}, "detail": "Salt has no price in force on 2026-12-02"}]
    assert cost["missing"] == cost["lines"][2]["missing"] == gone
    assert cost["warnings"] == [{"code": "missing_price", "detail": "Salt has no price in force on 2026-12-02: the cost is without it"}]
    assert (cost["recipe"], cost["version"], cost["site"], cost["on"], cost["yield"]) == ("soup", 1, None, "2026-12-02", measure("10 L"))


def test_c2_at_a_site_its_own_packs_and_their_currency_count(shop: Caller) -> None:
    cost = got(shop, "/v1/recipes/soup/cost?site=east")
    # 0.60 a kilo without the credit in euros: 2 × 0.60 / 0.8.
    assert (cost["batch"], cost["currency"]) == (money("1.50 USD"), "USD")
    assert [row["item"]["ingredient"] for row in cost["missing"]] == ["trim", "lentils", "salt"]


def test_c2_a_menu_item_tells_its_cost_in_percent_of_its_price(shop: Caller) -> None:
    cost = got(shop, "/v1/menu-items/bowl/cost?site=west&on=2026-12-05")
    assert (cost["cost"], cost["price"], cost["food_cost_percent"]) == (money("0.0975 EUR"), money("4.00 EUR"), 2.4375)
    (soup,) = cost["components"]
    assert (soup["recipe"], soup["title"], soup["quantity"], soup["uptake"], soup["cost"]) == (
        "soup",
        "Soup",
        measure("1 portion"),
        1,
        money("0.0975 EUR"),
    )
    assert (cost["menu_item"], cost["site"], cost["on"]) == ("bowl", "west", "2026-12-05")
    assert [row["code"] for row in cost["warnings"]] == ["missing_price"]


def test_c2_a_price_in_another_currency_gives_no_percentage_and_a_warning(shop: Caller) -> None:
    cost = got(shop, "/v1/menu-items/bowl/cost?site=east")
    assert (cost["cost"], cost["food_cost_percent"]) == (money("0.0375 USD"), None)
    assert "Bowl has no food-cost percentage: its price is in EUR, and its cost in USD" in [row["detail"] for row in cost["warnings"]]


def test_c2_what_a_batch_gives_besides_is_credited(shop: Caller) -> None:
    stew = {
        "title": "Stew",
        "station": "veg",
        "yield": measure("2 kg"),
        "lines": [line({"ingredient": "onion"}, "5 kg")],
        "by_products": [{"ingredient": "trim", "quantity": measure("500 g")}],
        "steps": [{"text": "Cook."}],
    }
    assert shop.put("/v1/recipes/stew/draft", stew).status_code == 201
    assert shop.post("/v1/recipes/stew/versions", {"from": "2026-12-02"}).status_code == 201
    cost = got(shop, "/v1/recipes/stew/cost")
    credit = {"item": {"ingredient": "trim", "title": "Trimmings"}, "quantity": measure("500 g"), "credit": money("0.20 EUR")}
    assert (cost["batch"], cost["by_products"], cost["portion"]) == (money("3.80 EUR"), [credit], None)


def test_a_new_price_changes_the_cost_and_its_tag_from_its_date_on(shop: Caller) -> None:
    path = "/v1/recipes/soup/cost"
    before = shop.get(path)
    (lentils,) = (dict(each) for each in CATALOGUE["ingredients"] if each["code"] == "lentils")
    lentils["packs"] = [*lentils["packs"], {**lentils["packs"][0], "price": money("3.00 EUR"), "from": "2026-12-10"}]
    assert shop.put("/v1/ingredients/lentils", lentils, If_Match="*").status_code == 200
    assert shop.get(path, If_None_Match=before.headers["ETag"]).status_code == 304
    assert got(shop, f"{path}?on=2026-12-09")["batch"] == money("3.90 EUR")
    assert got(shop, f"{path}?on=2026-12-10")["batch"] == money("4.90 EUR")


@pytest.mark.parametrize("path", ["/v1/recipes/soup/cost", "/v1/menu-items/bowl/cost"])
def test_an_unknown_site_is_missing_and_a_wrong_date_or_key_is_refused_by_name(shop: Caller, path: str) -> None:
    assert shop.get(f"{path}?site=nowhere").status_code == 404
    assert shop.get(f"{path}?site=nowhere&on=2026-12-05").status_code == 404
    assert faults(shop.get(f"{path}?on=tomorrow&colour=blue")) == {("on", "wrong_type"), ("colour", "unknown_field")}


def test_what_does_not_exist_or_is_not_in_force_has_no_cost(shop: Caller) -> None:
    for path in ("/v1/recipes/none/cost", "/v1/menu-items/none/cost", "/v1/recipes/soup/cost?on=2025-12-31"):
        assert shop.get(path).status_code == 404
    idea = {"title": "Idea", "station": "veg", "yield": measure("1 L"), "lines": [line({"ingredient": "salt"}, "1 g")]}
    assert shop.put("/v1/recipes/idea/draft", idea).status_code == 201
    assert shop.get("/v1/recipes/idea/cost").status_code == 404

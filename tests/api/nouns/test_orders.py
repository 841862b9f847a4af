"""Order lists over the interface, and the lists of all sites, paged by site (P13)."""

from collections.abc import Callable

import pytest

from tests.api.caller import Caller, faults
from tests.api.shop import Json, count_store, money, open_shop

WEEK = "from=2026-12-02&to=2026-12-08"


@pytest.fixture
def shop(director: Caller) -> Caller:
    # 40 bowls are a batch: 2 kg of diced onion, 2.5 kg of onion, and a kilo of lentils.
    open_shop(director, {("east", "2026-12-03"): 40, ("west", "2026-12-03"): 40, ("west", "2026-12-05"): 80})
    return director


def got(caller: Caller, path: str) -> Json:
    answer = caller.get(path)
    assert answer.status_code == 200, answer.get_json()
    body: Json = answer.get_json()
    return body


def rows(listed: Json) -> dict[str, Json]:
    return {row["item"]["ingredient"]: row for row in listed["lines"]}


def grams(row: Json) -> tuple[float, float, float]:
    return tuple(row[name]["amount"] for name in ("pulls", "on_hand", "order"))


def test_p13_an_order_list_tells_pulls_stock_and_whole_packs_with_what_they_cost(shop: Caller) -> None:
    count_store(shop, "west", {"onion": "1 kg", "lentils": "500 g"})
    listed = got(shop, f"/v1/sites/west/order-lists?{WEEK}")
    assert (listed["site"], listed["from"], listed["to"]) == ("west", "2026-12-02", "2026-12-08")
    found = rows(listed)
    assert list(found) == ["lentils", "onion", "salt"]
    assert {code: grams(row) for code, row in found.items()} == {
        "lentils": pytest.approx((3000, 500, 3000)),
        "onion": pytest.approx((7500, 1000, 10_000)),
        "salt": pytest.approx((120, 0, 120)),
    }
    (bag,) = found["lentils"]["packs"]
    assert (bag["label"], bag["count"], bag["cost"], bag["quantity"]["display"]) == ("bag", 3, money("6.00 EUR"), "1 kg")
    assert [(row["label"], row["count"], row["cost"]) for row in found["onion"]["packs"]] == [("sack", 1, money("8.00 EUR"))]
    assert found["salt"]["packs"] == []
    assert {"code": "missing_price", "detail": "Salt has no pack in force at west on 2026-12-02"} in listed["warnings"]
    assert "clock_pinned" in [row["code"] for row in listed["warnings"]]


def test_c1_a_pack_of_the_sites_own_is_ordered_alone_priced_or_not(shop: Caller) -> None:
    onion = shop.get("/v1/ingredients/onion")
    own = {"label": "net", "quantity": {"amount": 2, "unit": "kg"}, "site": "west"}
    body = {**onion.get_json(), "packs": [*onion.get_json()["packs"], own]}
    assert shop.put("/v1/ingredients/onion", body, If_Match=onion.headers["ETag"]).status_code == 200
    listed = got(shop, f"/v1/sites/west/order-lists?{WEEK}")
    assert [row["label"] for row in rows(listed)["onion"]["packs"]] == ["net"]
    why = "Onion has no price in force at west on 2026-12-02; a site that has packs of its own buys those alone"
    assert {"code": "missing_price", "detail": why} in listed["warnings"]


def test_d3_an_order_goes_up(shop: Caller) -> None:
    count_store(shop, "west", {"salt": "8 g"})
    salt = rows(got(shop, f"/v1/sites/west/order-lists?{WEEK}"))["salt"]
    # 112 g: the nearest step would be 110 g, and short.
    assert [salt[name]["display"] for name in ("pulls", "on_hand", "order")] == ["120 g", "8 g", "115 g"]


def test_p13_a_site_buys_its_own_packs(shop: Caller) -> None:
    (bag,) = rows(got(shop, f"/v1/sites/east/order-lists?{WEEK}"))["onion"]["packs"]
    assert (bag["label"], bag["count"], bag["cost"]) == ("bag", 1, money("3.00 USD"))


def test_p13_a_count_changes_the_order_list_and_its_tag(shop: Caller) -> None:
    path = f"/v1/sites/west/order-lists?{WEEK}"
    before = shop.get(path)
    assert shop.get(path, If_None_Match=before.headers["ETag"]).status_code == 304
    count_store(shop, "west", {"onion": "10 kg"})
    after = shop.get(path, If_None_Match=before.headers["ETag"])
    assert after.status_code == 200
    assert grams(rows(after.get_json())["onion"]) == pytest.approx((7500, 10_000, 0))


def test_p13_windows_side_by_side_use_what_is_in_store_once(shop: Caller) -> None:
    count_store(shop, "west", {"onion": "3 kg"})
    found = [
        grams(rows(got(shop, f"/v1/sites/west/order-lists?{window}"))["onion"])[:2]
        for window in ("from=2026-12-02&to=2026-12-03", "from=2026-12-04&to=2026-12-08")
    ]
    assert found == [pytest.approx((2500, 3000)), pytest.approx((5000, 500))]


def test_an_order_list_needs_a_window_that_can_be(shop: Caller) -> None:
    path = "/v1/sites/west/order-lists"
    assert faults(shop.get(path)) == {("from", "required"), ("to", "required")}
    assert faults(shop.get(f"{path}?from=2026-12-03&to=2026-12-02")) == {("to", "out_of_range")}
    assert faults(shop.get(f"{path}?from=2026-12-02&to=2027-02-03")) == {("to", "out_of_range")}
    assert faults(shop.get(f"{path}?from=2027-06-01&to=2027-06-02")) == {("to", "out_of_range")}
    assert shop.get(f"/v1/sites/nowhere/order-lists?{WEEK}").status_code == 404


def test_a_kitchen_sees_orders_without_costs_and_its_own_sites_alone(shop: Caller, caller_of: Callable[..., Caller]) -> None:
    cook = caller_of("kitchen", ["west"])
    (sack,) = rows(got(cook, f"/v1/sites/west/order-lists?{WEEK}"))["onion"]["packs"]
    assert set(sack) == {"label", "quantity", "count"}
    assert cook.get(f"/v1/sites/east/order-lists?{WEEK}").status_code == 404
    assert [row["site"] for row in got(cook, f"/v1/order-lists?{WEEK}")["items"]] == ["west"]
    assert [row["site"] for row in got(cook, "/v1/prep-lists/2026-12-03")["items"]] == ["west"]
    assert cook.get("/v1/recipes/soup/cost").status_code == 403


@pytest.mark.parametrize("path", [f"/v1/order-lists?{WEEK}", "/v1/prep-lists/2026-12-03?units=us"])
def test_lists_of_all_sites_are_those_of_each_site_and_come_in_pages(shop: Caller, path: str) -> None:
    whole = got(shop, path)
    assert ([row["site"] for row in whole["items"]], whole["next"]) == (["east", "west", "young"], None)
    for row in whole["items"]:
        assert row == got(shop, path.replace("/v1/", f"/v1/sites/{row['site']}/"))
    paged, following = [], f"{path}{'&' if '?' in path else '?'}limit=2"
    while following:
        page = got(shop, following)
        assert len(page["items"]) <= 2
        paged += page["items"]
        following = page["next"]
    assert paged == whole["items"]


def test_a_page_of_lists_keeps_its_tag_until_one_of_its_sites_changes(shop: Caller) -> None:
    path = "/v1/prep-lists/2026-12-03"
    pages = {limit: shop.get(f"{path}?limit={limit}").headers["ETag"] for limit in (1, 3)}
    count_store(shop, "west", {"onion": "1 kg"})
    assert shop.get(f"{path}?limit=1", If_None_Match=pages[1]).status_code == 304
    assert shop.get(f"{path}?limit=3", If_None_Match=pages[3]).status_code == 200


def test_lists_of_all_sites_refuse_what_cannot_be(shop: Caller) -> None:
    assert faults(shop.get("/v1/prep-lists/2026-12-03?from=2026-12-04")) == {("from", "out_of_range")}
    assert faults(shop.get("/v1/prep-lists/2026-12-03?cursor=%20")) == {("cursor", "wrong_type")}
    assert faults(shop.get("/v1/order-lists")) == {("from", "required"), ("to", "required")}
    assert shop.get("/v1/prep-lists/2026-02-30").status_code == 404

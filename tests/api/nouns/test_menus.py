"""Menus over the interface: a dish that is taken off the menu from a date, and what becomes of its forecasts and recipes."""

from typing import Any

import pytest

from tests.api.caller import Caller, faults
from tests.api.shop import open_shop

BOWL = "/v1/menu-items/bowl"
LAST, AFTER = "2026-12-03", "2026-12-04"


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", LAST): 10, ("east", AFTER): 20})
    return director


def sell(shop: Caller, **dates: str | None) -> Any:
    """Put the menu item with other dates; the answer."""
    found = shop.get(BOWL)
    return shop.put(BOWL, {**found.get_json(), **dates}, If_Match=found.headers["ETag"])


def warned(shop: Caller, day: str) -> list[str]:
    return [each["code"] for each in shop.get(f"/v1/sites/east/prep-lists/{day}").get_json()["warnings"]]


def push(shop: Caller, day: str) -> Any:
    entry = {"site": "east", "date": day, "period": "lunch", "menu_item": "bowl", "count": 5}
    return shop.post("/v1/forecasts", {"source": "another", "as_of": "2026-12-02T06:30:00-05:00", "entries": [entry]}).get_json()


def test_a_dish_that_is_sold_until_a_date_is_expected_cooked_and_pushed_until_then(shop: Caller) -> None:
    assert sell(shop, sold_until=LAST).get_json()["sold_until"] == LAST
    assert shop.get(BOWL).get_json()["sold_from"] is None
    assert ("not_on_menu" in warned(shop, LAST), "not_on_menu" in warned(shop, AFTER)) == (False, True)
    assert shop.get(f"/v1/sites/east/prep-lists/{AFTER}").get_json()["stations"] == []
    assert push(shop, LAST)["stored"] == 1
    assert push(shop, AFTER)["refused"][0]["errors"][0]["code"] == "not_on_menu"
    assert faults(shop.put(f"/v1/sites/east/overrides/{AFTER}/lunch/bowl", {"count": 3})) == {("", "not_on_menu")}
    # The code and its history stay, and what was expected counts again once it is sold again.
    rows = shop.get(f"/v1/sites/east/forecasts?from={LAST}&to={AFTER}").get_json()["items"]
    assert [(row["forecast"], row["count"]) for row in rows] == [(15, 15), (20, 0)]
    assert sell(shop, sold_until=None).status_code == 200
    assert "not_on_menu" not in warned(shop, AFTER)


def test_what_only_a_dish_of_another_season_uses_can_be_withdrawn(shop: Caller) -> None:
    withdrawal = {"from": AFTER, "note": "off the menu"}
    refused = shop.post("/v1/recipes/soup/versions/1/withdrawal", withdrawal)
    assert (refused.status_code, faults(refused)) == (422, {("/from", "in_use")})
    assert sell(shop, sold_until=LAST).status_code == 200
    assert shop.post("/v1/recipes/soup/versions/1/withdrawal", withdrawal).status_code == 200
    assert shop.get(f"/v1/sites/east/prep-lists/{LAST}").get_json()["stations"] != []


def test_a_dish_is_not_sold_until_a_date_before_its_first(shop: Caller) -> None:
    refused = sell(shop, sold_from=AFTER, sold_until=LAST)
    assert (refused.status_code, faults(refused)) == (422, {("/sold_until", "out_of_range")})
    assert sell(shop, sold_from=LAST, sold_until=LAST).status_code == 200

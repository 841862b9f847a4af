"""Equipment, machines, shifts and the capacity of a date over the interface (K1, K2, K4, K7)."""

from typing import Any

import pytest

from service.limits import EQUIPMENT
from tests.api.caller import Caller, faults
from tests.api.shop import CATALOGUE, open_shop

CAPACITY = "/v1/sites/east/capacity"
DATE = f"{CAPACITY}/2026-12-03"
LIST = "/v1/sites/east/prep-lists/2026-12-03"
OVEN: dict[str, Any] = {"equipment": "oven", "count": 2, "load": [{"amount": 8, "unit": "tray"}], "turn_round": "PT10M", "shared": True}
EARLY: dict[str, Any] = {"name": "Early", "stations": ["hot-line"], "weekdays": [4, 5], "from": "06:00", "until": "14:00", "cooks": 2}
SHORT = {name: value for name, value in EARLY.items() if name != "weekdays"} | {"cooks": 1}
USABLE = [{"equipment": "oven", "count": 1}]


def element(noun: str, code: str) -> dict[str, Any]:
    found = next(each for each in CATALOGUE[noun] if each["code"] == code)
    return {name: value for name, value in found.items() if name not in ("code", "publish_from")}


@pytest.fixture
def shop(director: Caller) -> Caller:
    """A shop with an oven; its site east has two of them, and a shift on Thursdays and Fridays."""
    open_shop(director, {("east", "2026-12-03"): 40})
    assert director.put("/v1/stations/hot-line", {"name": "Hot line"}).status_code == 201
    assert director.put("/v1/equipment/oven", {"name": "Oven", "position": 2}).status_code == 201
    put_site(director)
    return director


def put_site(director: Caller, status: int = 200, **fields: Any) -> Any:
    body = element("sites", "east") | {"equipment": [OVEN], "equipment_map": {}, "shifts": [EARLY]} | fields
    answer = director.put("/v1/sites/east", body, If_Match="*")
    assert answer.status_code == status, answer.get_json()
    return answer


def publish(director: Caller, **fields: Any) -> Any:
    step = {"text": "Bake.", "active": "PT10M", "passive": "PT30M"} | fields.pop("step", {})
    body = element("recipes", "soup") | {"steps": [step]} | fields
    assert director.put("/v1/recipes/soup/draft", body, If_Match="*").status_code == 200
    return director.post("/v1/recipes/soup/versions", {"from": "2026-12-20"})


def test_a_site_gives_back_its_machines_and_shifts(shop: Caller) -> None:
    site = shop.get("/v1/sites/east").get_json()
    assert (site["equipment"], site["equipment_map"], site["shifts"]) == ([OVEN], {}, [EARLY])
    least = put_site(shop, equipment=[{"equipment": "oven", "count": 0}]).get_json()
    assert least["equipment"] == [{"equipment": "oven", "count": 0, "load": [], "turn_round": "PT0S", "shared": False}]


def test_a_site_names_what_there_is(shop: Caller) -> None:
    wrong = put_site(
        shop,
        422,
        equipment=[OVEN, OVEN | {"equipment": "kiln"}],
        equipment_map={"kettle": "oven", "oven": "kiln"},
        shifts=[EARLY | {"stations": ["hot-line", "attic"]}],
    )
    assert faults(wrong) == {
        ("/equipment/1/equipment", "unknown_reference"),
        ("/equipment_map/kettle", "unknown_reference"),
        ("/equipment_map/oven", "unknown_reference"),
        ("/shifts/0/stations/1", "unknown_reference"),
    }


@pytest.mark.parametrize(
    ("fields", "pointer", "code"),
    [
        ({"equipment": [OVEN, OVEN]}, "/equipment/1/equipment", "duplicate"),
        ({"equipment": [OVEN | {"count": 101}]}, "/equipment/0/count", "out_of_range"),
        ({"equipment": [OVEN | {"load": OVEN["load"] * 11}]}, "/equipment/0/load", "too_many"),
        ({"equipment": [OVEN | {"turn_round": "PT25H"}]}, "/equipment/0/turn_round", "out_of_range"),
        ({"equipment": [OVEN | {"equipment": f"e{number}"} for number in range(51)]}, "/equipment", "too_many"),
        ({"equipment_map": {f"e{number}": "oven" for number in range(201)}}, "/equipment_map", "too_many"),
        ({"shifts": [EARLY] * 101}, "/shifts", "too_many"),
        ({"shifts": [EARLY | {"cooks": 101}]}, "/shifts/0/cooks", "out_of_range"),
        ({"shifts": [EARLY | {"name": "x" * 201}]}, "/shifts/0/name", "too_long"),
        ({"shifts": [EARLY | {"stations": []}]}, "/shifts/0/stations", "required"),
        ({"shifts": [EARLY | {"weekdays": [8]}]}, "/shifts/0/weekdays/0", "out_of_range"),
    ],
)
def test_a_site_keeps_within_the_limits(shop: Caller, fields: Any, pointer: str, code: str) -> None:
    assert faults(put_site(shop, 422, **fields)) == {(pointer, code)}


def test_a_group_has_at_most_so_many_kinds_of_equipment(shop: Caller) -> None:
    many = [{"code": f"e{number}", "name": "E"} for number in range(EQUIPMENT)]
    assert faults(shop.post("/v1/imports", {"equipment": many})) == {(f"/equipment/{number}", "too_many") for number in range(100)}
    assert shop.post("/v1/imports", {"equipment": many[1:]}).get_json()["created"] == EQUIPMENT - 1
    assert faults(shop.put("/v1/equipment/e0", {"name": "E"})) == {("", "too_many")}
    assert shop.put("/v1/equipment/oven", {"name": "Deck oven"}, If_Match="*").status_code == 200


def test_equipment_that_a_recipe_or_a_site_names_is_not_deleted(shop: Caller) -> None:
    assert publish(shop, step={"equipment": "oven"}).status_code == 201
    refused = shop.delete("/v1/equipment/oven", If_Match="*")
    assert (refused.status_code, refused.get_json()["detail"]) == (409, "oven is in use by recipe soup, site east")
    assert shop.put("/v1/equipment/kettle", {"name": "Kettle"}).status_code == 201
    put_site(shop, equipment_map={"kettle": "oven"})
    assert shop.delete("/v1/equipment/kettle", If_Match="*").status_code == 409
    put_site(shop)
    assert shop.delete("/v1/equipment/kettle", If_Match="*").status_code == 204
    assert [each["code"] for each in shop.get("/v1/equipment").get_json()["items"]] == ["oven"]


def test_a_station_that_a_shift_names_is_not_deleted(shop: Caller) -> None:
    assert shop.put("/v1/stations/attic", {"name": "Attic"}).status_code == 201
    put_site(shop, shifts=[EARLY | {"stations": ["attic"]}])
    assert shop.delete("/v1/stations/attic", If_Match="*").status_code == 409
    put_site(shop)
    assert shop.delete("/v1/stations/attic", If_Match="*").status_code == 204


def test_a_date_is_put_read_replaced_and_deleted(shop: Caller) -> None:
    assert shop.get(DATE).status_code == 404
    made = shop.put(DATE, {"shifts": [SHORT], "equipment": USABLE, "note": "left oven waits"})
    shown = {"site": "east", "date": "2026-12-03", "shifts": [SHORT], "equipment": USABLE, "note": "left oven waits"}
    assert (made.status_code, made.headers["Location"], made.get_json()) == (201, DATE, shown)
    found = shop.get(DATE)
    assert (found.get_json(), found.headers["ETag"]) == (shown, made.headers["ETag"])
    again = shop.put(DATE, found.get_json(), If_Match=found.headers["ETag"])
    assert (again.status_code, again.headers["ETag"]) == (200, found.headers["ETag"])
    assert [shop.put(DATE, {"shifts": []}, **sent).status_code for sent in ({}, {"If_Match": '"other"'})] == [428, 412]
    assert shop.put(DATE, {"shifts": []}, If_Match=found.headers["ETag"]).get_json()["equipment"] is None
    assert [shop.delete(DATE, If_Match="*").status_code for _ in range(2)] == [204, 404]


def test_k2_what_holds_is_told_for_each_date(shop: Caller) -> None:
    shop.put(DATE, {"shifts": [SHORT], "note": "a cook short"})
    shop.put(f"{CAPACITY}/2026-12-04", {"equipment": USABLE})
    asked = f"{CAPACITY}?from=2026-12-02&to=2026-12-04&limit=2"
    first = shop.get(asked).get_json()
    second = shop.get(first["next"]).get_json()
    full = [{"equipment": "oven", "count": 2}]
    usual = {name: value for name, value in EARLY.items() if name != "weekdays"}
    assert [*first["items"], *second["items"]] == [
        {"date": "2026-12-02", "usual": True, "shifts": [], "equipment": full, "note": ""},
        {"date": "2026-12-03", "usual": False, "shifts": [SHORT], "equipment": full, "note": "a cook short"},
        {"date": "2026-12-04", "usual": False, "shifts": [usual], "equipment": USABLE, "note": ""},
    ]
    assert second["next"] is None


def test_a_date_names_stations_of_the_group_and_machines_of_the_site(shop: Caller) -> None:
    shop.put("/v1/equipment/kettle", {"name": "Kettle"})
    wrong = {"shifts": [SHORT | {"stations": ["attic"]}], "equipment": [*USABLE, {"equipment": "kettle", "count": 1}]}
    assert faults(shop.put(DATE, wrong)) == {("/shifts/0/stations/0", "unknown_reference"), ("/equipment/1/equipment", "unknown_reference")}
    assert faults(shop.put(DATE, {"shifts": [SHORT] * 51})) == {("/shifts", "too_many")}
    assert faults(shop.put(DATE, {"shifts": [EARLY]})) == {("/shifts/0/weekdays", "unknown_field")}
    assert shop.put("/v1/sites/none/capacity/2026-12-03", {}).status_code == 404


def test_a_date_that_is_over_stays_as_it_was(shop: Caller) -> None:
    assert faults(shop.put(f"{CAPACITY}/2026-11-30", {"shifts": []})) == {("", "out_of_range")}


def test_the_capacity_of_a_date_moves_the_tags_of_its_sites_lists(shop: Caller) -> None:
    def tags() -> list[str]:
        return [shop.get(path).headers["ETag"] for path in (LIST, LIST.replace("east", "west"))]

    before = tags()
    made = shop.put(DATE, {"shifts": []})
    after = tags()
    assert (after[0] == before[0], after[1]) == (False, before[1])
    shop.put(DATE, {"shifts": []}, If_Match=made.headers["ETag"])
    assert tags() == after
    shop.delete(DATE, If_Match="*")
    assert tags()[0] not in (before[0], after[0])


def test_k5_a_step_at_a_rate_is_taken_in_and_given_back(shop: Caller) -> None:
    rate = {"set_up": "PT5M", "per": {"amount": 1, "unit": "L"}, "time": "PT4M"}
    number = publish(shop, step={"active": rate, "equipment": "oven"}, hold="PT2H").get_json()["version"]
    version = shop.get(f"/v1/recipes/soup/versions/{number}").get_json()
    assert (version["steps"][0]["active"], version["steps"][0]["equipment"], version["hold"]) == (rate, "oven", "PT2H")
    changes = shop.get(f"/v1/recipes/soup/versions/{number}/changes").get_json()
    assert {"field": "hold", "old": None, "new": "PT2H"} in changes["fields"]
    assert changes["steps"]["changed"][0]["new"]["active"] == rate


def test_k5_what_a_step_names_must_be_there_and_its_rate_must_convert(shop: Caller) -> None:
    rate = {"per": {"amount": 1, "unit": "tray"}, "time": "PT4M"}
    wrong = publish(shop, step={"active": rate, "equipment": "kiln"})
    assert faults(wrong) == {("/steps/0/equipment", "unknown_reference"), ("/steps/0/active/per/unit", "unknown_unit")}
    assert faults(publish(shop, step={"active": rate | {"per": {"amount": 1, "unit": "each"}}})) == {
        ("/steps/0/active/per/unit", "missing_equivalent")
    }


@pytest.mark.parametrize(
    ("step", "pointer", "code"),
    [
        ({"active": 5}, "/steps/0/active", "wrong_type"),
        ({"active": {"time": "PT4M"}}, "/steps/0/active/per", "required"),
        ({"active": {"per": {"amount": 0, "unit": "kg"}, "time": "PT4M"}}, "/steps/0/active/per/amount", "out_of_range"),
        ({"active": "P15D"}, "/steps/0/active", "out_of_range"),
    ],
)
def test_a_hands_on_time_has_one_of_two_forms(shop: Caller, step: Any, pointer: str, code: str) -> None:
    body = element("recipes", "soup") | {"steps": [{"text": "Bake."} | step]}
    assert faults(shop.put("/v1/recipes/soup/draft", body, If_Match="*")) == {(pointer, code)}


def test_hold_is_at_most_fourteen_days(shop: Caller) -> None:
    body = element("recipes", "soup")
    assert faults(shop.put("/v1/recipes/soup/draft", body | {"hold": "P15D"}, If_Match="*")) == {("/hold", "out_of_range")}
    assert shop.put("/v1/recipes/soup/draft", body | {"hold": "P14D"}, If_Match="*").status_code == 200


def test_k4_the_publisher_is_told_where_each_batch_goes_in_by_itself(shop: Caller) -> None:
    (told,) = publish(shop, step={"equipment": "oven"}).get_json()["warnings"]
    assert told["code"] == "batch_at_a_time"
    assert "Oven" in told["detail"]
    put_site(shop, equipment=[OVEN | {"load": [{"amount": 8, "unit": "tray"}, {"amount": 20, "unit": "L"}]}])
    assert publish(shop, step={"equipment": "oven"}, title="Baked soup").get_json()["warnings"] == []

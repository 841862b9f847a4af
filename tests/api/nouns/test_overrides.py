"""Overrides over the interface: of the count without event and of events, listed, read, replaced and deleted (P1)."""

from typing import Any

import pytest

from tests.api.caller import Caller, faults
from tests.api.shop import open_shop

OVERRIDES = "/v1/sites/east/overrides"
PLAIN = f"{OVERRIDES}/2026-12-03/lunch/bowl"
GALA = f"{PLAIN}?event=gala"


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", "2026-12-03"): 40})
    return director


def guests(caller: Caller) -> Any:
    (row,) = caller.get("/v1/sites/east/forecasts?from=2026-12-03&to=2026-12-03").get_json()["items"]
    return row["count"]


def test_an_override_of_an_event_stands_beside_the_plain_one(shop: Caller) -> None:
    assert shop.put(PLAIN, {"count": 60}).status_code == 201
    made = shop.put(GALA, {"count": 25, "note": "toasts first"})
    assert (made.status_code, made.headers["Location"]) == (201, GALA)
    assert guests(shop) == 85
    assert [shop.get(path).get_json()["event"] for path in (PLAIN, GALA)] == [None, "gala"]
    assert shop.delete(PLAIN, If_Match="*").status_code == 204
    assert (shop.get(PLAIN).status_code, shop.get(GALA).status_code) == (404, 200)
    assert guests(shop) == 65


def test_what_is_read_can_be_put_back(shop: Caller) -> None:
    shop.put(GALA, {"add": 5})
    found = shop.get(GALA)
    again = shop.put(GALA, found.get_json(), If_Match=found.headers["ETag"])
    assert (again.status_code, again.headers["ETag"]) == (200, found.headers["ETag"])
    assert again.get_json() == found.get_json() | {"warnings": again.get_json()["warnings"]}


def test_an_event_that_nobody_has_pushed_is_taken_and_told_by_a_warning(shop: Caller) -> None:
    assert "warnings" not in shop.put(PLAIN, {"add": 5}).get_json()
    pushed = {"site": "east", "date": "2026-12-03", "period": "lunch", "menu_item": "bowl", "count": 9, "event": {"code": "galla"}}
    push = {"source": "till", "as_of": "2026-12-02T12:00:00Z", "entries": [pushed]}
    assert shop.post("/v1/forecasts", push).get_json()["stored"] == 1
    unheard = "nobody has pushed guests of the event gala for 2026-12-03, but of galla"
    for answer in (shop.put(GALA, {"add": 5}), shop.put(GALA, {"add": 6}, If_Match="*")):
        assert answer.get_json()["warnings"] == [{"code": "unknown_event", "detail": unheard}]
    assert "warnings" not in shop.put(f"{PLAIN}?event=galla", {"add": 5}).get_json()
    assert "warnings" not in shop.put(GALA, {"count": 0}, If_Match="*").get_json()
    assert "unknown_event" not in [row["code"] for row in shop.get("/v1/sites/east/prep-lists/2026-12-03").get_json()["warnings"]]
    shop.put(GALA, {"add": 5}, If_Match="*")
    assert "unknown_event" in [row["code"] for row in shop.get("/v1/sites/east/prep-lists/2026-12-03").get_json()["warnings"]]


def test_a_body_that_names_another_event_is_refused(shop: Caller) -> None:
    assert faults(shop.put(GALA, {"add": 5, "event": "wedding"})) == {("/event", "not_in_list")}
    assert faults(shop.put(PLAIN, {"add": 5, "event": "wedding"})) == {("/event", "not_in_list")}


def test_an_addition_may_take_off_up_to_a_million(shop: Caller) -> None:
    assert shop.put(PLAIN, {"add": -15}).status_code == 201
    assert guests(shop) == 25
    assert shop.put(PLAIN, {"add": -1_000_000}, If_Match="*").status_code == 200
    assert guests(shop) == 0
    assert faults(shop.put(PLAIN, {"add": -1_000_001}, If_Match="*")) == {("/add", "out_of_range")}


def test_overrides_are_listed_by_key_and_paged(shop: Caller) -> None:
    for path in (GALA, PLAIN, f"{OVERRIDES}/2026-12-04/lunch/bowl", f"{OVERRIDES}/2026-12-09/lunch/bowl"):
        shop.put(path, {"add": 1})
    first = shop.get(f"{OVERRIDES}?from=2026-12-03&to=2026-12-04&limit=2").get_json()
    second = shop.get(first["next"]).get_json()
    rows = [(row["date"], row["event"], row["add"]) for page in (first, second) for row in page["items"]]
    assert rows == [("2026-12-03", None, 1), ("2026-12-03", "gala", 1), ("2026-12-04", None, 1)]
    assert second["next"] is None
    assert shop.get("/v1/sites/west/overrides?from=2026-12-03&to=2026-12-04").get_json()["items"] == []

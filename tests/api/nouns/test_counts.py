"""Stock counts over the interface: recorded, listed, read and deleted."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.api.caller import Caller, faults
from tests.api.shop import measure, open_shop

COUNTS = "/v1/sites/east/counts"
ONION = {"ingredient": "onion"}
LIST = "/v1/sites/east/prep-lists/2026-12-03"


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", "2026-12-03"): 40})
    return director


def count(caller: Caller, at: str, amount: str, item: Any = ONION, **lot: Any) -> Any:
    """Count one lot; the answer."""
    lots = [{"item": item, "quantity": measure(amount), **lot}]
    answer = caller.post(COUNTS, {"counted_at": f"2026-12-{at}:00-05:00", "lots": lots})
    assert answer.status_code == 201, answer.get_json()
    return answer


def on_hand(caller: Caller) -> float:
    """How much onion is in store."""
    lines = caller.get("/v1/sites/east/order-lists?from=2026-12-02&to=2026-12-03").get_json()["lines"]
    amount: float = next(line["on_hand"]["amount"] for line in lines if line["item"].get("ingredient") == "onion")
    return amount


def listed(caller: Caller, query: str) -> list[int]:
    return [row["id"] for row in caller.get(f"{COUNTS}?{query}").get_json()["items"]]


def test_a_count_is_found_where_its_answer_says(shop: Caller) -> None:
    made = count(shop, "02T06:00", "2 kg")
    assert made.headers["Location"] == f"{COUNTS}/1"
    found = shop.get(made.headers["Location"])
    assert (found.status_code, found.get_json()) == (200, made.get_json())
    assert shop.get(f"{COUNTS}/1", If_None_Match=found.headers["ETag"]).status_code == 304
    assert shop.get("/v1/sites/west/counts/1").status_code == 404
    assert shop.get(f"{COUNTS}/2").status_code == 404


def test_counts_are_listed_newest_first_by_business_date_and_paged(shop: Caller) -> None:
    # Counted at 02:00 of the second, which is still the first: the day starts at four.
    for at in ("01T22:00", "02T02:00", "02T05:00", "02T06:00", "02T05:30"):
        count(shop, at, "2 kg")
    assert listed(shop, "from=2026-12-02&to=2026-12-02") == [4, 5, 3]
    assert listed(shop, "from=2026-12-01&to=2026-12-01") == [2, 1]
    first = shop.get(f"{COUNTS}?from=2026-12-01&to=2026-12-02&limit=2").get_json()
    second = shop.get(first["next"]).get_json()
    third = shop.get(second["next"]).get_json()
    assert [[row["id"] for row in page["items"]] for page in (first, second, third)] == [[4, 5], [3, 2], [1]]
    assert third["next"] is None
    assert faults(shop.get(f"{COUNTS}?from=2026-12-02")) == {("to", "required")}


def test_a_count_dated_tomorrow_by_a_slip_is_refused(shop: Caller) -> None:
    body = {"counted_at": "2026-12-03T06:00:00-05:00", "lots": [{"item": {"recipe": "soup"}, "quantity": measure("20 L")}]}
    answer = shop.post(COUNTS, body)
    assert (answer.status_code, faults(answer)) == (422, {("/counted_at", "counted_in_future")})
    assert listed(shop, "from=2026-12-01&to=2026-12-31") == []


def test_without_a_deleted_count_the_older_one_holds_and_lists_change_their_tag(shop: Caller) -> None:
    count(shop, "02T05:00", "3 kg")
    slip = count(shop, "02T06:00", "30 kg").headers["Location"]
    before = shop.get(LIST).headers["ETag"]
    assert on_hand(shop) == 30_000
    assert shop.delete(slip).status_code == 204
    assert on_hand(shop) == 3_000
    assert shop.get(LIST, If_None_Match=before).status_code == 200
    assert listed(shop, "from=2026-12-02&to=2026-12-02") == [1]
    assert (shop.get(slip).status_code, shop.delete(slip).status_code) == (404, 404)


def test_a_kitchen_deletes_a_count_of_its_own_site_and_a_viewer_none(shop: Caller, caller_of: Callable[..., Caller]) -> None:
    place = count(shop, "02T05:00", "3 kg").headers["Location"]
    assert caller_of("viewer").delete(place).status_code == 403
    assert caller_of("kitchen", ["west"]).delete(place).status_code == 404
    assert caller_of("kitchen", ["east"]).delete(place).status_code == 204


def test_what_a_list_tells_is_counted_as_it_stands(shop: Caller) -> None:
    document = shop.get(LIST).get_json()
    told = [task for station in document["stations"] for task in station["tasks"]] + document["pulls"]
    lots = [{"item": each["item"], "quantity": each["quantity"]} for each in told]
    lots.append({"item": {"recipe": "soup", "title": "Soup"}, "quantity": {"amount": 12345678.6875000005, "unit": "g", "display": "12 t"}})
    answer = shop.post(COUNTS, {"counted_at": "2026-12-02T06:00:00-05:00", "lots": lots[:-1]})
    assert (answer.status_code, len(lots) > 3) == (201, True), answer.get_json()
    kept = answer.get_json()["lots"]
    assert [set(lot["quantity"]) for lot in kept] == [{"amount", "unit"}] * len(kept)
    assert all("title" not in lot["item"] for lot in kept)
    refused = shop.post(COUNTS, {"counted_at": "2026-12-02T06:00:00-05:00", "lots": lots[-1:]})
    assert faults(refused) == {("/lots/0/quantity/unit", "missing_equivalent")}, "the amount is one; soup is no mass"


@pytest.mark.parametrize(
    ("lot", "pointer", "code"),
    [
        ({"item": {**ONION, "title": 5}, "quantity": measure("1 kg")}, "/lots/0/item/title", "unknown_field"),
        ({"item": {**ONION, "name": "x"}, "quantity": measure("1 kg")}, "/lots/0/item/name", "unknown_field"),
        ({"item": ONION, "quantity": {**measure("1 kg"), "display": 5}}, "/lots/0/quantity/display", "unknown_field"),
        ({"item": ONION, "quantity": {**measure("1 kg"), "note": "x"}}, "/lots/0/quantity/note", "unknown_field"),
        ({"item": ONION, "quantity": {"amount": 10**12 + 1, "unit": "g"}}, "/lots/0/quantity/amount", "out_of_range"),
    ],
)
def test_nothing_but_title_and_display_is_ignored(shop: Caller, lot: Any, pointer: str, code: str) -> None:
    answer = shop.post(COUNTS, {"counted_at": "2026-12-02T06:00:00-05:00", "lots": [lot]})
    assert (answer.status_code, faults(answer)) == (422, {(pointer, code)})

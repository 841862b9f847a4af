"""Pilots, withdrawals and two directors at one draft, over the interface (P12)."""

from collections.abc import Callable
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import SITE, STATION, Json, changed
from tests.api.caller import Caller, faults

TODAY, SOON, LATER = "2026-12-02", "2026-12-09", "2026-12-16"
SOUP, STEW = "/v1/recipes/soup", "/v1/recipes/stew"


def recipe(title: str, *items: Json, **fields: Any) -> Json:
    lines = [{"item": item, "quantity": {"amount": 1, "unit": "kg"}} for item in items]
    return {"title": title, "station": "veg", "yield": {"amount": 1, "unit": "kg"}, "lines": lines, **fields}


ONION = {"ingredient": "onion"}
FIRST, SECOND, THIRD = (recipe(f"Soup {number}", ONION) for number in ("one", "two", "three"))


@pytest.fixture
def kitchen(director: Caller) -> Caller:
    """A director of two sites and an onion."""
    assert director.put("/v1/stations/veg", STATION).status_code == 201
    assert director.put("/v1/ingredients/onion", {"name": "Onion", "kind": "mass"}).status_code == 201
    for code in ("mill-street", "harbour"):
        assert director.put(f"/v1/sites/{code}", SITE).status_code == 201
    return director


def draft(caller: Caller, document: Json, path: str = SOUP) -> None:
    exists = caller.get(f"{path}/draft").status_code == 200
    answer = caller.put(f"{path}/draft", document, **({"If_Match": "*"} if exists else {}))
    assert answer.status_code in (200, 201), answer.get_json()


def publish(caller: Caller, document: Json, since: str, sites: list[str] | None = None, path: str = SOUP) -> int:
    draft(caller, document, path)
    answer = caller.post(f"{path}/versions", {"from": since, "sites": sites})
    assert answer.status_code == 201, answer.get_json()
    number: int = answer.get_json()["version"]
    return number


def withdraw(caller: Caller, number: int, since: str, path: str = SOUP) -> TestResponse:
    return caller.post(f"{path}/versions/{number}/withdrawal", {"from": since})


def title(caller: Caller, on: str, site: str | None = None, path: str = SOUP) -> str | None:
    """The title of the version in force on a date, at a site."""
    answer = caller.get(f"{path}?on={on}" + (f"&site={site}" if site else ""))
    return str(answer.get_json()["title"]) if answer.status_code == 200 else None


def sell(caller: Caller) -> None:
    component = {"recipe": "soup", "quantity": {"amount": 1, "unit": "kg"}}
    assert caller.put("/v1/menu-items/bowl", {"name": "Bowl", "components": [component]}).status_code == 201


def details(answer: TestResponse) -> str:
    return " ".join(fault["detail"] for fault in answer.get_json()["errors"])


# Versions by site.


def test_p12_a_pilot_is_in_force_at_its_sites_and_then_everybody_gets_it(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, SECOND, SOON, ["harbour"])
    assert [title(kitchen, SOON, site) for site in ("harbour", "mill-street", None)] == ["Soup two", "Soup one", "Soup one"]
    assert title(kitchen, TODAY, "harbour") == "Soup one"
    publish(kitchen, SECOND, LATER)
    assert [title(kitchen, LATER, site) for site in ("harbour", "mill-street", None)] == ["Soup two"] * 3
    assert [title(kitchen, SOON, site) for site in ("harbour", "mill-street")] == ["Soup two", "Soup one"]


def test_p12_of_two_in_force_the_later_from_wins_and_then_the_higher_number(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, SECOND, LATER, ["harbour"])
    publish(kitchen, THIRD, SOON)
    assert [title(kitchen, on, "harbour") for on in (TODAY, SOON, LATER)] == ["Soup one", "Soup three", "Soup two"]
    assert title(kitchen, LATER, "mill-street") == "Soup three"
    publish(kitchen, FIRST, LATER)
    assert [title(kitchen, LATER, site) for site in ("harbour", "mill-street")] == ["Soup one", "Soup one"]


def test_publishing_for_other_sites_or_another_date_is_no_repetition(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    again = {"from": TODAY, "sites": None}
    assert kitchen.post(f"{SOUP}/versions", again).status_code == 409
    assert kitchen.post(f"{SOUP}/versions", {**again, "sites": ["harbour"]}).status_code == 201
    assert kitchen.post(f"{SOUP}/versions", {**again, "from": SOON}).status_code == 201
    assert kitchen.post(f"{SOUP}/versions", {**again, "sites": []}).status_code == 422
    assert faults(kitchen.post(f"{SOUP}/versions", {**again, "sites": ["harbour", "nowhere"]})) == {("/sites/1", "unknown_site")}


def test_a_recipe_of_a_pilot_alone_can_be_called_at_its_sites_alone(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY, ["harbour"])
    draft(kitchen, recipe("Stew", {"recipe": "soup"}), STEW)
    refused = kitchen.post(f"{STEW}/versions", {"from": SOON})
    assert faults(refused) == {("/lines/0/item", "unknown_reference")}
    assert kitchen.post(f"{STEW}/versions", {"from": SOON, "sites": ["harbour"]}).status_code == 201


# Withdrawals.


def test_from_a_withdrawal_on_the_next_older_version_applies(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, SECOND, SOON)
    before = kitchen.get(f"{SOUP}/versions/2").get_json()
    answer = withdraw(kitchen, 2, LATER)
    assert (answer.status_code, answer.get_json()["withdrawn_from"]) == (200, LATER)
    assert [title(kitchen, on) for on in (TODAY, SOON, LATER)] == ["Soup one", "Soup two", "Soup one"]
    assert kitchen.get(f"{SOUP}/versions/2").get_json() == {**before, "withdrawn_from": LATER}


def test_a_pilot_that_is_withdrawn_leaves_its_sites_what_everybody_has(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, SECOND, TODAY, ["harbour"])
    sell(kitchen)
    assert withdraw(kitchen, 2, SOON).status_code == 200
    assert title(kitchen, SOON, "harbour") == "Soup one"
    refused = withdraw(kitchen, 1, SOON)
    assert (refused.status_code, faults(refused)) == (422, {("/from", "in_use")})


def test_a_withdrawal_that_leaves_a_menu_item_without_a_version_is_refused(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    assert withdraw(kitchen, 1, LATER).status_code == 200
    publish(kitchen, SECOND, SOON)
    sell(kitchen)
    refused = withdraw(kitchen, 2, LATER)
    assert (refused.status_code, faults(refused)) == (422, {("/from", "in_use")})
    assert "menu item bowl" in details(refused)
    assert title(kitchen, LATER) == "Soup two"


def test_a_withdrawal_that_leaves_a_menu_item_without_a_version_later_on_is_refused_too(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, SECOND, TODAY)
    assert withdraw(kitchen, 1, LATER).status_code == 200
    sell(kitchen)
    refused = withdraw(kitchen, 2, SOON)
    assert (refused.status_code, f"menu item bowl would have no version from {LATER} on" in details(refused)) == (422, True)


def test_a_withdrawal_of_a_version_that_never_began_is_refused_where_it_is_awaited(kitchen: Caller) -> None:
    publish(kitchen, FIRST, LATER)
    sell(kitchen)
    assert "menu item bowl" in details(withdraw(kitchen, 1, SOON))
    publish(kitchen, SECOND, LATER)
    assert withdraw(kitchen, 2, TODAY).status_code == 200
    assert title(kitchen, LATER) == "Soup one"


def test_a_withdrawal_that_leaves_a_recipe_without_what_it_calls_is_refused(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, recipe("Stew", {"recipe": "soup"}), SOON, ["harbour"], STEW)
    refused = withdraw(kitchen, 1, LATER)
    assert (refused.status_code, faults(refused)) == (422, {("/from", "in_use")})
    assert "recipe stew" in details(refused)
    publish(kitchen, SECOND, TODAY, ["harbour"])
    assert withdraw(kitchen, 1, LATER).status_code == 200
    assert withdraw(kitchen, 2, LATER).status_code == 422


def test_a_withdrawal_that_leaves_a_par_without_a_version_is_refused(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    par = {"item": {"recipe": "soup"}, "level": {"amount": 1, "unit": "kg"}, "weekdays": [1], "by": "09:00"}
    assert kitchen.put("/v1/sites/harbour", changed(SITE, pars=[par]), If_Match="*").status_code == 200
    refused = withdraw(kitchen, 1, LATER)
    assert (refused.status_code, "site harbour" in details(refused)) == (422, True)
    publish(kitchen, SECOND, SOON, ["harbour"])
    assert withdraw(kitchen, 1, LATER).status_code == 200


def test_a_withdrawal_that_takes_a_measure_away_from_a_user_is_refused(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, recipe("Soup two", ONION, portion={"amount": 250, "unit": "g"}), SOON)
    assert withdraw(kitchen, 2, LATER).status_code == 200
    publish(kitchen, recipe("Soup three", ONION, portion={"amount": 300, "unit": "g"}), LATER)
    stew = recipe("Stew", {"recipe": "soup"})
    stew["lines"][0]["quantity"] = {"amount": 10, "unit": "portion"}
    publish(kitchen, stew, LATER, None, STEW)
    refused = withdraw(kitchen, 3, LATER)
    assert refused.status_code == 422
    assert "recipe stew" in details(refused)


def test_a_withdrawal_is_dated_from_today_on_and_may_be_moved_until_it_counts(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    publish(kitchen, SECOND, TODAY)
    assert faults(withdraw(kitchen, 2, "2026-12-01")) == {("/from", "out_of_range")}
    assert withdraw(kitchen, 2, LATER).status_code == 200
    assert withdraw(kitchen, 2, SOON).status_code == 200
    assert [title(kitchen, on) for on in (TODAY, SOON)] == ["Soup two", "Soup one"]
    assert withdraw(kitchen, 9, SOON).status_code == 404


# Two directors.


def test_of_two_directors_at_one_draft_the_second_is_told_and_loses_nothing(kitchen: Caller, caller_of: Callable[..., Caller]) -> None:
    other = caller_of("director")
    draft(kitchen, FIRST)
    seen, seen_by_other = kitchen.get(f"{SOUP}/draft"), other.get(f"{SOUP}/draft")
    mine, theirs = changed(FIRST, title="Mine"), changed(FIRST, title="Theirs", keeps="P2D")
    saved = kitchen.put(f"{SOUP}/draft", mine, If_Match=seen.headers["ETag"])
    assert saved.status_code == 200
    stale = other.put(f"{SOUP}/draft", theirs, If_Match=seen_by_other.headers["ETag"])
    assert (stale.status_code, stale.get_json()["type"]) == (412, "/problems/stale")
    now = other.get(f"{SOUP}/draft")
    assert (now.get_json()["title"], now.headers["ETag"]) == ("Mine", saved.headers["ETag"])
    assert other.put(f"{SOUP}/draft", changed(mine, keeps="P2D"), If_Match=now.headers["ETag"]).status_code == 200
    assert kitchen.put(f"{SOUP}/draft", mine, If_Match=saved.headers["ETag"]).status_code == 412
    merged = kitchen.get(f"{SOUP}/draft").get_json()
    assert (merged["title"], merged["keeps"]) == ("Mine", "P2D")


def test_a_stale_draft_is_neither_deleted_nor_made_again(kitchen: Caller) -> None:
    draft(kitchen, FIRST)
    old = kitchen.get(f"{SOUP}/draft").headers["ETag"]
    draft(kitchen, SECOND)
    assert kitchen.delete(f"{SOUP}/draft", If_Match=old).status_code == 412
    assert kitchen.put(f"{SOUP}/draft", FIRST, If_None_Match="*").status_code == 412
    assert kitchen.put(f"{SOUP}/draft", FIRST).status_code == 428
    assert kitchen.get(f"{SOUP}/draft").get_json()["title"] == "Soup two"


def test_publishing_leaves_the_draft_and_older_versions_as_they_are(kitchen: Caller) -> None:
    publish(kitchen, FIRST, TODAY)
    first, kept = kitchen.get(f"{SOUP}/versions/1"), kitchen.get(f"{SOUP}/draft")
    draft(kitchen, SECOND)
    assert kitchen.get(f"{SOUP}/versions/1").data == first.data
    publish(kitchen, SECOND, SOON)
    draft(kitchen, FIRST)
    assert (kitchen.get(f"{SOUP}/versions/1").data, kitchen.get(f"{SOUP}/draft").headers["ETag"]) == (first.data, kept.headers["ETag"])

"""Changes between two versions over the interface."""

from collections.abc import Callable
from typing import Any

import pytest

from service.api.exchange.routing import load
from service.api.schemas.changes import VersionChanges
from tests.api.bodies import SITE, STATION, Json, changed
from tests.api.caller import Caller, faults

SOUP = "/v1/recipes/soup"


def line(code: str, amount: Any, **fields: Any) -> Json:
    return {"item": {"ingredient": code}, "quantity": {"amount": amount, "unit": "kg"}, **fields}


FIRST: Json = {
    "title": "Soup",
    "station": "veg",
    "yield": {"amount": 1, "unit": "kg"},
    "lines": [line("onion", 1, step=1), line("leek", 1)],
    "steps": [{"text": "Sweat."}, {"text": "Simmer.", "passive": "PT1H"}],
}
SECOND = changed(
    FIRST,
    lines=[line("onion", "1 1/2", step=1), line("oil", 1)],
    steps=[{"text": "Sweat."}, {"text": "Simmer.", "passive": "PT2H"}, {"text": "Blend."}],
    portion={"amount": 250, "unit": "g"},
)


@pytest.fixture
def soup(director: Caller) -> Caller:
    """A director of a soup in three versions, the third as the first one but for a site."""
    assert director.put("/v1/stations/veg", STATION).status_code == 201
    assert director.put("/v1/sites/mill-street", SITE).status_code == 201
    for code in ("onion", "leek", "oil"):
        assert director.put(f"/v1/ingredients/{code}", {"name": code.capitalize(), "kind": "mass"}).status_code == 201
    for draft, sites in ((FIRST, None), (SECOND, None), (FIRST, ["mill-street"])):
        director.put(f"{SOUP}/draft", draft, If_Match="*" if draft is not FIRST or sites else "")
        assert director.post(f"{SOUP}/versions", {"from": "2026-12-02", "sites": sites}).status_code == 201
    return director


def test_lines_steps_and_fields_are_told_as_added_dropped_and_changed(soup: Caller) -> None:
    answer = soup.get(f"{SOUP}/versions/2/changes?from=1")
    told = answer.get_json()
    assert (answer.status_code, load(VersionChanges, told)[1]) == (200, [])
    assert (told["recipe"], told["from"], told["version"]) == ("soup", 1, 2)
    assert told["fields"] == [{"field": "portion", "old": None, "new": {"amount": 250, "unit": "g"}}]
    lines, steps = told["lines"], told["steps"]
    assert [(row["number"], row["item"]) for row in lines["added"]] == [(2, {"ingredient": "oil"})]
    assert [(row["number"], row["item"]) for row in lines["dropped"]] == [(2, {"ingredient": "leek"})]
    assert [(row["old"]["quantity"]["amount"], row["new"]["quantity"]["amount"]) for row in lines["changed"]] == [(1, "1 1/2")]
    assert [(row["number"], row["text"]) for row in steps["added"]] == [(3, "Blend.")]
    assert [(row["old"]["passive"], row["new"]["passive"]) for row in steps["changed"]] == [("PT1H", "PT2H")]
    assert told["by_products"] == {"added": [], "dropped": [], "changed": []}


def test_without_from_the_version_before_is_compared_with(soup: Caller) -> None:
    assert soup.get(f"{SOUP}/versions/2/changes").get_json() == soup.get(f"{SOUP}/versions/2/changes?from=1").get_json()
    first = soup.get(f"{SOUP}/versions/1/changes").get_json()
    assert (first["from"], len(first["lines"]["added"])) == (None, 2)


def test_any_two_versions_can_be_compared_in_either_direction(soup: Caller) -> None:
    same = soup.get(f"{SOUP}/versions/3/changes?from=1").get_json()
    assert (same["fields"], same["lines"], same["steps"]) == ([], *[{"added": [], "dropped": [], "changed": []}] * 2)
    back = soup.get(f"{SOUP}/versions/1/changes?from=2").get_json()
    assert [row["item"] for row in back["lines"]["added"]] == [{"ingredient": "leek"}]


def test_a_version_that_is_not_there_is_refused(soup: Caller) -> None:
    assert soup.get(f"{SOUP}/versions/9/changes").status_code == 404
    refused = soup.get(f"{SOUP}/versions/2/changes?from=9")
    assert (refused.status_code, faults(refused)) == (422, {("from", "unknown_reference")})
    for wrong in ("0", "x", "-1", "1.0"):
        assert soup.get(f"{SOUP}/versions/2/changes?from={wrong}").status_code == 422


def test_a_kitchen_compares_the_versions_of_its_sites(soup: Caller, caller_of: Callable[..., Caller]) -> None:
    assert soup.put("/v1/sites/harbour", SITE).status_code == 201
    other = caller_of("kitchen", ["harbour"])
    assert other.get(f"{SOUP}/versions/3/changes").status_code == 404
    assert other.get(f"{SOUP}/versions/2/changes?from=3").status_code == 422
    assert caller_of("kitchen", ["mill-street"]).get(f"{SOUP}/versions/3/changes").status_code == 200

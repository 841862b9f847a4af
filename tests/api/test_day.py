"""One day of the demo kitchens over the interface: import, publish, push, count, list; every answer fits its documented shape."""

import json
from datetime import date, timedelta
from typing import Any

import pytest
from openapi_schema_validator import OAS31Validator

from service.api.document.openapi import build
from service.app import NOUNS
from service.resources import folder
from tests.api.caller import Caller, faults
from tests.strict import strict

TODAY = date(2026, 12, 2)


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return strict(build(NOUNS))


@pytest.fixture
def stocked(director: Caller) -> Caller:
    """A director of the demo kitchens, with their forecasts and counts."""
    seeds = folder("seeds")
    answer = director.send("POST", "/v1/imports", raw=(seeds / "catalogue.json").read_bytes())
    assert answer.status_code == 200, answer.get_json()
    for push in json.loads((seeds / "forecasts.json").read_text("utf-8")):
        entries = [{**entry, "date": str(TODAY + timedelta(entry["day"]))} for entry in push["entries"]]
        for entry in entries:
            del entry["day"]
        result = director.post("/v1/forecasts", {"source": push["source"], "as_of": "2026-12-02T06:00:00-05:00", "entries": entries})
        assert result.get_json()["refused"] == []
    for count in json.loads((seeds / "counts.json").read_text("utf-8")):
        lots = [{**lot, **({"made_on": str(TODAY + timedelta(lot["made_day"]))} if "made_day" in lot else {})} for lot in count["lots"]]
        for lot in lots:
            lot.pop("made_day", None)
        counted_at = f"{TODAY + timedelta(count['day'])}T{count['time']}:00-06:00"
        made = director.post(f"/v1/sites/{count['site']}/counts", {"counted_at": counted_at, "lots": lots})
        assert made.status_code == 201, made.get_json()
    return director


READS = [
    ("/v1/stations", "/v1/stations"),
    ("/v1/stations/{code}", "/v1/stations/bakery"),
    ("/v1/ingredients", "/v1/ingredients?limit=500"),
    ("/v1/ingredients/{code}", "/v1/ingredients/onion"),
    ("/v1/recipes", "/v1/recipes?limit=500"),
    ("/v1/recipes/{code}", "/v1/recipes/lentil-soup?on=2026-12-03&site=mill-street"),
    ("/v1/recipes/{code}/draft", "/v1/recipes/lentil-soup/draft"),
    ("/v1/recipes/{code}/versions", "/v1/recipes/lentil-soup/versions"),
    ("/v1/recipes/{code}/versions/{number}", "/v1/recipes/lentil-soup/versions/1"),
    ("/v1/menu-items", "/v1/menu-items"),
    ("/v1/sites", "/v1/sites"),
    ("/v1/sites/{code}", "/v1/sites/orangery"),
    ("/v1/forecasts", "/v1/forecasts?from=2026-12-02&to=2026-12-08&limit=500"),
    ("/v1/sites/{site}/forecasts", "/v1/sites/mill-street/forecasts?from=2026-12-02&to=2026-12-08&limit=500"),
    ("/v1/sites/{site}/prep-lists/{date}", "/v1/sites/mill-street/prep-lists/2026-12-03"),
    ("/v1/sites/{site}/prep-lists/{date}", "/v1/sites/quayside/prep-lists/2026-12-03?trace=true&units=us&from=2026-12-02"),
    ("/v1/sites/{site}/prep-lists/{date}", "/v1/sites/orangery/prep-lists/2026-12-04?trace=true&station=bakery"),
    ("/v1/recipes/{code}/cost", "/v1/recipes/chicken-stock/cost?site=mill-street"),
    ("/v1/menu-items/{code}/cost", "/v1/menu-items/chicken-main/cost?site=orangery&on=2026-12-05"),
    ("/v1/sites/{site}/order-lists", "/v1/sites/orangery/order-lists?from=2026-12-02&to=2026-12-05"),
    ("/v1/order-lists", "/v1/order-lists?from=2026-12-03&to=2026-12-05"),
    ("/v1/prep-lists/{date}", "/v1/prep-lists/2026-12-03"),
    ("/v1/whoami", "/v1/whoami"),
    ("/v1/tokens", "/v1/tokens"),
    ("/readyz", "/readyz"),
]


def check(document: dict[str, Any], path: str, method: str, status: int, value: Any) -> None:
    schema = document["paths"][path][method]["responses"][str(status)]["content"]["application/json"]["schema"]
    OAS31Validator({**schema, "components": document["components"]}).validate(value)


def test_every_answer_fits_its_documented_shape(stocked: Caller, document: dict[str, Any]) -> None:
    for path, address in READS:
        answer = stocked.get(address)
        assert answer.status_code == 200, (address, answer.get_json())
        check(document, path, "get", 200, answer.get_json())
        assert stocked.get(address, If_None_Match=answer.headers["ETag"]).status_code == 304
        assert answer.get_json().get("next") is None


def test_scaling_publishing_and_withdrawing_fit_theirs(stocked: Caller, document: dict[str, Any]) -> None:
    soup = "/v1/recipes/lentil-soup"
    for to in (
        {"quantity": {"amount": 350, "unit": "portion"}},
        {"have": {"item": {"ingredient": "onion"}, "quantity": {"amount": 5, "unit": "kg"}}},
    ):
        scaled = stocked.post(f"{soup}/scalings", {"to": to, "site": "mill-street"})
        assert scaled.status_code == 200, scaled.get_json()
        check(document, "/v1/recipes/{code}/scalings", "post", 200, scaled.get_json())
    published = stocked.post(f"{soup}/versions", {"from": "2026-12-09", "sites": ["quayside"]})
    check(document, "/v1/recipes/{code}/versions", "post", 201, published.get_json())
    withdrawn = stocked.post(f"{soup}/versions/2/withdrawal", {"from": "2026-12-10"})
    assert withdrawn.status_code == 200, withdrawn.get_json()
    check(document, "/v1/recipes/{code}/versions/{number}/withdrawal", "post", 200, withdrawn.get_json())


def test_an_import_of_the_same_again_changes_nothing(stocked: Caller) -> None:
    raw = (folder("seeds") / "catalogue.json").read_bytes()
    result = stocked.send("POST", "/v1/imports?dry_run=true", raw=raw).get_json()
    assert (result["created"], result["replaced"], result["published"]) == (0, 0, 0)
    assert result["unchanged"] > 100


def test_p12_a_changed_recipe_whose_date_has_passed_is_refused_with_what_to_write(stocked: Caller) -> None:
    catalogue = json.loads((folder("seeds") / "catalogue.json").read_text("utf-8"))
    soup = next(each for each in catalogue["recipes"] if each["code"] == "lentil-soup")
    changed = {**soup, "title": "Lentil soup, thicker"}
    answer = stocked.post("/v1/imports", {"recipes": [changed]})
    assert faults(answer) == {("/recipes/0/publish_from", "out_of_range")}
    [fault] = answer.get_json()["errors"]
    told = "a version after the first cannot begin in the past; write 2026-12-02 or later to publish what has changed since"
    assert fault["detail"] == f"{told}, or null to keep it as a draft"
    for day, published in (("2026-12-02", 1), (None, 0)):
        answer = stocked.post("/v1/imports?dry_run=true", {"recipes": [{**changed, "publish_from": day}]})
        assert (answer.get_json()["replaced"], answer.get_json()["published"]) == (1, published)


def test_an_import_tells_every_fault_with_pointers_into_its_body(director: Caller) -> None:
    body = {
        "stations": [{"name": "Veg"}],
        "recipes": [{"code": "a", "title": "A"}, 5],
        "sites": [{"code": "x", "name": "X"}, {"code": "x"}],
    }
    answer = director.post("/v1/imports", body)
    assert answer.status_code == 422
    assert faults(answer) >= {
        ("/stations/0/code", "required"),
        ("/recipes/0/station", "required"),
        ("/recipes/0/yield", "required"),
        ("/recipes/1", "wrong_type"),
        ("/sites/0/time_zone", "required"),
    }


def test_a_wrong_entry_of_a_push_refuses_itself_alone(stocked: Caller, document: dict[str, Any]) -> None:
    good = {"site": "mill-street", "date": "2026-12-05", "period": "lunch", "menu_item": "soup-bowl", "count": 3}
    entries: list[Any] = [
        good,
        {**good, "date": "2026-12-06", "count": "3"},
        5,
        None,
        {**good, "menu_item": "a\x00"},
        {**good, "till_code": "1042"},
        {**good, "site": "nowhere"},
        {**good, "hue": 1},
    ]
    answer = stocked.post("/v1/forecasts", {"source": "till-east", "as_of": "2026-12-02T07:01:00-05:00", "entries": entries})
    assert answer.status_code == 200
    result = answer.get_json()
    check(document, "/v1/forecasts", "post", 200, result)
    assert (result["stored"], [refused["index"] for refused in result["refused"]]) == (1, [1, 2, 3, 4, 5, 6, 7])
    found = {(fault["pointer"], fault["code"]) for refused in result["refused"] for fault in refused["errors"]}
    assert found >= {
        ("/entries/1/count", "wrong_type"),
        ("/entries/2", "wrong_type"),
        ("/entries/4/menu_item", "wrong_type"),
        ("/entries/6/site", "unknown_site"),
        ("/entries/7/hue", "unknown_field"),
    }


def test_a_push_from_the_future_or_with_too_many_entries_is_refused(stocked: Caller) -> None:
    ahead = stocked.post("/v1/forecasts", {"source": "till-east", "as_of": "2026-12-02T07:06:00-05:00", "entries": []})
    assert faults(ahead) == {("/as_of", "as_of_in_future")}
    many = stocked.post("/v1/forecasts", {"source": "till-east", "as_of": "2026-12-02T07:00:00-05:00", "entries": [1] * 10_001})
    assert faults(many) == {("/entries", "too_many")}


def test_an_override_can_be_read_put_back_and_deleted_and_changes_the_list_tag(stocked: Caller) -> None:
    path = "/v1/sites/mill-street/overrides/2026-12-03/lunch/soup-bowl"
    list_path = "/v1/sites/mill-street/prep-lists/2026-12-03"
    before = stocked.get(list_path).headers["ETag"]
    assert stocked.put(path, {"count": 5}).status_code == 201
    assert stocked.get(list_path, If_None_Match=before).status_code == 200
    got = stocked.get(path)
    again = stocked.send("PUT", path, raw=got.get_data(), headers={"If-Match": got.headers["ETag"]})
    assert (again.status_code, again.headers["ETag"]) == (200, got.headers["ETag"])
    assert faults(stocked.put(path, {"count": 5, "period": "dinner"}, If_Match="*")) == {("/period", "not_in_list")}
    assert stocked.delete(path, If_Match=got.headers["ETag"]).status_code == 204
    assert stocked.get(path).status_code == 404
    assert stocked.put(path.replace("lunch", "brunch"), {"count": 5}).status_code == 404


def test_a_repeated_count_leaves_the_lists_tag_alone(stocked: Caller) -> None:
    path = "/v1/sites/mill-street/prep-lists/2026-12-03"
    entry = {"site": "mill-street", "date": "2026-12-03", "period": "lunch", "menu_item": "soup-bowl", "count": 9}
    for minute, stored in (("07:00", 1), ("07:01", 0)):
        before = stocked.get(path).headers["ETag"]
        push = {"source": "till-west", "as_of": f"2026-12-02T{minute}:00-05:00", "entries": [entry]}
        assert stocked.post("/v1/forecasts", push).get_json()["stored"] == stored
        assert (stocked.get(path).headers["ETag"] == before) == (stored == 0)


def test_a_list_of_a_date_before_its_from_names_the_parameter(stocked: Caller) -> None:
    answer = stocked.get("/v1/sites/mill-street/prep-lists/2026-12-03?from=2026-12-04&station=nowhere")
    assert faults(answer) == {("from", "out_of_range"), ("station", "unknown_reference")}


def test_moments_of_a_site_have_its_offset_and_all_others_are_in_utc(stocked: Caller) -> None:
    listed = stocked.get("/v1/sites/mill-street/prep-lists/2026-12-02").get_json()
    task = next(task["id"] for station in listed["stations"] for task in station["tasks"])
    address = f"/v1/sites/mill-street/prep-lists/2026-12-02/tasks/{task}/progress"
    put = stocked.put(address, {"state": "doing", "at": "2026-12-02T11:30:00Z"})
    assert put.get_json()["at"] == stocked.get(address).get_json()["at"] == "2026-12-02T05:30:00-06:00"
    told = stocked.get("/v1/sites/mill-street/prep-lists/2026-12-02").get_json()["stations"]
    assert [row["progress"]["at"] for station in told for row in station["tasks"] if row["id"] == task] == ["2026-12-02T05:30:00-06:00"]
    assert stocked.get("/v1/recipes/lentil-soup/versions/1").get_json()["published_at"] == "2026-12-02T12:00:00Z"

"""Prints, changes and progress over the interface (api §5, P15); the kitchen is the one of ``tests/stockpot.py``."""

from collections.abc import Iterator
from typing import Any

import pytest
from openapi_schema_validator import OAS31Validator

from service.api.document.openapi import build
from service.app import NOUNS
from tests.api.caller import faults
from tests.stockpot import CATALOGUE, LIST, SITE, THU, TUE, UNCHANGED, WED, Stockpot, kilos, litres, long, pulls, tasks, work
from tests.strict import strict

STOCK = "make.stock.2026-12-02T1100"
PULL = "pull.onion.2026-12-01T2030"
PROGRESS = "/v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress"


@pytest.fixture
def kitchen(database_url: str) -> Iterator[Stockpot]:
    """The stockpot on Tuesday morning, with 24 bowls on Wednesday."""
    made = Stockpot(database_url)
    made.push(WED=24)
    yield made
    made.close()


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return strict(build(NOUNS))


def check(document: dict[str, Any], path: str, method: str, status: int, value: Any) -> None:
    schema = document["paths"][path][method]["responses"][str(status)]["content"]["application/json"]["schema"]
    OAS31Validator({**schema, "components": document["components"]}).validate(value)


class TestPrints:
    def test_a_print_is_the_list_with_its_number_and_a_place_of_its_own(self, kitchen: Stockpot, document: dict[str, Any]) -> None:
        listed = kitchen.list_of(TUE)
        assert listed["print"] is None
        for number in (1, 2):
            answer = kitchen.director.post(f"{LIST}/{TUE}/prints", None)
            assert (answer.status_code, answer.headers["Location"]) == (201, f"{LIST}/{TUE}/prints/{number}")
            assert answer.get_json() == {**listed, "print": number}
            check(document, "/v1/sites/{site}/prep-lists/{date}/prints", "post", 201, answer.get_json())
            found = kitchen.director.get(answer.headers["Location"])
            assert (found.status_code, found.get_data()) == (200, answer.get_data())
        # Printing changes nothing on the list itself.
        assert kitchen.list_of(TUE) == listed

    def test_another_date_has_numbers_of_its_own(self, kitchen: Stockpot) -> None:
        assert [kitchen.printed(on)["print"] for on in (TUE, TUE, WED, TUE)] == [1, 2, 1, 3]

    def test_a_print_stays_byte_for_byte_the_same(self, kitchen: Stockpot) -> None:
        kitchen.printed(TUE)
        address = f"{LIST}/{TUE}/prints/1"
        before = kitchen.director.get(address)
        kitchen.push(WED=64)
        draft = next(each for each in CATALOGUE["recipes"] if each["code"] == "stock")
        body = {name: value for name, value in draft.items() if name not in ("code", "publish_from")}
        known = kitchen.director.get("/v1/recipes/stock/draft")
        put = kitchen.director.put("/v1/recipes/stock/draft", {**body, "title": "Brown stock"}, If_Match=known.headers["ETag"])
        assert put.status_code == 200, put.get_json()
        assert kitchen.director.post("/v1/recipes/stock/versions", {"from": TUE}).status_code == 201
        kitchen.report(TUE, f"{STOCK}.1", made=litres(9))
        kitchen.count(f"{TUE} 07:00", {"item": {"ingredient": "onion"}, "quantity": kilos(1), "in": "kitchen"})
        kitchen.printed(TUE)
        kitchen.strike(f"{THU} 08:00")
        after = kitchen.director.get(address)
        assert (after.get_data(), after.headers["ETag"]) == (before.get_data(), before.headers["ETag"])
        assert kitchen.director.get(address, If_None_Match=before.headers["ETag"]).status_code == 304

    def test_a_print_is_planned_from_a_date_and_shown_in_units_that_the_query_names(self, kitchen: Stockpot) -> None:
        answer = kitchen.director.post(f"{LIST}/{WED}/prints?from={WED}&units=us", None)
        printed = answer.get_json()
        assert (answer.status_code, printed["from"], printed["units"]) == (201, WED, "us")
        assert tasks(printed)[f"{STOCK}.1"]["late"]
        assert faults(kitchen.director.post(f"{LIST}/{WED}/prints?from={THU}", None)) == {("from", "out_of_range")}
        assert faults(kitchen.director.post(f"{LIST}/{WED}/prints?units=stone", None)) == {("units", "not_in_list")}
        # What was refused took no number.
        assert kitchen.printed(WED)["print"] == 2

    def test_prints_are_listed_by_number_a_page_at_a_time(self, kitchen: Stockpot, document: dict[str, Any]) -> None:
        for hour in ("08:00", "09:00", "10:00"):
            kitchen.strike(f"{TUE} {hour}")
            kitchen.printed(TUE)
        first = kitchen.director.get(f"{LIST}/{TUE}/prints?limit=2").get_json()
        check(document, "/v1/sites/{site}/prep-lists/{date}/prints", "get", 200, first)
        assert first["items"][0] == {"print": 1, "date": TUE, "from": TUE, "units": "metric", "printed_at": f"{TUE}T08:00:00Z"}
        rest = kitchen.director.get(first["next"]).get_json()
        assert [row["print"] for row in first["items"] + rest["items"]] == [1, 2, 3]
        assert rest["next"] is None
        assert kitchen.director.get(f"{LIST}/{WED}/prints").get_json() == {"items": [], "next": None}
        assert faults(kitchen.director.get(f"{LIST}/{TUE}/prints?cursor=soup")) == {("cursor", "wrong_type")}

    @pytest.mark.parametrize(
        "address", [f"{LIST}/{TUE}/prints/2", f"{LIST}/{WED}/prints/1", f"{LIST}/{TUE}/prints/0", f"{LIST}/{TUE}/prints/x"]
    )
    def test_a_print_that_was_not_made_is_not_found(self, kitchen: Stockpot, address: str) -> None:
        kitchen.printed(TUE)
        assert kitchen.director.get(address).status_code == 404

    def test_prints_of_a_site_are_its_own(self, kitchen: Stockpot) -> None:
        kitchen.printed(TUE)
        cook = kitchen.somebody("kitchen", ["hill"])
        foreign, missing = (cook.get(f"/v1/sites/{site}/prep-lists/{TUE}/prints/1") for site in (SITE, "nowhere"))
        assert (foreign.status_code, missing.status_code) == (404, 404)
        # They read alike but for what the request itself names.
        told, unknown = (answer.get_json() | {"instance": None} for answer in (foreign, missing))
        assert told == unknown | {"detail": unknown["detail"].replace("nowhere", SITE)}
        assert kitchen.director.get(f"/v1/sites/hill/prep-lists/{TUE}/prints").get_json()["items"] == []
        assert kitchen.somebody("viewer", [SITE]).post(f"{LIST}/{TUE}/prints", None).status_code == 403


class TestChanges:
    def test_what_is_added_dropped_and_asked_otherwise_is_told_with_old_and_new(self, kitchen: Stockpot, document: dict[str, Any]) -> None:
        kitchen.printed(WED)
        assert kitchen.changes(WED) == UNCHANGED
        # 48 bowls are 12 L of soup, 9.6 L of stock, 1.2 kg of dice of 1.5 kg onions, and nothing is left of them.
        kitchen.push(WED=48, THU=4)
        found = kitchen.director.get(f"{LIST}/{WED}/changes?since=1").get_json()
        check(document, "/v1/sites/{site}/prep-lists/{date}/changes", "get", 200, found)
        assert found["since"] == 1
        assert kitchen.changes(WED) == {
            # Thursday's 1 L of soup is made as 10 L of 8 L of stock, begun on Wednesday evening.
            "added": ["make.stock.2026-12-03T1100.1"],
            "dropped": [],
            "changed": {
                "make.soup.2026-12-02T1200.1": ("10 L", "12 L"),
                f"{STOCK}.2": ("10 L", "10 L"),
                "prep.onion.dice.2026-12-02T1100.1": ("1 kg", "1.2 kg"),
                "pull.onion.2026-12-02T1100": ("1.25 kg", "3.5 kg"),
            },
        }
        soup = next(each for each in found["changed"] if each["id"] == long("make.soup.2026-12-02T1200.1"))
        assert (soup["old"]["need"]["display"], soup["new"]["need"]["display"]) == ("6 L", "12 L")
        assert soup["old"]["station"] == "hot"
        stock = next(each for each in found["changed"] if each["id"] == long(f"{STOCK}.2"))
        assert (stock["old"]["need"]["display"], stock["new"]["need"]["display"]) == ("8 L", "9.6 L")
        kitchen.push(WED=0, THU=0)
        assert kitchen.changes(WED) == {
            "added": [],
            "dropped": sorted(
                [f"{STOCK}.2", "make.soup.2026-12-02T1200.1", "prep.onion.dice.2026-12-02T1100.1", "pull.onion.2026-12-02T1100"]
            ),
            "changed": {},
        }

    def test_each_print_is_compared_by_itself(self, kitchen: Stockpot) -> None:
        kitchen.printed(WED)
        kitchen.push(WED=48)
        kitchen.printed(WED)
        assert kitchen.changes(WED, 2) == UNCHANGED
        assert kitchen.changes(WED, 1)["changed"]["make.soup.2026-12-02T1200.1"] == ("10 L", "12 L")

    def test_units_and_from_are_those_of_the_print_and_the_query(self, kitchen: Stockpot) -> None:
        assert kitchen.director.post(f"{LIST}/{WED}/prints?units=us", None).status_code == 201
        assert kitchen.changes(WED) == UNCHANGED
        # Planned from Wednesday on, Tuesday's stage and pull are late on Wednesday's list.
        late = kitchen.director.get(f"{LIST}/{WED}/changes?since=1&from={WED}").get_json()
        assert {each["id"] for each in late["added"]} == {long(f"{STOCK}.1"), long(PULL)}

    def test_progress_is_no_change(self, kitchen: Stockpot) -> None:
        for on in (TUE, WED):
            kitchen.printed(on)
        kitchen.report(TUE, f"{STOCK}.1", "doing")
        kitchen.report(TUE, PULL, "done")
        assert [kitchen.changes(on) for on in (TUE, WED)] == [UNCHANGED, UNCHANGED]
        kitchen.report(TUE, f"{STOCK}.1")
        kitchen.report(WED, f"{STOCK}.2")
        kitchen.report(WED, "prep.onion.dice.2026-12-02T1100.1")
        kitchen.report(WED, "make.soup.2026-12-02T1200.1")
        assert [kitchen.changes(on) for on in (TUE, WED)] == [UNCHANGED, UNCHANGED]

    def test_stock_made_too_little_adds_work(self, kitchen: Stockpot) -> None:
        kitchen.printed(TUE)
        kitchen.printed(WED)
        kitchen.report(WED, f"{STOCK}.2", made=litres(6))
        # 2 L of stock lack: another 10 L, of 2 kg of onions. The list asks for them; a report alone is no change of the print.
        assert work(kitchen.list_of(TUE))[f"{STOCK}-2.1"] == 10
        assert [kitchen.changes(on) for on in (TUE, WED)] == [UNCHANGED, UNCHANGED]

    def test_a_print_that_was_not_made_is_named(self, kitchen: Stockpot) -> None:
        kitchen.printed(TUE)
        for query, fault in (
            ("since=2", ("since", "unknown_reference")),
            ("since=0", ("since", "out_of_range")),
            ("since=one", ("since", "wrong_type")),
            ("", ("since", "required")),
            ("since=1&hue=red", ("hue", "unknown_field")),
        ):
            answer = kitchen.director.get(f"{LIST}/{TUE}/changes?{query}")
            assert (answer.status_code, faults(answer)) == (422, {fault}), query


class TestProgress:
    def test_a_report_is_recorded_and_shown(self, kitchen: Stockpot, document: dict[str, Any]) -> None:
        note = "One sack was soft.\nBoiled over."
        said = kitchen.report(
            TUE, f"{STOCK}.1", made=litres(9.5), drawn={"amount": "2 1/2", "unit": "kg"}, at=f"{TUE}T08:45:00+01:00", note=note
        )
        assert said == {
            "id": long(f"{STOCK}.1"),
            "date": TUE,
            "state": "done",
            "made": {"amount": 9500, "unit": "mL"},
            "begun": None,
            "drawn": {"amount": 2500, "unit": "g"},
            "at": f"{TUE}T07:45:00+00:00",
            "note": note,
        }
        check(document, PROGRESS, "put", 200, said)
        answer = kitchen.director.get(f"{LIST}/{TUE}/tasks/{long(f'{STOCK}.1')}/progress")
        assert (answer.status_code, answer.get_json()) == (200, said)
        progress = tasks(kitchen.list_of(TUE))[f"{STOCK}.1"]["progress"]
        assert (progress["state"], progress["made"]["display"], progress["drawn"]["display"]) == ("done", "9.5 L", "2.5 kg")
        assert (progress["at"], progress["note"]) == (f"{TUE}T07:45:00+00:00", note)
        check(document, "/v1/sites/{site}/prep-lists/{date}", "get", 200, kitchen.list_of(TUE))

    def test_of_two_tablets_the_one_that_has_not_seen_the_others_report_is_refused(self, kitchen: Stockpot) -> None:
        path = f"{LIST}/{TUE}/tasks/{long(STOCK)}.1/progress"
        put, get = kitchen.director.put, kitchen.director.get
        # Nothing was reported yet, so that there is no state to replace.
        for expected in ('"seen"', "*"):
            assert put(path, {"state": "doing"}, If_Match=expected).status_code == 412
        assert get(path).status_code == 404
        first = put(path, {"state": "doing", "note": "a"})
        seen = get(path).headers["ETag"]
        assert (first.status_code, first.headers["ETag"]) == (200, seen)
        assert get(path, If_None_Match=seen).status_code == 304
        second = put(path, {"state": "done", "made": {"amount": "1/3", "unit": "L"}, "note": "b"}, If_Match=seen)
        assert (second.status_code, second.headers["ETag"]) == (200, get(path).headers["ETag"])
        # What is wrong goes before what is stale; without If-Match the last word holds.
        assert put(path, {"state": "over"}, If_Match=seen).status_code == 422
        assert (put(path, {"state": "doing"}, If_Match=seen).status_code, get(path).get_json()["note"]) == (412, "b")
        assert (put(path, {"state": "doing", "note": "c"}).status_code, get(path).get_json()["note"]) == (200, "c")
        assert put(path, {"state": "done"}, If_Match="*").status_code == 200

    def test_without_a_moment_a_report_is_of_now(self, kitchen: Stockpot) -> None:
        kitchen.strike(f"{TUE} 20:45")
        said = kitchen.report(TUE, f"{STOCK}.1", "doing")
        assert (said["at"], said["made"], said["drawn"], said["note"]) == (f"{TUE}T20:45:00+00:00", None, None, "")

    def test_a_pull_is_reported_as_a_task_is(self, kitchen: Stockpot, document: dict[str, Any]) -> None:
        said = kitchen.report(TUE, PULL, made=kilos(2.5))
        assert said["made"] == {"amount": 2500, "unit": "g"}
        (pull,) = kitchen.list_of(TUE)["pulls"]
        assert (pull["id"], pull["progress"]["state"], pull["progress"]["made"]["display"]) == (long(PULL), "done", "2.5 kg")
        check(document, "/v1/sites/{site}/prep-lists/{date}", "get", 200, kitchen.list_of(TUE))
        # Half a kilo of it is left in the kitchen, and goes towards Wednesday's 1.25 kg.
        assert pulls(kitchen.list_of(WED)) == {"pull.onion.2026-12-02T1100": 0.75}

    def test_a_use_is_reported_as_a_task_is(self, kitchen: Stockpot) -> None:
        kitchen.count(f"{TUE} 07:00", {"item": {"recipe": "soup"}, "quantity": litres(2), "made_on": TUE})
        (use,) = [id_ for id_ in tasks(kitchen.list_of(WED)) if id_.startswith("use.soup")]
        kitchen.report(WED, use, made=litres(1.5))
        assert tasks(kitchen.list_of(WED))[use]["progress"]["made"]["display"] == "1.5 L"

    def test_open_takes_a_report_back(self, kitchen: Stockpot) -> None:
        before = kitchen.list_of(WED)
        kitchen.report(TUE, f"{STOCK}.1", made=litres(4))
        assert f"{STOCK}-2.2" in tasks(kitchen.list_of(WED))
        kitchen.report(TUE, f"{STOCK}.1", "open")
        assert kitchen.list_of(WED) == before
        assert tasks(kitchen.list_of(TUE))[f"{STOCK}.1"]["progress"]["state"] == "open"
        # What is reported anew is as it is listed now, not as it was then.
        kitchen.push(WED=60)
        kitchen.report(TUE, f"{STOCK}.1")
        assert tasks(kitchen.list_of(WED))[f"{STOCK}.2"]["need"]["display"] == "12 L"

    def test_a_report_fixes_the_run_as_printed_whatever_is_listed_since(self, kitchen: Stockpot) -> None:
        kitchen.printed(TUE)
        kitchen.push(WED=60)
        assert work(kitchen.list_of(TUE)) == {f"{STOCK}.1": 12}
        kitchen.report(TUE, f"{STOCK}.1", "doing")
        # The sheet said 10 L; the 2 L that lack of 12 L are another pot of 10 L.
        assert work(kitchen.list_of(TUE)) == {f"{STOCK}.1": 10, f"{STOCK}-2.1": 10}

    def test_a_task_of_an_older_print_can_still_be_reported(self, kitchen: Stockpot) -> None:
        kitchen.printed(TUE)
        kitchen.push(WED=0)
        assert work(kitchen.printed(TUE)) == {}
        kitchen.report(TUE, f"{STOCK}.1")
        assert work(kitchen.list_of(TUE)) == {f"{STOCK}.1": 10}

    def test_the_etag_of_the_list_tells_that_something_was_printed_or_reported(self, kitchen: Stockpot) -> None:
        tags = [kitchen.director.get(f"{LIST}/{WED}").headers["ETag"]]
        for state in ("doing", "done", "open"):
            kitchen.report(TUE, f"{STOCK}.1", state)
            tags.append(kitchen.director.get(f"{LIST}/{WED}").headers["ETag"])
        kitchen.printed(TUE)
        tags.append(kitchen.director.get(f"{LIST}/{WED}").headers["ETag"])
        assert len(set(tags)) == 5
        assert kitchen.director.get(f"{LIST}/{WED}", If_None_Match=tags[-1]).status_code == 304
        assert kitchen.director.get(f"{LIST}/{WED}", If_None_Match=tags[0]).status_code == 200

    @pytest.mark.parametrize(
        ("body", "fault"),
        [
            ({}, ("/state", "required")),
            ({"state": "finished"}, ("/state", "not_in_list")),
            ({"state": "done", "hue": 1}, ("/hue", "unknown_field")),
            ({"state": "done", "at": "yesterday"}, ("/at", "wrong_type")),
            ({"state": "done", "made": 9}, ("/made", "wrong_type")),
            ({"state": "done", "made": {"amount": -1, "unit": "L"}}, ("/made/amount", "out_of_range")),
            ({"state": "done", "made": {"amount": 9, "unit": "kg"}}, ("/made/unit", "missing_equivalent")),
            ({"state": "done", "made": {"amount": 9, "unit": "bunch"}}, ("/made/unit", "unknown_unit")),
            ({"state": "done", "drawn": {"amount": 2, "unit": "L"}}, ("/drawn/unit", "missing_equivalent")),
            ({"state": "done", "note": "x" * 2_001}, ("/note", "too_long")),
        ],
    )
    def test_a_report_that_cannot_be_is_refused_and_changes_nothing(self, kitchen: Stockpot, body: Any, fault: tuple[str, str]) -> None:
        before = kitchen.director.get(f"{LIST}/{TUE}").headers["ETag"]
        answer = kitchen.try_report(TUE, f"{STOCK}.1", body)
        assert (answer.status_code, faults(answer)) == (422, {fault})
        assert kitchen.director.get(f"{LIST}/{TUE}").headers["ETag"] == before

    def test_a_stage_that_draws_several_things_cannot_say_how_much_it_drew(self, kitchen: Stockpot) -> None:
        answer = kitchen.try_report(WED, "make.soup.2026-12-02T1200.1", {"state": "done", "drawn": kilos(1)})
        assert (answer.status_code, faults(answer)) == (422, {("/drawn", "rule_not_allowed")})
        # Nor one that draws nothing.
        assert faults(kitchen.try_report(WED, f"{STOCK}.2", {"state": "done", "drawn": kilos(1)})) == {("/drawn", "rule_not_allowed")}
        both = kitchen.try_report(WED, "make.soup.2026-12-02T1200.1", {"state": "done", "made": kilos(1), "drawn": kilos(1)})
        assert faults(both) == {("/drawn", "rule_not_allowed"), ("/made/unit", "missing_equivalent")}

    @pytest.mark.parametrize(
        ("on", "task"),
        [
            (TUE, "make.quay.stock.2026-12-02T1100.2"),  # It stands on Wednesday's list.
            (WED, "make.quay.stock.2026-12-02T1100.1"),
            (TUE, "make.quay.stock.2026-12-02T1100"),
            (TUE, "make.quay.stock.2026-12-02T1100.01"),
            (TUE, "make.quay.stock.2026-12-02T1100-2.1"),
            (TUE, "make.hill.stock.2026-12-02T1100.1"),
            (TUE, "prep.quay.stock.2026-12-02.1"),
            (TUE, "use.quay.stock.2026-12-02.none"),
            (TUE, "nonsense"),
            (TUE, "make.."),
            ("2026-13-01", "make.quay.stock.2026-12-02T1100.1"),
        ],
    )
    def test_a_task_that_the_list_does_not_have_is_not_found(self, kitchen: Stockpot, on: str, task: str) -> None:
        address = f"{LIST}/{on}/tasks/{task}/progress"
        assert kitchen.director.put(address, {"state": "done"}).status_code == 404
        assert kitchen.director.get(address).status_code == 404

    def test_a_task_that_nobody_reported_has_no_report(self, kitchen: Stockpot) -> None:
        assert kitchen.director.get(f"{LIST}/{TUE}/tasks/{long(f'{STOCK}.1')}/progress").status_code == 404

    def test_cooks_report_and_viewers_read(self, kitchen: Stockpot) -> None:
        address = f"{LIST}/{TUE}/tasks/{long(f'{STOCK}.1')}/progress"
        cook, viewer, stranger = (
            kitchen.somebody(role, sites) for role, sites in (("kitchen", [SITE]), ("viewer", [SITE]), ("kitchen", ["hill"]))
        )
        assert cook.put(address, {"state": "doing"}).status_code == 200
        assert viewer.put(address, {"state": "done"}).status_code == 403
        assert viewer.get(address).get_json()["state"] == "doing"
        assert (stranger.put(address, {"state": "done"}).status_code, stranger.get(address).status_code) == (404, 404)

    def test_another_sites_list_is_not_touched(self, kitchen: Stockpot) -> None:
        hill = f"/v1/sites/hill/prep-lists/{WED}"
        before = kitchen.director.get(hill).headers["ETag"]
        kitchen.printed(TUE)
        kitchen.report(TUE, f"{STOCK}.1")
        assert kitchen.director.get(hill).headers["ETag"] == before


class TestGone:
    """Work outlives what it was for."""

    def test_a_menu_item_that_is_sold_no_more_is_named_by_its_code(self, kitchen: Stockpot) -> None:
        """A till code's menu item may be deleted while work for it is fixed."""
        bowl = kitchen.director.get("/v1/menu-items/bowl")
        mug = {"name": "Mug", "components": bowl.get_json()["components"], "codes": [{"source": "till", "till_code": "77"}]}
        assert kitchen.director.put("/v1/menu-items/mug", mug).status_code == 201
        entry = {"site": SITE, "date": WED, "period": "lunch", "till_code": "77", "count": 8}
        pushed = kitchen.director.post("/v1/forecasts", {"source": "till", "as_of": kitchen.as_of(), "entries": [entry]})
        assert pushed.get_json()["stored"] == 1
        kitchen.report(TUE, f"{STOCK}.1")
        tag = kitchen.director.get("/v1/menu-items/mug").headers["ETag"]
        assert kitchen.director.delete("/v1/menu-items/mug", If_Match=tag).status_code == 204
        assert tasks(kitchen.list_of(TUE))[f"{STOCK}.1"]["for"] == ["Bowl of soup, lunch, Wed 2 Dec", "mug, lunch, Wed 2 Dec"]

    def test_an_ingredient_that_was_removed_leaves_its_reported_work_behind(self, kitchen: Stockpot) -> None:
        """Parsley is kept by a par alone; once that and the ingredient are gone, nothing can be said of it."""
        parsley = {"name": "Parsley", "kind": "mass", "forms": [{"code": "leaf", "name": "leaf", "station": "veg", "trim_yield": 0.5}]}
        assert kitchen.director.put("/v1/ingredients/parsley", parsley).status_code == 201
        address = f"/v1/sites/{SITE}"
        site = kitchen.director.get(address)
        par = {"item": {"ingredient": "parsley", "form": "leaf"}, "level": kilos(1), "weekdays": [2], "by": "09:00"}
        put = kitchen.director.put(address, {**site.get_json(), "pars": [par]}, If_Match=site.headers["ETag"])
        assert put.status_code == 200, put.get_json()
        kitchen.printed(TUE)
        kitchen.report(TUE, "prep.parsley.leaf.2026-12-01T0900.1")
        kitchen.report(TUE, "pull.parsley.2026-12-01T0900")
        assert kitchen.director.put(address, site.get_json(), If_Match=put.headers["ETag"]).status_code == 200
        tag = kitchen.director.get("/v1/ingredients/parsley").headers["ETag"]
        assert kitchen.director.delete("/v1/ingredients/parsley", If_Match=tag).status_code == 204
        assert work(kitchen.list_of(TUE)) == {f"{STOCK}.1": 10}
        # Without its par nothing asks for parsley, whatever was reported of it.
        assert kitchen.changes(TUE)["dropped"] == ["prep.parsley.leaf.2026-12-01T0900.1", "pull.parsley.2026-12-01T0900"]
        assert kitchen.try_report(TUE, "prep.parsley.leaf.2026-12-01T0900.1", {"state": "done"}).status_code == 404
        kitchen.strike(f"{WED} 05:00")
        assert set(work(kitchen.list_of(WED))) == {f"{STOCK}.2", "make.soup.2026-12-02T1200.1", "prep.onion.dice.2026-12-02T1100.1"}

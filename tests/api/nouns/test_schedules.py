"""A date's schedule over the interface: W1, twenty-two pans through one oven, worked out by hand (K12 to K17)."""

from datetime import datetime
from typing import Any

import pytest

from tests.api.caller import Caller, faults

ON = "2026-12-03"
LIST = f"/v1/sites/east/prep-lists/{ON}"
SCHEDULE = f"/v1/sites/east/schedules/{ON}"
OVEN: dict[str, Any] = {"equipment": "oven", "count": 1, "load": [{"amount": 8, "unit": "pan"}], "turn_round": "PT10M", "shared": False}
DAY: dict[str, Any] = {"name": "Day", "stations": ["hot-line"], "weekdays": [1, 2, 3, 4, 5], "from": "06:00", "until": "14:00", "cooks": 1}
PIE: dict[str, Any] = {
    "code": "pie",
    "title": "Pie",
    "station": "hot-line",
    "yield": {"amount": 1, "unit": "pan"},
    "equivalents": [{"a": {"amount": 1, "unit": "pan"}, "b": {"amount": 1, "unit": "each"}}],
    "keeps": "P1D",
    "hold": "PT2H",
    "batch": {"multiple": {"amount": 1, "unit": "pan"}},
    "lines": [{"item": {"ingredient": "dough"}, "quantity": {"amount": 1, "unit": "kg"}, "step": 1}],
    "steps": [{"text": "Bake.", "passive": "PT1H10M", "equipment": "oven"}, {"text": "Rest.", "passive": "PT20M"}],
    "publish_from": "2026-01-01",
}


def site(code: str, **fields: Any) -> dict[str, Any]:
    periods = [{"code": "lunch", "name": "Lunch", "ready_by": "12:15"}]
    return {"code": code, "name": code.title(), "time_zone": "America/New_York", "units": "metric", "periods": periods, **fields}


@pytest.fixture
def bakery(director: Caller) -> Caller:
    """Twenty-two pies are forecast at east, which has one oven and one cook, and at west, which states neither."""
    pans = [{"recipe": "pie", "quantity": {"amount": 1, "unit": "pan"}}]
    catalogue = {
        "stations": [{"code": "hot-line", "name": "Hot line"}],
        "equipment": [{"code": "oven", "name": "Deck oven"}],
        "ingredients": [{"code": "dough", "name": "Dough", "kind": "mass"}],
        "recipes": [PIE],
        "menu_items": [{"code": "pie", "name": "Pie", "components": pans}],
        "sites": [site("east", equipment=[OVEN], shifts=[DAY]), site("west")],
    }
    answer = director.post("/v1/imports", catalogue)
    assert answer.status_code == 200, answer.get_json()
    push(director, 22)
    return director


def push(director: Caller, count: int, as_of: str = "2026-12-02T06:00:00-05:00") -> None:
    entries = [{"site": code, "date": ON, "period": "lunch", "menu_item": "pie", "count": count} for code in ("east", "west")]
    assert director.post("/v1/forecasts", {"source": "till", "as_of": as_of, "entries": entries}).get_json()["stored"] == 2


def clock(moment: str) -> str:
    return datetime.fromisoformat(moment).strftime("%H:%M")


def task_of(caller: Caller, path: str = LIST) -> Any:
    (station,) = caller.get(path).get_json()["stations"]
    (task,) = [each for each in station["tasks"] if each["kind"] == "make"]
    return task


def test_a_list_leads_to_its_schedule(bakery: Caller) -> None:
    capacity = bakery.get(f"{LIST}?from={ON}").get_json()["capacity"]
    assert (capacity["fits"], capacity["schedule"]) == (True, f"{SCHEDULE}?from={ON}")
    found = bakery.get(capacity["schedule"])
    assert found.status_code == 200
    schedule = found.get_json()
    assert (schedule["fits"], schedule["from"], schedule["at"], schedule["print"]) == (True, ON, None, None)
    assert [(load["number"], clock(load["starts"]), clock(load["ready"]), load["held"]) for load in schedule["loads"]] == [
        (1, "08:05", "09:35", "PT2H40M"),
        (2, "09:25", "10:55", "PT1H20M"),
        (3, "10:45", "12:15", "PT0S"),
    ]
    assert schedule["helps"] == []


def test_a_site_that_states_neither_shifts_nor_equipment_has_no_schedule(bakery: Caller) -> None:
    """K1."""
    assert bakery.get(f"/v1/sites/west/schedules/{ON}").status_code == 404
    assert "capacity" not in bakery.get(f"/v1/sites/west/prep-lists/{ON}").get_json()
    assert bakery.get(f"/v1/sites/nowhere/schedules/{ON}").status_code == 404


def test_what_would_help_is_told_unless_it_is_not_wanted(bakery: Caller) -> None:
    """W6: planned from the date itself, since the evening before would do."""
    late = {"shifts": [{name: value for name, value in DAY.items() if name != "weekdays"} | {"from": "08:30"}]}
    assert bakery.put(f"/v1/sites/east/capacity/{ON}", late).status_code == 201
    schedule = bakery.get(f"{SCHEDULE}?from={ON}").get_json()
    assert (schedule["fits"], len(schedule["conflicts"])) == (False, 1)
    assert [(each["code"], each["left_out"]) for each in schedule["helps"]] == [
        ("begins_earlier", 0),
        ("needed_later", 0),
        ("one_more_machine", 0),
    ]
    assert "helps" not in bakery.get(f"{SCHEDULE}?from={ON}&helps=false").get_json()
    assert task_of(bakery, f"{LIST}?from={ON}")["fits"] is False


def test_nothing_begins_before_the_moment_that_is_given(bakery: Caller) -> None:
    at = "2026-12-03T08:30:00-05:00"
    schedule = bakery.get(f"{SCHEDULE}?at={at}").get_json()
    assert schedule["at"] == at
    assert {load["number"]: load["fits"] for load in schedule["loads"]} == {1: False, 2: True, 3: True}
    assert min(load["starts"] for load in schedule["loads"] if load["fits"]) >= at
    refused = bakery.get(f"{SCHEDULE}?at=2026-12-09T08:30:00-05:00")
    assert (refused.status_code, faults(refused)) == (422, {("at", "out_of_range")})


def test_a_schedule_is_a_page_and_a_calendar_too(bakery: Caller) -> None:
    page = bakery.get(SCHEDULE, Accept="text/html")
    assert page.headers["Content-Type"] == "text/html; charset=utf-8"
    assert page.text.count('class="stay"') == 3
    assert " style=" not in page.text
    calendar = bakery.get(SCHEDULE, Accept="text/calendar")
    assert calendar.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert calendar.text.count("BEGIN:VEVENT") == 3


def test_a_schedule_that_has_not_changed_is_not_sent_again(bakery: Caller) -> None:
    tag = bakery.get(SCHEDULE).headers["ETag"]
    assert bakery.get(SCHEDULE, If_None_Match=tag).status_code == 304
    assert bakery.put(f"/v1/sites/east/capacity/{ON}", {"shifts": []}).status_code == 201
    assert bakery.get(SCHEDULE, If_None_Match=tag).status_code == 200


def test_a_closing_day_leaves_everything_out(bakery: Caller) -> None:
    """K2, K3: nobody is there on the day, and the evening before there is."""
    assert bakery.put(f"/v1/sites/east/capacity/{ON}", {"shifts": []}).status_code == 201
    document = bakery.get(f"{LIST}?from={ON}").get_json()
    assert (document["capacity"]["fits"], document["capacity"]["cooks"]) == (False, [])


def test_a_print_freezes_the_schedule_and_tells_what_moved(bakery: Caller) -> None:
    """K17: a load that moved by a quarter of an hour or less is where it was."""
    printed = bakery.post(f"{LIST}/prints", None).get_json()
    assert [clock(load["starts"]) for load in printed["stations"][0]["tasks"][0]["loads"]] == ["08:05", "09:25", "10:45"]
    changes = f"{LIST}/changes?since=1"
    assert bakery.get(changes).get_json()["changed"] == []
    slower = site("east", equipment=[OVEN | {"turn_round": "PT15M"}], shifts=[DAY])
    assert bakery.put("/v1/sites/east", {name: value for name, value in slower.items() if name != "code"}, If_Match="*").status_code == 200
    assert clock(task_of(bakery)["start_by"]) == "07:55"
    assert bakery.get(changes).get_json()["changed"] == []
    slower["equipment"] = [OVEN | {"turn_round": "PT20M"}]
    assert bakery.put("/v1/sites/east", {name: value for name, value in slower.items() if name != "code"}, If_Match="*").status_code == 200
    assert [each["id"].split(".")[0] for each in bakery.get(changes).get_json()["changed"]] == ["make", "pull"]
    assert bakery.get(f"{LIST}/prints/1").get_json() == printed


def test_what_is_reported_stays_where_it_was_shown(bakery: Caller) -> None:
    """K17: done work takes nothing more; the list still shows it at the times that the cook read."""
    shown = task_of(bakery)
    done = bakery.put(f"{LIST}/tasks/{shown['id']}/progress", {"state": "done"})
    assert done.status_code == 200, done.get_json()
    after = task_of(bakery)
    assert (after["start_by"], after["ready_by"], after["progress"]["state"]) == (shown["start_by"], shown["ready_by"], "done")
    assert bakery.get(SCHEDULE).get_json()["loads"] == []


def test_the_sheet_begins_with_the_picture_and_the_table_ends_with_loads(bakery: Caller) -> None:
    page = bakery.get(LIST, Accept="text/html").text
    assert page.count('role="img"') == 2
    assert page.index('role="img"') < page.index("What is expected")
    rows = bakery.get(LIST, Accept="text/csv").text.splitlines()
    assert rows[0].endswith("load,load_starts,load_ready,load_equipment,load_cook,load_held,load_slack")
    assert sum(",load," in row for row in rows[1:]) == 3

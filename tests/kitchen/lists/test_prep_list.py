"""The prep list: rules P7, P9, H3 and T8 on what stands on a date's list, and in which order."""

from datetime import date, time, timedelta
from fractions import Fraction

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists.listed import listed_on
from service.kitchen.lists.prep_list import Asked, prep_list
from service.kitchen.planning.guests import Event, Override, OverrideKey
from service.kitchen.safety.cautions import ALLERGEN_CAUTION, SAFETY_CAUTION
from tests.kitchen.larder import (
    MON,
    THU,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    kitchen,
    line,
    menu_item,
    near,
    only_site,
    recipe,
    safety,
    site,
    step,
)
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, tasks_of

ONION = ingredient("onion", form("dice", "0.88", keeps="P1D"))


def bread(station_map: dict[str, str] | None = None) -> Catalogue:
    """Bread that rests 20 h: mixed on the day before, baked in the hour before it is ready."""
    return kitchen(
        ingredient("flour", contains=["wheat"]),
        recipe("bread", "10 each", line("flour", "6 kg", 1), steps=[step("PT30M", "PT20H"), step("PT10M", "PT50M", "bakery")]),
        menu_item("loaf", ("bread", "1 each")),
        site(station_map=station_map or {}),
    )


def test_p7_a_stage_stands_on_the_list_of_its_business_date() -> None:
    # Ready at 12:00 of Thursday: baked from 11:00, mixed at 14:30 of Wednesday.
    catalogue = bread()
    planned = plan_forecasts(catalogue, [forecast(THU, "loaf", 10)], on=THU)
    found = {on: [task["stage"] for task in tasks_of(list_of(planned, catalogue, on))] for on in (TUE, WED, THU)}
    assert found == {TUE: [], WED: [{"number": 1, "of": 2}], THU: [{"number": 2, "of": 2}]}


def test_p7_a_task_stands_at_its_station_through_the_sites_station_map() -> None:
    catalogue = bread(station_map={"bakery": "cold-line"})
    planned = plan_forecasts(catalogue, [forecast(WED, "loaf", 10)], on=WED)
    assert [station["code"] for station in list_of(planned, catalogue, TUE)["stations"]] == ["hot-line"]
    assert [station["code"] for station in list_of(planned, catalogue, WED)["stations"]] == ["cold-line"]


def test_t8_stations_are_told_apart_before_the_station_map() -> None:
    # Both steps end at one station of the site; they stay two stages all the same.
    catalogue = kitchen(
        recipe("bread", "10 each", steps=[step("PT30M"), step("PT10M", station="bakery")]),
        menu_item("loaf", ("bread", "1 each")),
        site(station_map={"bakery": "hot-line"}),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10)])
    (station,) = list_of(planned, catalogue)["stations"]
    assert [task["stage"]["number"] for task in station["tasks"]] == [1, 2]


def test_p7_work_before_the_first_date_stands_on_its_list_late_with_what_it_puts_at_risk() -> None:
    # For Tuesday noon the dough is mixed at 14:30 of Monday; the plan begins on Tuesday.
    catalogue = bread()
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10), forecast(TUE, "loaf", 5, event=Event("banquet-12"))])
    mix, bake = tasks_of(list_of(planned, catalogue))
    assert (mix["stage"]["number"], mix["late"]) == (1, True)
    assert mix["at_risk"] == [
        {"menu_item": "loaf", "date": "2026-12-01", "period": "lunch", "event": None, "portions": 10},
        {"menu_item": "loaf", "date": "2026-12-01", "period": "lunch", "event": "banquet-12", "portions": 5},
    ]
    # Its moments stay as they are; only its list became Tuesday's.
    assert mix["start_by"] == "2026-11-30T14:30:00-05:00"
    assert mix["steps"][0]["starts"] == "2026-11-30T14:30:00-05:00"
    assert (bake["late"], bake["at_risk"]) == (False, [])
    assert [warning["code"] for warning in list_of(planned, catalogue)["warnings"]] == ["late"]


def test_p7_late_work_of_something_drawn_names_the_menu_items_that_hang_on_it() -> None:
    # The poolish is needed at 14:30 of Monday, when the dough is mixed, and takes 12 h before.
    catalogue = kitchen(
        recipe("poolish", "5 kg", steps=[step("PT10M", "PT11H50M")]),
        recipe("bread", "10 each", line("recipe poolish", "2 kg"), steps=[step("PT30M", "PT21H")]),
        menu_item("loaf", ("bread", "1 each", "0.4")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10)])
    poolish = next(task for task in tasks_of(list_of(planned, catalogue)) if task["item"]["recipe"] == "poolish")
    assert poolish["late"]
    # Four loaves for ten guests, of whom 40 % get one: four portions.
    assert [row["portions"] for row in poolish["at_risk"]] == [4]


def test_p7_what_lots_supply_for_late_work_stands_on_the_first_list_too() -> None:
    catalogue = kitchen(
        recipe("poolish", "5 kg", keeps="P3D"),
        recipe("bread", "10 each", line("recipe poolish", "2 kg"), steps=[step("PT30M", "PT21H")]),
        menu_item("loaf", ("bread", "1 each")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10)], [counted("recipe poolish", "5 kg", at(TUE, "05:00"), MON)])
    (use,) = tasks_of(list_of(planned, catalogue), "use")
    assert (use["late"], use["start_by"]) == (True, "2026-11-30T14:30:00-05:00")
    assert use["id"].startswith("use.mill-street.poolish.2026-11-30T1430.")


def test_p7_and_p11_of_a_draw_that_lots_meet_in_part_as_many_portions_hang_on_them_and_on_the_work_for_the_rest() -> None:
    # Of the 2 kg of poolish for ten loaves, half a kilo is there: two and a half of the loaves, seven and a half of what is to be made.
    catalogue = kitchen(
        recipe("poolish", "5 kg", keeps="P3D"),
        recipe("bread", "10 each", line("recipe poolish", "2 kg"), steps=[step("PT30M", "PT21H")]),
        menu_item("loaf", ("bread", "1 each")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10)], [counted("recipe poolish", "500 g", at(TUE, "05:00"), MON)])
    late = {task["kind"]: task for task in tasks_of(list_of(planned, catalogue)) if task["item"]["recipe"] == "poolish"}
    assert {kind: task["quantity"]["amount"] for kind, task in late.items()} == {"use": 500, "make": near(1500)}
    assert {kind: [risk["portions"] for risk in task["at_risk"]] for kind, task in late.items()} == {"use": [3], "make": [8]}


@pytest.mark.parametrize(("on", "listed"), [(MON, TUE), (TUE, TUE), (WED, WED)])
def test_p7_only_dates_before_the_first_are_moved(on: date, listed: date) -> None:
    assert listed_on(on, TUE) == listed


def sauces(*, keeps: str = "P3D") -> Catalogue:
    return kitchen(
        recipe("sauce", "10 L", keeps=keeps, station="cold-line"),
        recipe("stew", "10 kg", line("recipe sauce", "1 L"), steps=[step("PT2H")]),
        menu_item("glass", ("sauce", "100 mL")),
        menu_item("plate", ("stew", "200 g")),
    )


def test_p9_what_lots_supply_is_one_use_task_per_item_date_and_use_by() -> None:
    catalogue = sauces()
    stock = [
        counted("recipe sauce", "1 L", at(MON, "22:00"), MON - timedelta(days=1)),
        counted("recipe sauce", "1 L", at(MON, "22:00"), MON - timedelta(days=1)),
        counted("recipe sauce", "10 L", at(MON, "22:00"), MON),
    ]
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 15), forecast(TUE, "plate", 50), forecast(WED, "glass", 20)], stock, on=WED)
    # On Tuesday 1 L goes to the stew at 10:00 and 1.5 L to the glasses of 12:00: 2 L of the lots that expire first, 0.5 L of the other.
    tuesday = tasks_of(list_of(planned, catalogue, TUE), "use")
    assert [(task["quantity"]["amount"], task["start_by"][11:16]) for task in tuesday] == [(2000, "10:00"), (near(500), "12:00")]
    assert [task["use_by"] for task in tuesday] == ["2026-12-03T04:00:00-05:00", "2026-12-04T04:00:00-05:00"]
    (wednesday,) = tasks_of(list_of(planned, catalogue, WED), "use")
    assert wednesday["quantity"]["amount"] == 2000
    assert len({task["id"] for task in [*tuesday, wednesday]}) == 3


def test_p9_a_use_task_stands_at_the_items_station() -> None:
    catalogue = sauces()
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 15)], [counted("recipe sauce", "5 L", at(TUE, "05:00"))])
    assert [station["code"] for station in list_of(planned, catalogue)["stations"]] == ["cold-line"]


def test_p9_a_use_task_of_a_form_stands_at_the_forms_station() -> None:
    catalogue = kitchen(
        ingredient("cod", form("fillet", station="butchery", keeps="P2D")),
        recipe("stew", "10 kg", line("cod/fillet", "5 kg")),
        menu_item("plate", ("stew", "100 g")),
        site(station_map={"butchery": "cold-line"}),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "plate", 10)], [counted("cod/fillet", "5 kg", at(TUE, "05:00"))])
    found = {station["code"]: [task["kind"] for task in station["tasks"]] for station in list_of(planned, catalogue)["stations"]}
    assert found == {"hot-line": ["make"], "cold-line": ["use"]}


def test_p9_raw_ingredients_have_no_use_task() -> None:
    catalogue = kitchen(ONION, recipe("soup", "20 L", line("onion", "2 kg")), menu_item("bowl", ("soup", "1 L")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 20)], [counted("onion", "50 kg", at(TUE, "05:00"))])
    document = list_of(planned, catalogue)
    assert [task["kind"] for task in tasks_of(document)] == ["make"]
    assert document["pulls"] == []


def test_p9_a_make_task_tells_need_have_quantity_and_surplus() -> None:
    # 2.4 L wanted, 1 L on hand, made in whole litres: 2 L for 1.4 L.
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": "1 L"}, keeps="P1D"), menu_item("glass", ("sauce", "100 mL")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 24)], [counted("recipe sauce", "1 L", at(TUE, "05:00"))])
    (make,) = tasks_of(list_of(planned, catalogue), "make")
    assert [make[key]["display"] for key in ("need", "have", "quantity", "surplus")] == ["2.4 L", "1 L", "2 L", "600 mL"]


def test_late_tasks_come_first_then_those_that_start_first_then_by_item() -> None:
    catalogue = kitchen(
        *(recipe(code, "1 kg", steps=[step(lead)]) for code, lead in (("b", "PT2H"), ("a", "PT2H"), ("c", "PT3H"), ("z", "P1D"))),
        menu_item("plate", *((code, "100 g") for code in "abcz")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "plate", 10)])
    assert [(task["item"]["recipe"], task["late"]) for task in tasks_of(list_of(planned, catalogue))] == [
        ("z", True),
        ("c", False),
        ("a", False),
        ("b", False),
    ]


def test_stations_stand_in_order_of_position_with_their_hands_on_time() -> None:
    catalogue = kitchen(
        ingredient("onion", form("dice", active={"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"})),
        recipe("salad", "1 kg", line("onion/dice", "1 kg"), steps=[step("PT20M")], station="cold-line"),
        recipe("soup", "1 kg", line("onion/dice", "1 kg"), steps=[step("PT30M"), step("PT15M")], station="hot-line"),
        menu_item("plate", ("salad", "100 g"), ("soup", "100 g")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "plate", 20)])
    # Four kilos of dice: 5 + 4 × 6 = 29 min, in one run ready at the first need.
    assert [(station["code"], station["active"]) for station in list_of(planned, catalogue)["stations"]] == [
        ("veg", "PT29M"),
        ("hot-line", "PT45M"),
        ("cold-line", "PT20M"),
    ]


def test_one_station_may_be_asked_for_and_the_rest_of_the_list_stays() -> None:
    catalogue = bread()
    planned = plan_forecasts(catalogue, [forecast(WED, "loaf", 10)], on=WED)
    document = prep_list(planned, catalogue, only_site(catalogue), Asked(on=WED, system="metric", station="veg"))
    assert document["stations"] == []
    assert document["cautions"] == list_of(planned, catalogue, WED)["cautions"] == [ALLERGEN_CAUTION, SAFETY_CAUTION]


def test_a_date_without_a_forecast_says_so() -> None:
    catalogue = bread()
    planned = plan_forecasts(catalogue, [forecast(THU, "loaf", 10)], on=THU)
    assert [warning["code"] for warning in list_of(planned, catalogue, WED)["warnings"]] == ["no_forecast"]
    assert list_of(planned, catalogue, THU)["warnings"] == []


def test_a_warning_stands_on_the_list_of_the_date_that_it_concerns() -> None:
    catalogue = bread()
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10), forecast(WED, "loaf", 5, "brunch"), forecast(WED, "loaf", 10)], on=WED)
    assert "unknown_period" not in [warning["code"] for warning in list_of(planned, catalogue, TUE)["warnings"]]
    assert "unknown_period" in [warning["code"] for warning in list_of(planned, catalogue, WED)["warnings"]]


@pytest.mark.parametrize(
    ("contains", "guard", "expected"),
    [
        ([], None, []),
        (["milk"], None, [ALLERGEN_CAUTION, SAFETY_CAUTION]),
        ([], safety("cook", "plant"), [SAFETY_CAUTION]),
        (["milk"], safety("cook", "plant"), [ALLERGEN_CAUTION, SAFETY_CAUTION]),
    ],
)
def test_h3_every_list_with_a_safety_step_or_an_allergen_says_to_follow_the_local_code_and_the_sites_plan(
    contains: list[str], guard: Document | None, expected: list[str]
) -> None:
    catalogue = kitchen(
        ingredient("cream", contains=contains),
        recipe("soup", "20 L", line("cream", "1 kg"), steps=[step("PT10M", safety=guard)]),
        menu_item("bowl", ("soup", "1 L")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 4)])
    found = list_of(planned, catalogue)["cautions"]
    assert found == expected
    if expected:
        assert "local food code" in found[-1]
        assert "licensed food-safety plan" in found[-1]


def test_h3_an_allergen_that_is_only_possible_is_warned_of_too() -> None:
    catalogue = kitchen(
        ingredient("oats", may_contain=["wheat"]), recipe("soup", "20 L", line("oats", "1 kg")), menu_item("bowl", ("soup", "1 L"))
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 4)])
    assert list_of(planned, catalogue)["cautions"] == [ALLERGEN_CAUTION, SAFETY_CAUTION]


def test_the_list_names_its_site_date_and_first_date() -> None:
    catalogue = bread()
    document = list_of(plan_forecasts(catalogue, [], on=WED), catalogue, WED, system="us")
    assert [document[key] for key in ("site", "date", "from", "units", "print")] == ["mill-street", "2026-12-02", "2026-12-01", "us", None]


def test_p1_a_list_tells_what_is_expected_on_its_date_in_order_of_time() -> None:
    catalogue = kitchen(recipe("soup", "1 L"), menu_item("bowl", ("soup", "1 L")), menu_item("cup", ("soup", "1 L")), site(buffer="0.05"))
    dinner = Event("banquet-12", serve_at=time(11), buffer=Fraction(0))
    forecasts = [
        forecast(TUE, "bowl", 80),
        forecast(TUE, "bowl", 13, source="desk"),
        forecast(TUE, "bowl", 7, event=dinner),
        forecast(TUE, "cup", 4),
        forecast(WED, "cup", 9),
    ]
    overrides: dict[OverrideKey, Override] = {(TUE, "lunch", "cup", None): Override(count=6)}
    planned = plan_forecasts(catalogue, forecasts, overrides=overrides)
    rows = list_of(planned, catalogue)["expected"]
    # 93 bowls and 5 % are 97.65; the chef's word on cups holds without a buffer; Wednesday's cups are no matter of Tuesday.
    assert [(row["menu_item"], row["event"], row["at"][11:16], row["count"], row["from"], row["sources"]) for row in rows] == [
        ("bowl", "banquet-12", "11:00", 7, "forecast", ["till"]),
        ("bowl", None, "12:00", near(97.65), "forecast", ["desk", "till"]),
        ("cup", None, "12:00", 6, "override", ["till"]),
    ]


def test_p1_what_a_chef_adds_is_the_sites_word_on_the_count_without_event() -> None:
    catalogue = kitchen(recipe("soup", "1 L"), menu_item("bowl", ("soup", "1 L")), site())
    forecasts = [forecast(TUE, "bowl", 80), forecast(TUE, "bowl", 7, event=Event("banquet-12"))]
    planned = plan_forecasts(catalogue, forecasts, overrides={(TUE, "lunch", "bowl", None): Override(add=25)})
    rows = list_of(planned, catalogue)["expected"]
    assert [(row["event"], row["count"], row["from"]) for row in rows] == [(None, 105, "override"), ("banquet-12", 7, "forecast")]


def test_p13_a_pull_names_the_stations_that_take_it_through_the_sites_map() -> None:
    # Flour goes into the dough at the hot line; salt into it too, and once more at the bakery, which the cold line is here.
    catalogue = kitchen(
        ingredient("flour"),
        ingredient("salt"),
        recipe(
            "bread",
            "10 each",
            line("flour", "6 kg", 1),
            line("salt", "90 g", 1),
            line("salt", "10 g", 2),
            steps=[step("PT30M"), step("PT10M", station="bakery")],
        ),
        menu_item("loaf", ("bread", "1 each")),
        site(station_map={"bakery": "cold-line"}),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "loaf", 10)])
    pulls = {pull["item"]["ingredient"]: pull["stations"] for pull in list_of(planned, catalogue)["pulls"]}
    assert pulls == {"flour": ["hot-line"], "salt": ["hot-line", "cold-line"]}

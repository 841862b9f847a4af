"""Tasks: rules P8 and T8 on one stage of a run, T1 on its steps, D3 on its totals, and ids that stay."""

from datetime import date, timedelta

import pytest

from service.kitchen.book.catalogue import Catalogue
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
    site,
    step,
    with_things,
)
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, tasks_of

BOWL = menu_item("bowl", ("soup", "1 L"))
SOUP = recipe(
    "soup",
    "20 L",
    line("onion/dice", "2 kg", 1),
    line("cumin", "40 g", 1, {"rule": "power", "exponent": "0.585"}),
    line("lentil", "4 kg", 2),
    line("salt", "13.37 g", 2, critical=True),
    batch={"largest": "30 L"},
    steps=[
        step("PT15M", text="Sweat the onion.", why="Browning would sweeten the soup."),
        step("PT10M", {"min": "PT50M", "target": "PT1H", "max": "PT90M"}, text="Simmer."),
    ],
)


def soups() -> Catalogue:
    """The soup of 20 L in batches of at most 30 L."""
    return kitchen(
        ingredient("onion", form("dice", "0.88", keeps="P1D"), name="Yellow onion"),
        *map(ingredient, ("cumin", "lentil", "salt")),
        SOUP,
        BOWL,
    )


def task_of(catalogue: Catalogue, kind: str = "make", bowls: int = 70) -> Document:
    """The only task of a kind for some bowls on Tuesday."""
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", bowls)])
    (task,) = tasks_of(list_of(planned, catalogue), kind)
    return task


def test_p8_a_stage_of_a_run_is_one_task_with_its_version_and_stage() -> None:
    task = task_of(soups())
    assert task["item"] == {"recipe": "soup", "title": "Soup"}
    assert (task["kind"], task["version"], task["stage"]) == ("make", 1, {"number": 1, "of": 1})
    assert (task["start_by"], task["ready_by"]) == ("2026-12-01T10:35:00-05:00", "2026-12-01T12:00:00-05:00")
    assert (task["use_by"], task["use_by_date"]) == ("2026-12-02T04:00:00-05:00", "2026-12-01")
    assert task["for"] == ["Bowl, lunch"]


def test_s2_a_batch_card_says_what_to_weigh_for_each_batch_and_identical_batches_once() -> None:
    (card,) = task_of(soups())["batches"]
    # 70 L in three batches of 23.3333 L, f = 1.166667.
    assert (card["count"], card["factor"]) == (3, near(7 / 6))
    assert card["quantity"]["amount"] == near(70_000 / 3)
    amounts = {each["item"]["ingredient"]: each["quantity"]["amount"] for each in card["lines"]}
    assert amounts["lentil"] == near(4000 * 7 / 6)
    assert amounts["onion"] == near(2000 * 7 / 6)
    # 40 g × 1.166667^0.585 = 43.7748 g.
    assert amounts["cumin"] == pytest.approx(43.7748, rel=1e-6)
    assert [each["step"] for each in card["lines"]] == [1, 1, 2, 2]


def test_d3_a_critical_line_is_shown_to_a_tenth_of_a_gram_and_others_by_kitchen_steps() -> None:
    (card,) = task_of(soups())["batches"]
    shown = {each["item"]["ingredient"]: each["quantity"]["display"] for each in card["lines"]}
    # Salt 13.37 × 7/6 = 15.598 g, cumin 43.77 g, lentil 4.6667 kg, onion 2.3333 kg.
    assert shown == {"salt": "15.6 g", "cumin": "44 g", "lentil": "4.65 kg", "onion": "2.35 kg"}


def test_d3_a_tasks_draw_is_shown_as_the_sum_of_its_batches_as_displayed() -> None:
    draw = {each["item"]["ingredient"]: each["quantity"] for each in task_of(soups())["draw"]}
    # Three batches of 4.65 kg as displayed are 13.95 kg; exactly it is 14 kg.
    assert draw["lentil"]["amount"] == near(14_000)
    assert draw["lentil"]["display"] == "13.95 kg"
    assert draw["salt"]["display"] == "46.8 g"
    assert draw["cumin"]["display"] == "132 g"


def test_d3_the_quantity_of_a_task_is_shown_as_the_sum_of_its_batches() -> None:
    task = task_of(soups())
    # 23.3333 L is shown as 23.3 L; three of them are 69.9 L.
    assert task["quantity"]["amount"] == near(70_000)
    assert task["quantity"]["display"] == "69.9 L"


def test_d3_what_is_as_much_as_a_tasks_quantity_reads_like_it() -> None:
    task = task_of(soups())
    # 70 L alone would read "70 L".
    assert (task["need"]["amount"], task["need"]["display"]) == (near(70_000), "69.9 L")
    assert (task["have"]["display"], task["surplus"]["display"]) == ("0", "0")
    in_full = with_things(soups(), recipe("soup", "20 L", batch={"multiple": "5 L"}))
    task = task_of(in_full, bowls=71)
    assert [task[name]["display"] for name in ("need", "quantity", "surplus")] == ["71 L", "75 L", "4 L"]


def test_d3_an_ingredient_that_comes_in_pieces_is_told_in_pieces_too() -> None:
    catalogue = kitchen(
        ingredient("egg", form("beaten", "0.9"), piece="50 g"),
        ingredient("flour"),
        recipe("soup", "1 L", line("egg", "120 g"), line("egg/beaten", "90 g"), line("flour", "1 kg")),
        BOWL,
    )
    egg, beaten, flour = task_of(catalogue, bowls=10)["batches"][0]["lines"]
    # 1.2 kg are 24 eggs. Beaten they are no pieces, but what is taken for them is: 1 kg, 20 eggs.
    assert egg["quantity"]["display"] == "1.2 kg, 24 each"
    assert (beaten["quantity"]["display"], flour["quantity"]["display"]) == ("900 g", "10 kg")
    prep = task_of(catalogue, "prep", bowls=10)
    assert (prep["quantity"]["display"], prep["draw"][0]["quantity"]["display"]) == ("900 g", "1 kg, 20 each")
    assert task_of(catalogue, bowls=10)["draw"][0]["quantity"]["display"] == "1.2 kg, 24 each"


def test_d3_a_line_in_pieces_is_told_in_pieces_alone() -> None:
    catalogue = kitchen(ingredient("egg", piece="50 g"), recipe("soup", "1 L", line("egg", "2 each")), BOWL)
    task = task_of(catalogue, bowls=10)
    assert task["batches"][0]["lines"][0]["quantity"]["display"] == "20 each"
    assert task["draw"][0]["quantity"]["display"] == "1 kg, 20 each"


def test_u4_amounts_are_told_with_nine_decimals_at_most() -> None:
    # 70 L take 7 kg of dice, 7954.5454… g of onion.
    (draw,) = task_of(soups(), "prep")["draw"]
    assert repr(draw["quantity"]["amount"]) == "7954.545454545"
    # 10 bowls of 1 L of a recipe of 3 L.
    catalogue = kitchen(ingredient("water"), recipe("soup", "3 L", line("water", "3 kg")), BOWL)
    assert repr(task_of(catalogue, bowls=10)["batches"][0]["factor"]) == "3.333333333"


def test_p8_a_draw_stands_once_however_many_lines_call_it() -> None:
    catalogue = kitchen(
        ingredient("salt"), recipe("soup", "1 L", line("salt", "3 g", 1), line("salt", "4 g", 2), steps=[step(), step()]), BOWL
    )
    ((salt,),) = [task_of(catalogue, bowls=2)["draw"]]
    assert salt["quantity"]["amount"] == near(14)


def test_t8_lines_and_draws_stand_on_the_stage_of_their_step() -> None:
    catalogue = kitchen(
        *map(ingredient, ("flour", "salt", "seed", "water")),
        recipe(
            "soup",
            "1 L",
            line("flour", "1 kg", 1),
            line("seed", "10 g", 2),
            line("water", "600 g"),
            steps=[step("PT30M"), step("PT10M", station="bakery")],
            gives={"salt": "1 g"},
        ),
        BOWL,
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 2)])
    mix, bake = tasks_of(list_of(planned, catalogue))

    def codes(rows: list[Document]) -> list[str]:
        return [row["item"]["ingredient"] for row in rows]

    assert (codes(mix["draw"]), codes(bake["draw"])) == (["flour", "water"], ["seed"])
    assert (codes(mix["batches"][0]["lines"]), codes(bake["batches"][0]["lines"])) == (["flour", "water"], ["seed"])
    assert ([each["number"] for each in mix["steps"]], [each["number"] for each in bake["steps"]]) == ([1], [2])
    # What cooking gives besides comes with the last stage.
    assert (codes(mix["gives"]), codes(bake["gives"])) == ([], ["salt"])
    assert (mix["active"], bake["active"]) == ("PT30M", "PT10M")
    assert (mix["ready_by"][11:16], bake["start_by"][11:16], bake["ready_by"][11:16]) == ("11:50", "11:50", "12:00")


def test_t1_a_step_shows_its_window_as_clock_times() -> None:
    sweat, simmer = task_of(soups())["steps"]
    assert (sweat["number"], sweat["text"], sweat["why"]) == (1, "Sweat the onion.", "Browning would sweeten the soup.")
    assert (sweat["starts"], sweat["window"]) == ("2026-12-01T10:35:00-05:00", None)
    # Started at 10:50 and stirred for ten minutes, it simmers from 11:00: at the earliest until 11:50, at the latest until 12:30.
    assert (simmer["starts"], simmer["active"], simmer["passive"]) == ("2026-12-01T10:50:00-05:00", "PT10M", "PT1H")
    assert simmer["window"] == {
        "min": "2026-12-01T11:50:00-05:00",
        "target": "2026-12-01T12:00:00-05:00",
        "max": "2026-12-01T12:30:00-05:00",
    }


def test_d2_what_an_oven_is_set_to_is_told_in_the_degrees_of_the_site() -> None:
    oven = [step("PT5M"), step("PT5M", "PT1H", set_to={"amount": 350, "unit": "degF"})]
    catalogue = kitchen(recipe("soup", "1 L", steps=oven), BOWL)
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 2)])
    (us,) = tasks_of(list_of(planned, catalogue, system="us"))
    (metric,) = tasks_of(list_of(planned, catalogue))
    assert [each["set_to"] for each in us["steps"]] == [None, {"amount": 350, "unit": "degF", "display": "350 °F"}]
    assert [each["set_to"] for each in metric["steps"]] == [None, {"amount": 177, "unit": "degC", "display": "177 °C"}]


def test_y1_a_prep_task_tells_ep_and_draws_ap() -> None:
    # 70 L take 7 kg of dice: 7 ÷ 0.88 = 7.9545 kg of onion.
    task = task_of(soups(), "prep")
    assert task["item"] == {"ingredient": "onion", "form": "dice", "title": "Yellow onion, dice"}
    assert (task["version"], task["quantity"]["amount"]) == (None, near(7000))
    assert [(each["item"]["title"], each["quantity"]["amount"]) for each in task["draw"]] == [("Yellow onion", near(7000 / 0.88))]
    assert "batches" not in task


def test_y2_a_prep_task_tells_what_trimming_gives() -> None:
    catalogue = with_things(soups(), ingredient("onion", form("dice", "0.88", gives={"trim": "0.08"})), ingredient("trim"))
    (given,) = task_of(catalogue, "prep")["gives"]
    assert (given["item"]["ingredient"], given["quantity"]["amount"]) == ("trim", near(7000 / 0.88 * 0.08))


def test_p8_two_recipes_that_need_one_form_share_one_task() -> None:
    catalogue = with_things(
        soups(), recipe("stew", "10 kg", line("onion/dice", "4.2 kg")), menu_item("plate", ("stew", "1 kg")), only_site(soups())
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 100), forecast(TUE, "plate", 10)])
    (prep,) = tasks_of(list_of(planned, catalogue), "prep")
    assert prep["item"]["title"] == "Yellow onion, dice"
    assert prep["quantity"]["display"] == "14.2 kg"
    assert prep["for"] == ["Bowl, lunch", "Plate, lunch"]


def test_p8_runs_for_different_need_dates_are_two_tasks_even_on_one_list() -> None:
    # The dough for Wednesday and that for Thursday are both begun on Tuesday.
    catalogue = kitchen(
        recipe("soup", "1 L", steps=[step(None, "P1D")]),
        recipe("aspic", "1 L", steps=[step(None, "P2D")]),
        BOWL,
        menu_item("plate", ("aspic", "1 L")),
    )
    planned = plan_forecasts(catalogue, [forecast(WED, "bowl", 3), forecast(THU, "plate", 4)], on=TUE)
    assert len(tasks_of(list_of(planned, catalogue, TUE))) == 2
    twice = kitchen(ingredient("onion", form("dice", keeps="P3D", lead="P2D")), recipe("soup", "1 L", line("onion/dice", "100 g")), BOWL)
    planned = plan_forecasts(twice, [forecast(WED, "bowl", 3), forecast(THU, "bowl", 4)], on=TUE, first=MON)
    ids = {on: [task["id"] for task in tasks_of(list_of(planned, twice, on), "prep")] for on in (MON, TUE)}
    assert ids == {MON: ["prep.mill-street.onion.dice.2026-12-02T1200.1"], TUE: ["prep.mill-street.onion.dice.2026-12-03T1200.1"]}
    late = plan_forecasts(twice, [forecast(WED, "bowl", 3), forecast(THU, "bowl", 4)], on=TUE)
    assert [(task["id"][-17:], task["late"]) for task in tasks_of(list_of(late, twice, TUE), "prep")] == [
        ("2026-12-02T1200.1", True),
        ("2026-12-03T1200.1", False),
    ]


def test_p15_runs_of_one_date_are_named_by_the_time_at_which_they_are_needed() -> None:
    catalogue = kitchen(recipe("soup", "1 L", keeps="PT1H", steps=[step("PT5M"), step("PT5M", station="bakery")]), BOWL)
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 3), forecast(TUE, "bowl", 4, "dinner")])
    assert [task["id"] for task in tasks_of(list_of(planned, catalogue))] == [
        "make.mill-street.soup.2026-12-01T1200.1",
        "make.mill-street.soup.2026-12-01T1800.1",
        "make.mill-street.soup.2026-12-01T1200.2",
        "make.mill-street.soup.2026-12-01T1800.2",
    ]


def ids(catalogue: Catalogue, first: date, on: date, bowls: int = 10) -> set[str]:
    """The ids of a date's tasks and pulls in a plan from another date."""
    document = list_of(plan_forecasts(catalogue, [forecast(THU, "bowl", bowls)], first=first, on=on), catalogue, on)
    return {row["id"] for row in [*tasks_of(document), *document["pulls"]]}


def test_p8_an_id_stays_when_the_plan_is_computed_on_another_day_or_for_another_count() -> None:
    catalogue = soups()
    known = ids(catalogue, MON, THU)
    # Sweated at 10:35, simmered from 10:50 on, ready at 12:00.
    assert known == {
        "make.mill-street.soup.2026-12-03T1200.1",
        "prep.mill-street.onion.dice.2026-12-03T1035.1",
        "pull.mill-street.onion.2026-12-03T1035",
        "pull.mill-street.cumin.2026-12-03T1035",
        "pull.mill-street.lentil.2026-12-03T1050",
        "pull.mill-street.salt.2026-12-03T1050",
    }
    assert ids(catalogue, WED, THU) == ids(catalogue, THU, THU) == ids(catalogue, MON, THU, 400) == known


def newer_soup(*steps: Document) -> Catalogue:
    """The soups after a version with more onion, all of it added at first."""
    lines = [line("onion/dice", "3 kg"), line("cumin", "40 g"), line("lentil", "4 kg", 2), line("salt", "1 g", 2)]
    return with_things(soups(), recipe("soup", "20 L", *lines, number=2, steps=steps))


def test_p8_an_id_stays_when_a_new_version_that_takes_as_long_is_published() -> None:
    assert ids(newer_soup(step("PT15M"), step("PT10M", "PT1H")), MON, THU) == ids(soups(), MON, THU)


def test_p15_a_version_that_takes_longer_renames_what_it_draws_and_not_itself() -> None:
    # Two hours of simmering: lentils and salt at 09:50, onions and cumin at 09:35.
    assert ids(newer_soup(step("PT15M"), step("PT10M", "PT2H")), MON, THU) == {
        "make.mill-street.soup.2026-12-03T1200.1",
        "prep.mill-street.onion.dice.2026-12-03T0935.1",
        "pull.mill-street.onion.2026-12-03T0935",
        "pull.mill-street.cumin.2026-12-03T0935",
        "pull.mill-street.lentil.2026-12-03T0950",
        "pull.mill-street.salt.2026-12-03T0950",
    }


def test_hands_on_time_of_prep_is_set_up_and_time_by_ep_up_to_whole_minutes() -> None:
    # 7 kg of dice: 5 min + 7 × 100 s = 16 min 40 s, up to 17.
    active = {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT100S"}
    catalogue = with_things(soups(), ingredient("onion", form("dice", "0.88", active=active)))
    assert task_of(catalogue, "prep")["active"] == "PT17M"


def test_hands_on_time_of_a_make_task_counts_once_for_all_its_batches() -> None:
    assert task_of(soups())["active"] == "PT25M"


def test_a_purpose_on_another_date_says_which() -> None:
    catalogue = kitchen(recipe("soup", "1 L", keeps="P2D", makes_for=2), BOWL)
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 3), forecast(WED, "bowl", 3)])
    (task,) = tasks_of(list_of(planned, catalogue))
    assert task["for"] == ["Bowl, lunch", "Bowl, lunch, Wed 2 Dec"]


def test_d1_a_list_is_in_the_unit_system_asked_for_and_the_amounts_are_the_same() -> None:
    catalogue = soups()
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 70)])
    metric, customary = (tasks_of(list_of(planned, catalogue, system=system), "prep")[0]["quantity"] for system in ("metric", "us"))
    assert metric == {"amount": customary["amount"], "unit": "g", "display": "7 kg"}
    # 7 kg are 246.918 oz: 15 lb 6.9 oz, above 10 lb by whole ounces.
    assert customary["display"] == "15 lb 7 oz"


def test_p9_what_is_on_hand_shows_as_have() -> None:
    catalogue = soups()
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 70)], [counted("onion/dice", "2 kg", at(TUE, "05:00"))])
    (prep,) = tasks_of(list_of(planned, catalogue), "prep")
    assert [prep[key]["display"] for key in ("need", "have", "quantity", "surplus")] == ["7 kg", "2 kg", "5 kg", "0"]


def test_t3_a_tasks_times_carry_the_sites_offset_of_their_own_moment() -> None:
    # Berlin's clocks go forward on 29 March 2026: mixed at 19:00 (+1) of Saturday, ready 16 h later at 12:00 (+2) of Sunday.
    sunday = date(2026, 3, 29)
    catalogue = kitchen(recipe("soup", "1 L", steps=[step(None, "PT16H")]), BOWL, site(time_zone="Europe/Berlin"))
    saturday = sunday - timedelta(days=1)
    planned = plan_forecasts(catalogue, [forecast(sunday, "bowl", 1)], first=saturday, on=saturday)
    (task,) = tasks_of(list_of(planned, catalogue, saturday))
    assert (task["start_by"], task["ready_by"]) == ("2026-03-28T19:00:00+01:00", "2026-03-29T12:00:00+02:00")

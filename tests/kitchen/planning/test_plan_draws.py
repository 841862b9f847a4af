"""What runs draw and give in a plan: rule P6, with S2, T2, Y1 and Y3 where a run applies them."""

import pytest

from tests.kitchen.larder import MON, TUE, WED, at, form, ingredient, item, kitchen, line, near, recipe, step
from tests.kitchen.plans import drawn, only_run, plan_needs, pulls_of, uses_of, wanted

ONION = ingredient("onion", form("dice", "0.88", gives={"trim": "0.08"}), form("rings"))


def test_y3_by_products_follow_the_sum_of_the_batch_factors() -> None:
    # 25 kg in batches of at most 10: three of 8.333 kg; authored 10 kg give 2 kg of bones: 25 ÷ 10 × 2 = 5 kg.
    catalogue = kitchen(ingredient("bones"), recipe("roast", "10 kg", gives={"bones": "2 kg"}, batch={"largest": "10 kg"}))
    planned = plan_needs(catalogue, [wanted("recipe roast", 25_000, TUE, "12:00")])
    assert planned.lots[0].amount == near(5000)


def test_y3_and_s4_what_rounding_makes_beyond_the_need_gives_by_products_too() -> None:
    # 25 kg in whole 10 kg are 30 kg: 6 kg of bones, not 5.
    catalogue = kitchen(ingredient("bones"), recipe("roast", "10 kg", gives={"bones": "2 kg"}, batch={"multiple": "10 kg"}))
    planned = plan_needs(catalogue, [wanted("recipe roast", 25_000, TUE, "12:00")])
    assert [(lot.item, lot.amount) for lot in planned.lots] == [(item("recipe roast"), near(5000)), (item("bones"), near(6000))]


def test_p6_draws_are_needed_when_their_step_starts_and_lines_without_a_step_at_the_start() -> None:
    soup = recipe(
        "soup",
        "20 L",
        line("onion", "2 kg", 1),
        line("lentil", "3 kg", 2),
        line("cream", "1 kg", 3),
        line("salt", "100 g"),
        steps=[step("PT15M"), step("PT10M", {"min": "PT50M", "target": "PT1H", "max": "PT90M"}), step("PT5M")],
    )
    run = only_run(
        plan_needs(kitchen(soup, *map(ingredient, ("onion", "lentil", "cream", "salt"))), [wanted("recipe soup", 20_000, TUE, "12:00")]),
        "recipe soup",
    )
    # The lead is 15 + 70 + 5 = 90 min, whatever the number of batches: the steps start at 10:30, 10:45 and 11:55.
    assert {draw.item.code: draw.at for draw in run.draws} == {
        "onion": at(TUE, "10:30"),
        "lentil": at(TUE, "10:45"),
        "cream": at(TUE, "11:55"),
        "salt": at(TUE, "10:30"),
    }


def test_t2_the_lead_is_the_same_for_one_batch_and_for_many() -> None:
    soup = recipe("soup", "20 L", batch={"largest": "20 L"}, steps=[step("PT30M")])
    starts = [
        only_run(plan_needs(kitchen(soup), [wanted("recipe soup", amount, TUE, "12:00")]), "recipe soup").stages[0].starts
        for amount in (1000, 200_000)
    ]
    assert starts == [at(TUE, "11:30")] * 2


def test_p6_and_s2_draws_are_summed_over_batches_each_by_its_own_factor() -> None:
    # Yield 20 L, largest 30 L, need 70 L: three batches of 23.3333 L, f = 1.166667. A power line of 40 g with e = 0.585 takes
    # 40 × 1.166667^0.585 = 40 × 1.0943692 = 43.774767 g a batch, 131.3243 g in all; a linear line of 4 kg takes 3 × 4.666667 = 14 kg;
    # a per_batch line of 2 each takes 6. Scaling the power line by the run's total, 3.5^0.585 × 40 = 83.2 g, would be wrong.
    soup = recipe(
        "soup",
        "20 L",
        line("cumin", "40 g", scaling={"rule": "power", "exponent": "0.585"}),
        line("lentil", "4 kg"),
        line("bay", "2 each", scaling={"rule": "per_batch"}),
        batch={"largest": "30 L"},
    )
    catalogue = kitchen(soup, ingredient("cumin"), ingredient("lentil"), ingredient("bay", kind="count"))
    planned = plan_needs(catalogue, [wanted("recipe soup", 70_000, TUE, "12:00")])
    run = only_run(planned, "recipe soup")
    ((batch, factor),) = run.batches
    assert (batch.count, factor) == (3, near(7 / 6))
    assert drawn(run, "cumin") == pytest.approx(131.3243, rel=1e-6)
    assert drawn(run, "lentil") == near(14_000)
    assert drawn(run, "bay") == near(6)
    assert [pull.amount for pull in pulls_of(planned, "lentil")] == [near(14_000)]


def test_s2_batches_of_two_sizes_each_take_their_own_amount() -> None:
    # 70 L as full batches of 30 L and a rest of 10 L of a yield of 10 L: factors 3, 3 and 1. Tested [[1,1],[2,2],[10,6]] gives
    # 2.5 + 2.5 + 1 = 6 times 20 g.
    soup = recipe(
        "soup",
        "10 L",
        line("chilli", "20 g", scaling={"rule": "tested", "points": [[1, 1], [2, 2], [10, 6]]}),
        batch={"largest": "30 L", "split": "full"},
    )
    run = only_run(plan_needs(kitchen(soup, ingredient("chilli")), [wanted("recipe soup", 70_000, TUE, "12:00")]), "recipe soup")
    assert drawn(run, "chilli") == near(120)


def test_s2_a_batch_beyond_what_was_tested_is_warned_of() -> None:
    soup = recipe("soup", "10 L", line("chilli", "20 g", scaling={"rule": "tested", "points": [[1, 1], [2, 2], [10, 6]]}))
    catalogue = kitchen(soup, ingredient("chilli"))
    assert plan_needs(catalogue, [wanted("recipe soup", 100_000, TUE, "12:00")]).warnings == ()
    (warning,) = plan_needs(catalogue, [wanted("recipe soup", 110_000, TUE, "12:00")]).warnings
    assert (warning.on, warning.code) == (TUE, "seasoning_out_of_range")


def test_s2_one_batch_of_several_beyond_what_was_tested_is_warned_of() -> None:
    # Tested up to a factor of 2. Of a yield of 10 L, 70 L are two batches of 30 L, factor 3, and a rest of 10 L, factor 1.
    tested = {"rule": "tested", "points": [[1, 1], [2, 2]]}
    soup = recipe("soup", "10 L", line("chilli", "20 g", scaling=tested), batch={"largest": "30 L", "split": "full"})
    planned = plan_needs(kitchen(soup, ingredient("chilli")), [wanted("recipe soup", 70_000, TUE, "12:00")])
    assert [(batch.count, factor) for batch, factor in only_run(planned, "recipe soup").batches] == [(2, near(3)), (1, near(1))]
    assert [warning.code for warning in planned.warnings] == ["seasoning_out_of_range"]
    assert "Chilli is beyond what was tested" in planned.warnings[0].detail


def test_s2_what_was_tested_is_that_of_a_batch_and_not_of_the_run() -> None:
    # 60 L are three batches of 20 L, factor 2 each: all as tested, though the run is six times the yield.
    tested = {"rule": "tested", "points": [[1, 1], [2, 2]]}
    soup = recipe("soup", "10 L", line("chilli", "20 g", scaling=tested), batch={"largest": "20 L"})
    assert plan_needs(kitchen(soup, ingredient("chilli")), [wanted("recipe soup", 60_000, TUE, "12:00")]).warnings == ()


def test_s2_and_t8_the_warning_stands_on_the_list_of_the_stage_that_uses_the_line() -> None:
    # Cured on Monday and rested for a day, then seasoned on Tuesday, with more of each than was tried.
    tested = {"rule": "tested", "points": [[1, 1], [2, 2]]}
    cumin, chilli = line("cumin", "40 g", 1, tested), line("chilli", "20 g", 2, tested)
    stew = recipe("stew", "10 kg", cumin, chilli, steps=[step("PT1H", "P1D"), step("PT1H")])
    catalogue = kitchen(stew, ingredient("cumin"), ingredient("chilli"))
    planned = plan_needs(catalogue, [wanted("recipe stew", 30_000, TUE, "12:00")], first=MON)
    assert [stage.on for stage in only_run(planned, "recipe stew").stages] == [MON, TUE]
    assert [(warning.on, warning.detail.split()[1]) for warning in planned.warnings] == [(MON, "Cumin"), (TUE, "Chilli")]


def test_s2_and_p12_the_warning_calls_what_is_beyond_by_the_name_that_it_has_at_the_site() -> None:
    tested = {"rule": "tested", "points": [[1, 1], [2, 2]]}
    catalogue = kitchen(
        recipe("paste", "1 kg", title="Paste"),
        recipe("paste", "1 kg", title="Green paste", number=2, starts_on=TUE, sites=["harbour"]),
        recipe("stew", "10 kg", line("recipe paste", "20 g", scaling=tested)),
    )
    (warning,) = plan_needs(catalogue, [wanted("recipe stew", 30_000, TUE, "12:00")]).warnings
    assert warning.detail.startswith("Stew: Paste is beyond what was tested")


def test_p6_and_y1_the_ap_of_a_form_is_its_ep_by_the_trim_yield() -> None:
    # 10 kg EP onion at 0.88: 10 ÷ 0.88 = 11.363636 kg AP, of which 0.08 are trim: 909.0909 g.
    planned = plan_needs(kitchen(ONION, ingredient("trim")), [wanted("onion/dice", 10_000, TUE, "12:00")])
    run = only_run(planned, "onion/dice")
    assert drawn(run, "onion") == near(11_363.636363636)
    assert pulls_of(planned, "onion")[0].amount == near(11_363.636363636)
    (trim,) = planned.lots
    assert (trim.item, trim.amount) == (item("trim"), near(909.0909090909))


def test_y1_a_line_without_a_form_draws_what_it_states() -> None:
    soup = recipe("soup", "20 L", line("onion", "2 kg"))
    planned = plan_needs(kitchen(ONION, ingredient("trim"), soup), [wanted("recipe soup", 20_000, TUE, "12:00")])
    assert pulls_of(planned, "onion")[0].amount == 2000


def test_t2_a_form_is_ready_at_need_by_and_its_lead_is_nil_unless_stated() -> None:
    onion = ingredient("onion", form("dice"), form("pickled", lead="PT2H"))
    planned = plan_needs(kitchen(onion), [wanted("onion/dice", 1000, TUE, "12:00"), wanted("onion/pickled", 1000, TUE, "12:00")])
    assert only_run(planned, "onion/dice").stages[0].starts == at(TUE, "12:00")
    pickled = only_run(planned, "onion/pickled")
    assert (pickled.stages[0].starts, pickled.stages[0].ready) == (at(TUE, "10:00"), at(TUE, "12:00"))
    assert [draw.at for draw in pickled.draws] == [at(TUE, "10:00")]


def test_p6_a_sub_recipes_surplus_meets_what_another_recipe_draws_later() -> None:
    # The stock is made in pots of 10 L: the soup of Tuesday takes 6 L, the rest serves the stew of Wednesday.
    catalogue = kitchen(
        recipe("stock", "10 L", keeps="P2D", batch={"multiple": "10 L"}),
        recipe("soup", "20 L", line("recipe stock", "6 L")),
        recipe("stew", "10 kg", line("recipe stock", "3 L")),
    )
    planned = plan_needs(catalogue, [wanted("recipe soup", 20_000, TUE, "12:00"), wanted("recipe stew", 10_000, WED, "12:00")])
    assert only_run(planned, "recipe stock").quantity == 10_000
    assert [(use.need.label, use.amount) for use in uses_of(planned, "recipe stock")] == [("stew", 3000)]

"""Runs in a plan: rules P4, P5 and P8, with S3, S4 and T2 where a run applies them."""

from datetime import timedelta

import pytest

from service.kitchen.measures.calendar import UseBy
from tests.kitchen.larder import FRI, SITE, THU, TUE, WED, at, form, ingredient, item, kitchen, line, near, recipe, site, step
from tests.kitchen.plans import lot, only_run, plan_needs, runs_of, wanted

ONION = ingredient("onion", form("dice", "0.88", gives={"trim": "0.08"}), form("rings"))


def test_p4_the_first_need_not_wholly_met_opens_a_run_at_its_time_for_its_unmet_part() -> None:
    catalogue = kitchen(recipe("sauce", "10 L"))
    planned = plan_needs(
        catalogue,
        [wanted("recipe sauce", 2000, TUE, "08:00"), wanted("recipe sauce", 5000, TUE, "12:00")],
        [lot("recipe sauce", 3000)],
    )
    # The lot of 3 L meets the first 2 L and 1 L of the second need; the run makes the other 4 L.
    run = only_run(planned, "recipe sauce")
    assert (run.at, run.on, run.quantity) == (at(TUE, "12:00"), TUE, 4000)


def test_p4_needs_of_the_same_business_date_join_one_run_and_the_next_date_opens_another() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P3D"))
    planned = plan_needs(
        catalogue,
        # 02:00 of Wednesday is still Tuesday's business date, 12:00 is not.
        [wanted("recipe sauce", 1000, *when) for when in ((TUE, "12:00"), (TUE, "18:00"), (WED, "02:00"), (WED, "12:00"))],
    )
    assert [(run.at, run.quantity) for run in runs_of(planned, "recipe sauce")] == [(at(TUE, "12:00"), 3000), (at(WED, "12:00"), 1000)]


@pytest.mark.parametrize(("makes_for", "quantities"), [(1, [1000, 1000, 1000, 1000]), (2, [2000, 2000]), (3, [3000, 1000]), (14, [4000])])
def test_p4_a_run_makes_for_as_many_business_dates_as_its_recipe_says(makes_for: int, quantities: list[float]) -> None:
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P13D", makes_for=makes_for))
    planned = plan_needs(catalogue, [wanted("recipe sauce", 1000, on, "12:00") for on in (TUE, WED, THU, FRI)])
    assert [run.quantity for run in runs_of(planned, "recipe sauce")] == quantities


def test_p4_makes_for_counts_dates_from_the_first_unmet_need_and_not_needs() -> None:
    # Two dates from Tuesday are Tuesday and Wednesday; Thursday is outside although it is only the second need.
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P13D", makes_for=2))
    planned = plan_needs(catalogue, [wanted("recipe sauce", 1000, on, "12:00") for on in (TUE, THU)])
    assert [run.on for run in runs_of(planned, "recipe sauce")] == [TUE, THU]


def test_p4_a_need_past_the_use_by_of_the_run_is_outside_it() -> None:
    # Ready at 12:00 and keeping 4 h: 16:00 is the last moment inside, 16:01 asks for a second run of the date.
    catalogue = kitchen(recipe("mash", "5 kg", keeps="PT4H"))
    planned = plan_needs(catalogue, [wanted("recipe mash", 1000, TUE, clock) for clock in ("12:00", "16:00", "16:01")])
    assert [(run.at, run.quantity) for run in runs_of(planned, "recipe mash")] == [(at(TUE, "12:00"), 2000), (at(TUE, "16:01"), 1000)]


def test_p4_days_of_keeping_end_a_run_before_makes_for_does() -> None:
    # Made for three dates but keeping only to the end of the second.
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P1D", makes_for=3))
    planned = plan_needs(catalogue, [wanted("recipe sauce", 1000, on, "12:00") for on in (TUE, WED, THU)])
    assert [run.quantity for run in runs_of(planned, "recipe sauce")] == [2000, 1000]


def test_p15_a_run_is_named_by_item_date_and_local_time_of_its_need() -> None:
    catalogue = kitchen(recipe("mash", "5 kg", keeps="PT1H"))
    planned = plan_needs(
        catalogue, [wanted("recipe mash", 1000, *when) for when in ((TUE, "09:00"), (TUE, "12:00"), (TUE, "18:00"), (WED, "12:00"))]
    )
    assert [run.id.removeprefix("make.mill-street.mash.") for run in runs_of(planned, "recipe mash")] == [
        "2026-12-01T0900",
        "2026-12-01T1200",
        "2026-12-01T1800",
        "2026-12-02T1200",
    ]


def test_p4_a_following_need_takes_lots_first_and_the_run_makes_the_rest() -> None:
    # A lot of 1.5 L becomes ready at 15:00. The run of 12:00 makes 1 L for noon and 0.5 L of the 2 L of 18:00.
    catalogue = kitchen(recipe("sauce", "10 L"))
    planned = plan_needs(
        catalogue,
        [wanted("recipe sauce", 1000, TUE, "12:00"), wanted("recipe sauce", 2000, TUE, "18:00")],
        [lot("recipe sauce", 1500, ready=at(TUE, "15:00"))],
    )
    assert only_run(planned, "recipe sauce").quantity == 1500
    assert [use.amount for use in planned.uses] == [1500]


def test_p4_the_first_need_outside_closes_the_run_before_any_lot_is_looked_at() -> None:
    # The run of Tuesday rounds 1 L up to 2 L; its surplus of 1 L is a lot when Wednesday's 1 L looks for lots, and expires before
    # the counted lot that never does. Had Wednesday looked first, it would have taken the counted lot.
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P3D", batch={"multiple": "2 L"}))
    planned = plan_needs(
        catalogue,
        [wanted("recipe sauce", 1000, TUE, "12:00"), wanted("recipe sauce", 1000, WED, "12:00")],
        [lot("recipe sauce", 1000, ready=at(TUE, "13:00"))],
    )
    run = only_run(planned, "recipe sauce")
    assert (run.quantity, run.main.surplus) == (2000, 1000)
    (use,) = planned.uses
    assert use.need.on == WED
    assert use.lot.source == run.key


def test_p4_a_run_is_rounded_once_over_all_its_needs() -> None:
    # Twice 0.4 batch is 0.8: one batch, not two.
    catalogue = kitchen(recipe("scone", "10 each", batch={"multiple": "10 each"}))
    planned = plan_needs(catalogue, [wanted("recipe scone", 4, TUE, "12:00"), wanted("recipe scone", 4, TUE, "18:00")])
    run = only_run(planned, "recipe scone")
    assert [(batch.count, batch.quantity) for batch, _ in run.batches] == [(1, 10)]
    assert run.main.surplus == 2


def test_p4_a_run_is_ready_at_its_first_unmet_need() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", steps=[step("PT30M"), step(None, "PT1H")]))
    run = only_run(plan_needs(catalogue, [wanted("recipe sauce", 1000, TUE, clock) for clock in ("18:00", "12:00")]), "recipe sauce")
    assert run.at == at(TUE, "12:00")
    assert (run.stages[0].starts, run.stages[-1].ready) == (at(TUE, "10:30"), at(TUE, "12:00"))


def test_s3_a_site_cooks_in_its_own_vessel() -> None:
    # 70 L in a kettle of 25 L: three batches of 23.33 L, f = 1.1667.
    soup = recipe("soup", "20 L", batch={"largest": "60 L"})
    planned = plan_needs(kitchen(soup, site(vessels={"soup": "25 L"})), [wanted("recipe soup", 70_000, TUE, "12:00")])
    ((batch, factor),) = only_run(planned, "recipe soup").batches
    assert (batch.count, batch.quantity) == (3, near(70_000 / 3))
    assert factor == near(70 / 3 / 20)


def test_s3_a_vessel_that_no_longer_fits_is_left_out_with_a_warning() -> None:
    soup = recipe("soup", "20 L", batch={"smallest": "20 L", "largest": "60 L"})
    planned = plan_needs(kitchen(soup, site(vessels={"soup": "10 L"})), [wanted("recipe soup", 70_000, TUE, "12:00")])
    ((batch, _),) = only_run(planned, "recipe soup").batches
    assert (batch.count, batch.quantity) == (2, 35_000)
    assert [(warning.on, warning.code) for warning in planned.warnings] == [(TUE, "vessel_too_small")]


def test_s3_and_p7_the_warning_of_a_vessel_stands_on_the_list_that_the_work_begins_on() -> None:
    # Soup of Thursday noon takes a day: whoever begins it on Wednesday must know.
    soup = recipe("soup", "20 L", batch={"smallest": "20 L", "largest": "60 L"}, steps=[step(None, "P1D")])
    planned = plan_needs(kitchen(soup, site(vessels={"soup": "10 L"})), [wanted("recipe soup", 70_000, THU, "12:00")])
    assert [(warning.on, warning.code) for warning in planned.warnings] == [(WED, "vessel_too_small")]


def test_p2_a_surplus_of_exactly_a_billionth_of_its_run_is_nil() -> None:
    # A million litres in one batch, of which a millilitre is not asked for.
    planned = plan_needs(
        kitchen(recipe("sauce", "10 L", batch={"multiple": "1000000 L"})), [wanted("recipe sauce", 999_999_999, TUE, "12:00")]
    )
    assert (only_run(planned, "recipe sauce").quantity, only_run(planned, "recipe sauce").main.surplus) == (1_000_000_000, 0)
    assert planned.lots == ()


def test_s4_surplus_of_rounding_is_a_lot_that_later_needs_take() -> None:
    # 5 scones of a tray of 12; the other 7 keep a day and serve Wednesday's 4.
    catalogue = kitchen(recipe("scone", "12 each", keeps="P1D", batch={"multiple": "12 each"}))
    planned = plan_needs(catalogue, [wanted("recipe scone", 5, TUE, "12:00"), wanted("recipe scone", 4, WED, "12:00")])
    run = only_run(planned, "recipe scone")
    assert run.main.surplus == 7
    assert [(use.lot.source, use.amount) for use in planned.uses] == [(run.key, 4)]


def test_p5_surplus_is_ready_at_the_runs_need_by_and_keeps_from_then() -> None:
    catalogue = kitchen(recipe("scone", "12 each", keeps="P1D", batch={"multiple": "12 each"}, steps=[step("PT30M", "PT4H")]))
    planned = plan_needs(catalogue, [wanted("recipe scone", 5, TUE, "12:00")])
    (surplus,) = planned.lots
    assert (surplus.amount, surplus.ready) == (7, at(TUE, "12:00"))
    assert surplus.use_by == UseBy(at(THU, "04:00"), included=False)
    assert surplus.version == 1


def test_p5_a_by_product_is_ready_when_its_run_is_and_keeps_as_its_ingredient_states() -> None:
    catalogue = kitchen(
        ingredient("bones", keeps="P2D"),
        ingredient("fat"),
        recipe("roast", "10 kg", gives={"bones": "2 kg", "fat": "500 g"}, keeps="P1D", steps=[step("PT1H")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe roast", 5000, TUE, "12:00")])
    bones, fat = planned.lots
    # Half an authored batch gives half its by-products.
    assert (bones.item, bones.amount, bones.ready) == (item("bones"), 1000, at(TUE, "12:00"))
    # Bones are an ingredient: the roast has a version, they have none.
    assert bones.version is None
    assert bones.use_by == UseBy(site().calendar().end(THU), included=False)
    assert (fat.item, fat.amount) == (item("fat"), 250)
    assert fat.use_by.covers(at(FRI, "12:00") + timedelta(days=10_000))


def test_p8_two_recipes_that_need_one_form_in_one_window_share_a_run() -> None:
    catalogue = kitchen(
        ONION,
        ingredient("trim"),
        recipe("soup", "20 L", line("onion/dice", "2 kg"), steps=[step("PT1H")]),
        recipe("stew", "10 kg", line("onion/dice", "4.2 kg"), steps=[step("PT2H")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe soup", 100_000, TUE, "12:00"), wanted("recipe stew", 10_000, TUE, "18:00")])
    # 5 × 2 kg for the soup at 11:00 and 4.2 kg for the stew at 16:00: one run of 14.2 kg, ready at 11:00.
    run = only_run(planned, "onion/dice")
    assert (run.quantity, run.at) == (near(14_200), at(TUE, "11:00"))
    assert [need.label for need, _ in run.fed] == ["soup", "stew"]


def test_p8_what_a_lot_gave_wholly_did_not_come_from_the_run_that_is_open() -> None:
    # The run of 10:00 is for the soup; what the stew wants at 17:00 comes from a lot that is ready at 16:00.
    catalogue = kitchen(
        recipe("stock", "10 L"),
        recipe("soup", "20 L", line("recipe stock", "2 L")),
        recipe("stew", "10 kg", line("recipe stock", "1 L")),
    )
    ready = lot("recipe stock", 1000, ready=at(TUE, "16:00"))
    planned = plan_needs(catalogue, [wanted("recipe soup", 20_000, TUE, "10:00"), wanted("recipe stew", 10_000, TUE, "17:00")], [ready])
    assert planned.sources() == {
        only_run(planned, "recipe soup").id: [only_run(planned, "recipe stock")],
        only_run(planned, "recipe stew").id: [ready],
    }


def test_p8_runs_of_one_item_for_different_need_dates_stay_apart() -> None:
    catalogue = kitchen(ONION, ingredient("trim"))
    planned = plan_needs(catalogue, [wanted("onion/dice", 1000, TUE, "12:00"), wanted("onion/dice", 1000, WED, "12:00")])
    assert [run.on for run in runs_of(planned, "onion/dice")] == [TUE, WED]


def test_p8_other_forms_of_one_ingredient_are_runs_of_their_own() -> None:
    planned = plan_needs(
        kitchen(ONION, ingredient("trim")), [wanted("onion/dice", 1000, TUE, "12:00"), wanted("onion/rings", 1000, TUE, "12:00")]
    )
    assert [only_run(planned, words).quantity for words in ("onion/dice", "onion/rings")] == near([1000, 1000])


def test_s3_every_positive_need_is_at_least_one_batch() -> None:
    planned = plan_needs(kitchen(recipe("scone", "12 each")), [wanted("recipe scone", 1e-12, TUE, "12:00")])
    assert only_run(planned, "recipe scone").quantity == 1


def test_the_default_site_is_the_one_that_plans() -> None:
    assert list(kitchen().sites) == [SITE]

"""The worked examples of C, A and H: costs, allergens and food safety."""

from datetime import timedelta
from typing import Any

from service.kitchen.book.item import Item
from service.kitchen.checks.additions import acknowledgement_faults, additions, covered
from service.kitchen.checks.combined import combined_faults
from service.kitchen.safety.allergen_reports import EU_FOURTEEN, US_NINE, told_by
from service.kitchen.safety.allergens import Rollup
from service.kitchen.safety.cautions import cautions
from service.kitchen.safety.safety import effective, laxer
from tests.kitchen.larder import MON, SITE, TUE, WED, at, ingredient, kitchen, line, menu_item, recipe, safety, with_things
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, tasks_of
from tests.kitchen.prices import bought, cost_of, cost_sold, credited, flour_and_water, missing, sold, written
from tests.rules.page import number, untold


def test_c1_by_products_are_credited_before_the_trim() -> None:
    cost = cost_of("roast", *credited())
    assert cost.batch is not None
    assert untold("C1", f"(9.00 − 0.48) ÷ 0.75 = {written(cost.batch)}".removesuffix(" EUR")) == []
    assert untold("C1", f"credits of {3 * 0.12:.2f} and {1.2 * 0.1:.2f}") == []


def test_c2_a_dish_costs_its_lines_and_a_missing_price_is_named() -> None:
    things = flour_and_water(portion="100 g")
    cost = cost_of("dough", *things)
    batch, portion = (str(written(each)).removesuffix(" EUR") for each in (cost.batch, cost.portion))
    assert untold("C2", f"{batch} a batch, {portion} for a portion of 100 g") == []
    dish = cost_sold("roll", *things, sold("roll", {"dough": "1 portion"}, "0.60 EUR"))
    assert untold("C2", f"that is {number(dish.food_cost_percent or 0)} %") == []
    partial = cost_of("dough", *things, bought("butter"))
    known = str(written(partial.batch)).removesuffix(" EUR")
    assert untold("C2", f"the batch costs {known} as far as known, and `missing` names {missing(partial)[0]}") == []


def test_a1_allergens_go_up_with_their_species() -> None:
    catalogue = kitchen(
        ingredient("cod", contains=["fish:cod"]),
        ingredient("crust", contains=["wheat"], may_contain=["almond"]),
        recipe("pie", "1 each", line("cod", "1 kg"), line("crust", "1 kg")),
    )
    found = Rollup(catalogue, SITE).of_item(Item.recipe("pie"), TUE)
    assert [sorted(found.contains), sorted(found.may_contain)] == [["fish:cod", "wheat"], ["almond"]]
    assert untold("A1", "contains fish:cod and wheat, and may contain almond") == []
    assert [row["allergen"] for row in told_by(US_NINE, found)] == ["fish", "tree_nut", "wheat"]
    assert [row["allergen"] for row in told_by(EU_FOURTEEN, found)] == ["gluten_cereal", "fish", "nut"]
    assert untold("A1", "The US list says fish, wheat and, as possible, tree nuts") == []
    assert untold("A1", "the EU list says gluten cereals, fish and, as possible, nuts") == []


def test_a2_a_new_allergen_is_acknowledged_by_name() -> None:
    before = kitchen(
        ingredient("oil"),
        ingredient("celeriac", contains=["celery"]),
        recipe("sauce", "1 L", line("oil", "1 kg")),
        recipe("lasagne", "10 each", line("recipe sauce", "1 L")),
        menu_item("plate", ("lasagne", "1 each")),
    )
    after = with_things(before, recipe("sauce", "1 L", line("celeriac", "1 kg"), number=2, starts_on=WED))
    found = additions(before, after, TUE)
    (fault,) = acknowledgement_faults(found, ())
    assert "recipe lasagne, menu item plate" in fault.detail
    assert acknowledgement_faults(found, {"celery"}) == []
    assert untold("A2", "refused until `celery` is acknowledged, and the error names the recipe and the menu item") == []
    assert (covered("fish:cod", {"fish"}), covered("fish", {"fish:cod"})) == (True, False)
    assert untold("A2", "`fish` acknowledges `fish:cod`; `fish:cod` does not acknowledge `fish`") == []


def test_h1_what_a_step_leaves_open_is_the_codes() -> None:
    ground = effective(safety("cook", "ground"), "metric")
    assert ground["temperature"] is not None
    assert untold("H1", f"keeps to {ground['temperature']['display']} for 17 s, by {ground['section']}") == []
    assert ground["time"] == "PT17S"
    assert effective(safety("cook", "ground", "63 degC"), "metric")["time"] == "PT3M"
    assert untold("H1", "At a stated 63 °C it keeps to 3 minutes") == []
    assert [each.field for each in laxer(safety("cook", "ground", "60 degC"))] == ["temperature"]
    assert untold("H1", "60 °C is refused without a reason") == []
    assert untold("H1", f'82 °C reads "{effective(safety("cook", "poultry", "82 degC"), "metric")["display"]}"') == []


def test_h2_what_is_combined_keeps_the_date_of_its_earliest_part() -> None:
    cold: dict[str, Any] = {"ready_to_eat": True, "storage": "cold"}
    catalogue = kitchen(
        recipe("dressing", "1 L", keeps="P1D", **cold),
        recipe("salad", "1 kg", line("recipe dressing", "200 mL"), keeps="P3D", batch={"multiple": "1 kg"}, **cold),
        menu_item("bowl", ("salad", "100 g")),
    )
    sunday = MON - timedelta(days=1)
    stock = [counted("recipe dressing", amount, at(TUE, "05:00"), made_on=on) for amount, on in (("5 L", MON), ("2 L", sunday))]
    document = list_of(plan_forecasts(catalogue, [forecast(TUE, "bowl", 7)], stock), catalogue)
    (task,) = tasks_of(document, "make")
    (warning,) = [each for each in document["warnings"] if each["code"] == "keeps_exceeded"]
    assert warning["task"] == task["id"]
    assert task["use_by"] == "2026-12-02T04:00:00-05:00"
    assert untold("H2", "it shows the end of Tuesday as its use-by", "the list warns of 300 g") == []
    assert warning["detail"].startswith("Salad: 300 g beyond what is asked for")
    (discarded,) = document["discard"]
    assert untold("H2", f"{discarded['quantity']['display']} of the dressing that were counted on Tuesday, and made on Sunday") == []
    made = list_of(plan_forecasts(catalogue, [forecast(TUE, "bowl", 7)]), catalogue)
    (salad,) = [each for each in tasks_of(made, "make") if each["item"]["recipe"] == "salad"]
    assert salad["use_by"] == "2026-12-03T04:00:00-05:00"
    assert untold("H2", "If the dressing is made for it on Tuesday, and keeps P1D, it shows the end of Wednesday") == []


def test_h2_a_dish_keeps_no_longer_than_its_part() -> None:
    cold: dict[str, Any] = {"ready_to_eat": True, "storage": "cold"}
    salad = recipe("salad", "1 kg", **cold)
    sandwich = recipe("sandwich", "10 each", line("recipe salad", "1 kg"), keeps="P2D", **cold)
    assert [fault.code for fault in combined_faults(kitchen(salad, sandwich), sandwich, TUE)] == ["keeps_exceeds_part"]
    assert untold("H2", "A sandwich that keeps P2D is refused with a salad of P0D in it") == []


def test_h3_cautions_are_said_with_allergens_and_with_safety() -> None:
    assert [len(cautions(allergens=False, guarded=True)), len(cautions(allergens=True, guarded=False))] == [1, 2]
    assert untold("H3", "A list with a step to cook and no allergen has one caution; one with an allergen has two") == []

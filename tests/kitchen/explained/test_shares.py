"""Shares in a plan: rule P11."""

from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.explained.shares import merged
from service.kitchen.planning.demand import Share
from service.kitchen.planning.guests import Event, Outlet
from tests.kitchen.larder import TUE, WED, at, form, ingredient, kitchen, line, menu_item, near, recipe, step
from tests.kitchen.plans import (
    counted,
    forecast,
    list_of,
    lot,
    made_for,
    only_run,
    plan_forecasts,
    plan_needs,
    pulled_for,
    pulls_of,
    tasks_of,
    wanted,
)

BOWL_LUNCH = Outlet("bowl", TUE, "lunch", None)
BOWL_DINNER = Outlet("bowl", TUE, "dinner", None)
PLATE_LUNCH = Outlet("plate", TUE, "lunch", None)


def test_p11_a_run_knows_who_gets_how_much_of_it() -> None:
    catalogue = kitchen(
        recipe("sauce", "10 L"),
        menu_item("bowl", ("sauce", "100 mL")),
        menu_item("plate", ("sauce", "50 mL")),
    )
    planned = plan_forecasts(
        catalogue,
        [
            forecast(TUE, "bowl", 10),
            forecast(TUE, "bowl", 20, "dinner"),
            forecast(TUE, "plate", 10),
            forecast(TUE, "plate", 4, event=Event("banquet-12")),
        ],
    )
    shares = made_for(only_run(planned, "recipe sauce"))
    # By date, period, event and menu item; dinner comes before lunch in the alphabet.
    assert [(share.outlet, share.amount) for share in shares] == [
        (BOWL_DINNER, near(2000)),
        (BOWL_LUNCH, near(1000)),
        (PLATE_LUNCH, near(500)),
        (Outlet("plate", TUE, "lunch", "banquet-12"), near(200)),
    ]


def test_p11_shares_and_surplus_sum_to_the_quantity() -> None:
    # 3 L wanted of a pot of 5 L: 1 L and 2 L have their outlets, 2 L are nobody's.
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": "5 L"}), menu_item("bowl", ("sauce", "100 mL")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10), forecast(TUE, "bowl", 20, "dinner")])
    shares = made_for(only_run(planned, "recipe sauce"))
    assert [(share.outlet, share.amount) for share in shares] == [(BOWL_DINNER, near(2000)), (BOWL_LUNCH, near(1000)), (None, near(2000))]


def test_p11_what_lots_gave_is_no_share_of_the_run() -> None:
    # 0.4 L of the 1 L of lunch come from the lot: the run of 0.6 L is all for lunch.
    catalogue = kitchen(recipe("sauce", "10 L"), menu_item("bowl", ("sauce", "100 mL")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10)], [counted("recipe sauce", "400 mL", at(TUE, "05:00"))])
    assert [(share.outlet, share.amount) for share in made_for(only_run(planned, "recipe sauce"))] == [(BOWL_LUNCH, near(600))]


def test_p11_surplus_stays_surplus_even_if_a_later_date_uses_it() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P3D", batch={"multiple": "5 L"}), menu_item("bowl", ("sauce", "100 mL")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10), forecast(WED, "bowl", 20)], on=WED)
    shares = made_for(only_run(planned, "recipe sauce"))
    assert [(share.outlet, share.amount) for share in shares] == [(BOWL_LUNCH, near(1000)), (None, near(4000))]


def test_p11_a_draw_has_the_shares_of_its_run_surplus_included_in_proportion() -> None:
    # A pot of 5 L of sauce, 1 L of it for lunch, 2 L for dinner, 2 L surplus, draws 2.5 kg of dice: 0.5, 1 and 1 kg. At 0.8 that is
    # 3.125 kg of onion: 0.625, 1.25 and 1.25 kg.
    catalogue = kitchen(
        ingredient("onion", form("dice", "0.8")),
        recipe("sauce", "10 L", line("onion/dice", "5 kg"), batch={"multiple": "5 L"}),
        menu_item("bowl", ("sauce", "100 mL")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10), forecast(TUE, "bowl", 20, "dinner")])
    dice = made_for(only_run(planned, "onion/dice"))
    assert [(share.outlet, share.amount) for share in dice] == [(BOWL_DINNER, near(1000)), (BOWL_LUNCH, near(500)), (None, near(1000))]
    onion = merged(pulled_for(pulls_of(planned, "onion")[0]))
    assert [(share.outlet, share.amount) for share in onion] == [(BOWL_DINNER, near(1250)), (BOWL_LUNCH, near(625)), (None, near(1250))]


def test_p11_a_need_partly_met_by_lots_leaves_its_shares_in_proportion_to_the_run() -> None:
    # The sauce of both menu items draws 3 kg of dice, 2 kg for the bowls and 1 kg for the plates; 1.5 kg are on hand.
    catalogue = kitchen(
        ingredient("onion", form("dice")),
        recipe("sauce", "3 L", line("onion/dice", "3 kg")),
        menu_item("bowl", ("sauce", "100 mL")),
        menu_item("plate", ("sauce", "50 mL")),
    )
    planned = plan_forecasts(
        catalogue, [forecast(TUE, "bowl", 20), forecast(TUE, "plate", 20)], [counted("onion/dice", "1.5 kg", at(TUE, "05:00"))]
    )
    shares = made_for(only_run(planned, "onion/dice"))
    assert [(share.outlet, share.amount) for share in shares] == [(BOWL_LUNCH, near(1000)), (PLATE_LUNCH, near(500))]


def test_p11_a_need_that_lots_meet_wholly_has_no_share_of_the_run_that_is_open_and_is_not_fed_by_it() -> None:
    # Of 1 L a lot ready at 17:00 meets all that dinner wants; the run of 12:00 is for lunch alone.
    catalogue = kitchen(recipe("sauce", "10 L"))
    needs = [wanted("recipe sauce", 2000, TUE, "12:00", "lunch"), wanted("recipe sauce", 1000, TUE, "18:00", "dinner")]
    run = only_run(plan_needs(catalogue, needs, [lot("recipe sauce", 1000, ready=at(TUE, "17:00"))]), "recipe sauce")
    assert (run.main.need, run.main.have, run.main.quantity) == (3000, 1000, 2000)
    assert [(share.outlet and share.outlet.menu_item, share.amount) for share in made_for(run)] == [("lunch", 2000)]
    assert [(need.label, amount) for need, amount in run.fed] == [("lunch", 2000)]


def test_p11_and_p7_of_a_need_that_lots_meet_in_part_as_many_portions_hang_on_the_run() -> None:
    # Ten bowls want 1 L at Tuesday noon, of which 0.4 L are on hand: six bowls hang on the sauce that should have been begun on Monday.
    catalogue = kitchen(recipe("sauce", "10 L", steps=[step(None, "P1D")]), menu_item("bowl", ("sauce", "100 mL")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10)], [counted("recipe sauce", "400 mL", at(TUE, "05:00"))])
    assert [(share.amount, share.portions) for share in made_for(only_run(planned, "recipe sauce"))] == [(near(600), near(6))]
    (late,) = tasks_of(list_of(planned, catalogue), "make")
    assert [risk["portions"] for risk in late["at_risk"]] == [6]


def test_p11_and_p7_all_portions_hang_on_what_a_run_draws_however_little_it_is() -> None:
    # Ten bowls of sauce draw 20 g of paste, which takes a day: without it there is none of them, whatever the sauce weighs.
    catalogue = kitchen(
        recipe("paste", "100 g", steps=[step(None, "P1D")]),
        recipe("sauce", "1 L", line("recipe paste", "20 g")),
        menu_item("bowl", ("sauce", "100 mL")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10)])
    assert [(share.amount, share.portions) for share in made_for(only_run(planned, "recipe paste"))] == [(near(20), 10)]
    (late,) = [task for task in tasks_of(list_of(planned, catalogue)) if task["item"]["recipe"] == "paste"]
    assert [risk["portions"] for risk in late["at_risk"]] == [10]


def test_p11_and_p13_of_a_draw_that_the_kitchen_holds_in_part_as_many_portions_hang_on_the_pull() -> None:
    # Ten plates of Wednesday draw 3 kg of meat that thaws for two days; 1.2 kg are thawed: four plates are safe, six at risk.
    catalogue = kitchen(
        ingredient("meat", thaw="P2D"), recipe("roast", "2 kg", line("meat", "3 kg")), menu_item("plate", ("roast", "200 g"))
    )
    planned = plan_forecasts(catalogue, [forecast(WED, "plate", 10)], [counted("meat", "1.2 kg", at(TUE, "05:00"))])
    (pull,) = pulls_of(planned, "meat")
    assert [(share.amount, share.portions) for share in pulled_for(pull)] == [(near(1800), near(6))]
    (late,) = list_of(planned, catalogue)["pulls"]
    assert [risk["portions"] for risk in late["at_risk"]] == [6]


def test_p11_a_cuts_draw_has_the_shares_of_all_its_forms() -> None:
    # White for 5.4 kg of eggs; of its 1.62 kg of yolk 1.08 kg are wanted, 0.54 kg are nobody's.
    catalogue = kitchen(
        ingredient("egg", form("yolk", "0.3", cut="separated"), form("white", "0.55", cut="separated")),
        recipe("custard", "1 kg", line("egg/yolk", "1.08 kg")),
        recipe("meringue", "1 kg", line("egg/white", "2.97 kg")),
        menu_item("bowl", ("custard", "100 g")),
        menu_item("plate", ("meringue", "100 g")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10), forecast(TUE, "plate", 10)])
    # The run makes 1.62 + 2.97 = 4.59 kg of 5.4 kg AP; the AP goes by those parts: × 5.4 ÷ 4.59.
    shares = {share.outlet: share.amount for share in merged(pulled_for(pulls_of(planned, "egg")[0]))}
    assert shares == {
        BOWL_LUNCH: near(1080 * 5.4 / 4.59),
        PLATE_LUNCH: near(2970 * 5.4 / 4.59),
        None: near(540 * 5.4 / 4.59),
    }


def test_p11_a_traced_task_shows_its_shares_as_rows_that_sum_to_the_quantity() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": "5 L"}), menu_item("bowl", ("sauce", "100 mL")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10)])
    (task,) = tasks_of(list_of(planned, catalogue, trace=True))
    assert [(row["menu_item"], row["date"], row["period"], row["event"], row["quantity"]["amount"]) for row in task["shares"]] == [
        ("bowl", "2026-12-01", "lunch", None, near(1000)),
        (None, None, None, None, near(4000)),
    ]
    (untraced,) = tasks_of(list_of(planned, catalogue))
    assert "shares" not in untraced


def test_p11_a_traced_task_tells_which_runs_it_feeds() -> None:
    catalogue = kitchen(
        ingredient("onion", form("dice")),
        recipe("soup", "20 L", line("onion/dice", "2 kg")),
        recipe("stew", "10 kg", line("onion/dice", "4.2 kg")),
        menu_item("bowl", ("soup", "1 L")),
        menu_item("plate", ("stew", "1 kg")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 100), forecast(TUE, "plate", 10)])
    (task,) = tasks_of(list_of(planned, catalogue, trace=True), "prep")
    assert task["quantity"]["display"] == "14.2 kg"
    assert [(row["item"]["recipe"], row["quantity"]["amount"]) for row in task["feeds"]] == [("soup", near(10_000)), ("stew", near(4200))]


@given(st.lists(st.tuples(st.sampled_from([BOWL_LUNCH, BOWL_DINNER, None]), st.floats(0, 1e6)), max_size=8))
def test_p11_merging_keeps_the_sum(rows: list[tuple[Outlet | None, float]]) -> None:
    shares = [Share(outlet, amount, 1.0) for outlet, amount in rows]
    total = sum(amount for _, amount in rows)
    assert sum(share.amount for share in merged(shares)) == near(total)

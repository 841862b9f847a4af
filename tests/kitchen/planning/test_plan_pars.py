"""Pars in a plan: rule P16."""

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import UseBy
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.demand import Need, foresee
from service.kitchen.planning.plan import Plan
from tests.kitchen.larder import (
    MON,
    THU,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    item,
    kitchen,
    line,
    menu_item,
    near,
    only_site,
    par,
    recipe,
    site,
    step,
)
from tests.kitchen.plans import (
    counted,
    forecast,
    list_of,
    lot,
    only_run,
    plan_forecasts,
    plan_needs,
    pulls_of,
    runs_of,
    tasks_of,
    uses_of,
    wanted,
)

GLASS = menu_item("glass", ("sauce", "100 mL"))


def bar(*pars: Document, periods: dict[str, str] | None = None, keeps: str = "P3D", makes_for: int = 1) -> Catalogue:
    """A kitchen of one sauce, sold by the glass of 100 mL, with pars."""
    return kitchen(recipe("sauce", "10 L", keeps=keeps, makes_for=makes_for), GLASS, site_with(*pars, periods=periods))


def par_needs(catalogue: Catalogue) -> tuple[Need, ...]:
    """The needs of Tuesday's pars."""
    place = only_site(catalogue)
    return foresee(catalogue, place, place.calendar(), (), {}, TUE, TUE).needs


def site_with(*pars: Document, periods: dict[str, str] | None = None) -> Site:
    return site(pars=pars, periods=periods)


def test_p16_a_par_and_a_need_in_one_run_make_both() -> None:
    # A par of 5 L by 09:00 and guests who want 2 L at 12:00: one run of 7 L.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 20)])
    run = only_run(planned, "recipe sauce")
    assert (run.quantity, run.at) == (7000, at(TUE, "09:00"))
    assert (run.main.need, run.main.have, run.main.surplus) == (7000, 0, 0)


def test_p16_what_a_par_asked_for_serves_no_other_need_until_the_run_closes_and_is_a_lot_then() -> None:
    # On Wednesday 3 L are wanted: they come from the 5 L of Tuesday's par, which is a lot by then.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 20), forecast(WED, "glass", 30)], on=WED)
    run = only_run(planned, "recipe sauce")
    (kept,) = planned.lots
    assert (kept.amount, kept.ready) == (5000, at(TUE, "09:00"))
    assert [(use.lot.source, use.amount, use.need.on) for use in planned.uses] == [(run.key, 3000, WED)]


def test_p16_a_par_takes_nothing_from_lots() -> None:
    # 5 L are on hand: the par of 09:00 is full and takes none of them, so the guests of 12:00 still find 5 L.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 50)], [counted("recipe sauce", "5 L", at(TUE, "05:00"))])
    assert planned.runs == ()
    assert [(use.amount, use.need.par) for use in planned.uses] == [(5000, None)]


def test_p16_lots_usable_at_its_time_count_towards_the_level() -> None:
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]))
    planned = plan_forecasts(catalogue, [], [counted("recipe sauce", "1.5 L", at(TUE, "05:00"))])
    # 5 L less 1.5 L are 3.5 L to make. The lot is not taken, so the task has nothing of it: it needs what the par lacks.
    made = only_run(planned, "recipe sauce").main
    assert (made.need, made.have, made.quantity) == (3500, 0, 3500)


def test_p16_lots_past_their_use_by_at_its_time_do_not_count() -> None:
    # Counted at 05:00 and keeping 3 h, the 1.5 L are gone by 09:00.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]), keeps="PT3H")
    planned = plan_forecasts(catalogue, [], [counted("recipe sauce", "1.5 L", at(TUE, "05:00"))])
    assert only_run(planned, "recipe sauce").quantity == 5000


def test_p16_what_the_open_run_makes_for_earlier_pars_counts_towards_a_later_level() -> None:
    # 5 L by 09:00 and 8 L by 15:00 in one run: the second par adds 3 L; the 2 L for the guests between are theirs: 5 + 2 + 3 = 10.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]), par("recipe sauce", "8 L", "15:00", [2]))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 20)])
    run = only_run(planned, "recipe sauce")
    assert run.quantity == 10_000
    assert run.main.for_pars == 8000
    assert [pair.by.hour for pair in run.pars] == [9, 15]


def test_p16_a_later_par_that_the_run_already_fills_adds_nothing() -> None:
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]), par("recipe sauce", "4 L", "15:00", [2]))
    run = only_run(plan_forecasts(catalogue), "recipe sauce")
    assert run.quantity == 5000
    # It lacks nothing, so the run is not for it.
    assert [pair.by.hour for pair in run.pars] == [9]


def test_p16_a_par_that_lots_fill_is_no_part_of_the_run_that_is_open() -> None:
    # 6 L become ready at noon: the run of 09:00 makes 5 L for its own par, and the par of 15:00 lacks nothing.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]), par("recipe sauce", "11 L", "15:00", [2]))
    planned = plan_needs(catalogue, par_needs(catalogue), [lot("recipe sauce", 6000, ready=at(TUE, "12:00"))])
    run = only_run(planned, "recipe sauce")
    assert (run.quantity, run.main.need, [pair.by.hour for pair in run.pars]) == (5000, 5000, [9])


def test_p16_and_y7_what_a_run_makes_for_a_par_of_one_form_of_a_cut_is_for_that_form_alone() -> None:
    # Pars of 330 g of white by 09:00 and of 550 g by 15:00: one run of 550 g, of 1,000 g of egg, with 300 g of yolk beside it.
    egg = ingredient("egg", form("yolk", "0.30", cut="separated"), form("white", "0.55", cut="separated"))
    planned = plan_forecasts(kitchen(egg, site_with(par("egg/white", "330 g", "09:00", [2]), par("egg/white", "550 g", "15:00", [2]))))
    run = only_run(planned, "egg/yolk")
    assert run.draws[0].amount == near(1000)
    assert [(output.item.form, output.for_pars, output.surplus) for output in run.outputs] == [
        ("yolk", 0, near(300)),
        ("white", near(550), 0),
    ]
    assert {each.item: each.amount for each in planned.lots} == {item("egg/yolk"): near(300), item("egg/white"): near(550)}


def test_p16_and_y7_pars_of_two_forms_of_a_cut_do_not_count_towards_each_other() -> None:
    # 90 g of yolk by 08:00 are 300 g of egg, 330 g of white by 09:00 are 600 g: one run of 600 g, whose other 90 g of yolk are surplus.
    egg = ingredient("egg", form("yolk", "0.30", cut="separated"), form("white", "0.55", cut="separated"))
    planned = plan_forecasts(kitchen(egg, site_with(par("egg/yolk", "90 g", "08:00", [2]), par("egg/white", "330 g", "09:00", [2]))))
    run = only_run(planned, "egg/yolk")
    assert run.draws[0].amount == near(600)
    assert [(output.for_pars, output.surplus) for output in run.outputs] == [(near(90), near(90)), (near(330), 0)]


def test_p2_and_p16_a_par_that_lacks_a_billionth_lacks_nothing() -> None:
    catalogue = bar(par("recipe sauce", "1 L", "09:00", [2]))
    (need,) = par_needs(catalogue)
    assert plan_needs(catalogue, [need], [lot("recipe sauce", 1000 - 0.9e-6)]).runs == ()
    assert len(plan_needs(catalogue, [need], [lot("recipe sauce", 1000 - 1.1e-6)]).runs) == 1


def test_p2_and_p16_what_fills_a_par_is_no_lot_where_it_is_a_billionth_of_its_run() -> None:
    # The par lacks a hundredth of a microlitre, the guests want a thousand litres: of those it is no billionth.
    catalogue = bar(par("recipe sauce", "1 L", "09:00", [2]))
    needs = [*par_needs(catalogue), wanted("recipe sauce", 1_000_000, TUE, "12:00")]
    planned = plan_needs(catalogue, needs, [lot("recipe sauce", 1000 - 1e-5, use_by=UseBy(at(TUE, "09:00"), included=True))])
    assert only_run(planned, "recipe sauce").main.for_pars == pytest.approx(1e-5, rel=1e-3)
    assert [each.amount for each in planned.lots] == [1000 - 1e-5]


def test_p16_a_par_of_the_next_date_sees_yesterdays_par_as_a_lot() -> None:
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2, 3]))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 20, "dinner")], on=WED)
    # Tuesday: 5 L and the 2 L of dinner join one run of 7 L. Wednesday finds 5 L usable: no run.
    assert [run.quantity for run in runs_of(planned, "recipe sauce")] == [7000]


def test_p16_a_par_in_the_middle_of_a_run_of_several_dates_sees_what_it_makes_for_the_par_before() -> None:
    # Made for two dates: Tuesday's and Wednesday's par are in one run, which makes 5 L once, not twice.
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2, 3]), makes_for=2)
    assert [run.quantity for run in runs_of(plan_forecasts(catalogue, on=WED), "recipe sauce")] == [5000]


def acceptance() -> tuple[Catalogue, Plan]:
    """A par of 5 L by 09:00 on Wednesday; 2.6 L wanted at 12:00 the day before; lots of 0.9 L (use-by that day) and 2.3 L."""
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [3]), periods={"lunch": "12:00"})
    stock: list[Counted] = [
        # Sauce keeps three days: made on Saturday, the last day is Tuesday; made on Monday, it is Thursday.
        counted("recipe sauce", "0.9 L", at(MON, "20:00"), MON.replace(day=28)),
        counted("recipe sauce", "2.3 L", at(MON, "20:00"), MON),
    ]
    return catalogue, plan_forecasts(catalogue, [forecast(TUE, "glass", 26)], stock, on=WED)


def test_p16_and_p3_a_par_of_the_next_morning_makes_what_lots_leave_of_it() -> None:
    # 2.6 L take the 0.9 L that expire first, then 1.7 L of the 2.3 L; 0.6 L are left, so the par makes 5 - 0.6 = 4.4 L.
    _, planned = acceptance()
    assert [use.amount for use in uses_of(planned, "recipe sauce")] == near([900, 1700])
    run = only_run(planned, "recipe sauce")
    assert (run.on, run.at) == (WED, at(WED, "09:00"))
    assert run.quantity == near(4400)


def test_p9_and_p16_the_lists_of_both_dates_say_so() -> None:
    catalogue, planned = acceptance()
    use, later = tasks_of(list_of(planned, catalogue, TUE), "use")
    assert [use["quantity"]["display"], later["quantity"]["display"]] == ["900 mL", "1.7 L"]
    assert [use["use_by"], later["use_by"]] == ["2026-12-02T04:00:00-05:00", "2026-12-04T04:00:00-05:00"]
    (make,) = tasks_of(list_of(planned, catalogue, WED))
    assert make["kind"] == "make"
    assert (make["quantity"]["display"], make["ready_by"]) == ("4.4 L", "2026-12-02T09:00:00-05:00")
    assert make["for"] == ["par 5 L by 09:00"]


def test_p16_in_shares_a_par_is_surplus_and_the_task_says_what_par_it_is_for() -> None:
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 20)])
    (task,) = tasks_of(list_of(planned, catalogue, trace=True))
    assert task["for"] == ["Glass, lunch", "par 5 L by 09:00"]
    assert [(share["menu_item"], share["quantity"]["amount"]) for share in task["shares"]] == [("glass", 2000), (None, 5000)]


def test_p16_whatever_is_made_or_pulled_for_a_par_says_so_once_at_every_level() -> None:
    # Sauce draws dice for its par, and onion besides; dip draws onion for another.
    sauce = recipe("sauce", "10 L", line("onion/dice", "5 kg"), line("onion", "1 kg"), steps=[step("PT1H")])
    dip = recipe("dip", "1 kg", line("onion", "500 g"))
    catalogue = kitchen(
        ingredient("onion", form("dice")),
        sauce,
        dip,
        site_with(par("recipe sauce", "5 L", "09:00", [2]), par("recipe dip", "1 kg", "10:00", [2])),
    )
    document = list_of(plan_forecasts(catalogue), catalogue)
    (dice,) = tasks_of(document, "prep")
    assert dice["for"] == ["par 5 L by 09:00"]
    (pull,) = pulls_of(plan_forecasts(catalogue), "onion")
    assert [each.by.hour for each in pull.pars] == [9, 10]
    assert [row["for"] for row in document["pulls"]] == [["par 5 L by 09:00", "par 1 kg by 10:00"]]


def test_p9_a_par_met_by_lots_makes_no_use_task() -> None:
    catalogue = bar(par("recipe sauce", "5 L", "09:00", [2]))
    planned = plan_forecasts(catalogue, [], [counted("recipe sauce", "6 L", at(TUE, "05:00"))])
    assert tasks_of(list_of(planned, catalogue)) == []


def test_p16_a_pars_rounding_is_surplus_beside_it_in_one_lot() -> None:
    # A par of 5 L made in whole 3 L is a run of 6 L, and all of it a lot.
    catalogue = kitchen(
        recipe("sauce", "10 L", keeps="P3D", batch={"multiple": "3 L"}), site_with(par("recipe sauce", "5 L", "09:00", [2]))
    )
    planned = plan_forecasts(catalogue)
    made = only_run(planned, "recipe sauce").main
    assert (made.need, made.quantity, made.surplus) == (5000, 6000, 1000)
    assert [lot.amount for lot in planned.lots] == [6000]


def test_p16_a_par_of_a_form_is_made_ready_as_any_need_of_it() -> None:
    onion = ingredient("onion", form("dice", "0.8", keeps="P1D"))
    planned = plan_forecasts(kitchen(onion, site_with(par("onion/dice", "2 kg", "09:00", [2]))))
    run = only_run(planned, "onion/dice")
    assert run.quantity == 2000
    assert run.draws[0].amount == near(2500)


def test_p16_a_par_outside_the_open_run_closes_it() -> None:
    # Thursday is outside the run of Tuesday: its surplus is a lot by then and fills part of the par.
    catalogue = kitchen(
        recipe("sauce", "10 L", keeps="P3D", batch={"multiple": "3 L"}),
        GLASS,
        site_with(par("recipe sauce", "5 L", "09:00", [4])),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 10)], on=THU)
    # 1 L for the guests in a run of 3 L; 2 L are left on Thursday, so 3 L are lacking.
    assert [(run.on, run.quantity) for run in runs_of(planned, "recipe sauce")] == [(TUE, 3000), (THU, 3000)]
    assert item("recipe sauce") in {lot.item for lot in planned.lots}

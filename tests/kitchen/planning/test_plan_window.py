"""How far a plan looks, and a list as a slice of it: rule P14."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.plan import Plan
from tests.kitchen.larder import (
    FRI,
    SAT,
    SUN,
    TUE,
    WED,
    Document,
    ingredient,
    kitchen,
    line,
    menu_item,
    par,
    recipe,
    site,
    step,
)
from tests.kitchen.plans import forecast, horizon_of, list_of, plan_forecasts, tasks_of


def chain() -> Catalogue:
    """Four levels with long leads, thaw and runs made for several dates."""
    return kitchen(
        ingredient("meat", thaw="P2D"),
        recipe("stock", "5 L", line("meat", "3 kg"), keeps="P4D", makes_for=3, steps=[step("PT1H", "PT20H")]),
        recipe("base", "4 kg", line("recipe stock", "2 L"), keeps="P3D", makes_for=2, steps=[step("PT1H"), step(None, "P1D")]),
        recipe("stew", "2 kg", line("recipe base", "1 kg"), batch={"multiple": "1 kg"}, keeps="P1D", steps=[step("PT1H", "PT14H")]),
        menu_item("plate", ("stew", "250 g")),
        site(pars=[par("recipe stock", "2 L", "08:00", [1, 4])]),
    )


def sheet(planned: Plan, catalogue: Catalogue, on: date) -> Document:
    return list_of(planned, catalogue, on, trace=True)


@given(st.lists(st.tuples(st.integers(0, 24), st.integers(1, 60)), max_size=12), st.integers(0, 3))
def test_p14_looking_further_ahead_does_not_change_a_dates_list(rows: list[tuple[int, int]], ahead: int) -> None:
    catalogue = chain()
    forecasts = [forecast(TUE + timedelta(days=days), "plate", count) for days, count in rows]
    on = TUE + timedelta(days=ahead)
    near_plan = plan_forecasts(catalogue, forecasts, on=on)
    far_plan = plan_forecasts(catalogue, forecasts, until=on + timedelta(days=60))
    assert sheet(near_plan, catalogue, on) == sheet(far_plan, catalogue, on)


def test_p14_a_list_for_a_later_date_is_a_slice_of_the_one_plan() -> None:
    # Tuesday's run of 2 L leaves 1 L for Wednesday: a plan from Tuesday makes nothing on Wednesday, one from Wednesday would.
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P3D", batch={"multiple": "2 L"}), menu_item("glass", ("sauce", "100 mL")))
    forecasts = [forecast(TUE, "glass", 10), forecast(WED, "glass", 10)]
    assert [task["kind"] for task in tasks_of(list_of(plan_forecasts(catalogue, forecasts, on=WED), catalogue, WED))] == ["use"]
    alone = plan_forecasts(catalogue, forecasts, first=WED, on=WED)
    assert [task["kind"] for task in tasks_of(list_of(alone, catalogue, WED))] == ["make"]


def test_p14_the_window_reaches_over_the_longest_chain_of_leads_thaw_and_makes_for() -> None:
    # Meat that leaves store before Wednesday 04:00 is needed by the end of Thursday's date, Friday 04:00, by a stock that is ready before
    # Saturday 01:00. Stocks are needed 40 h before stews: that of Sunday's lunch on Friday at 20:00. It is made for Saturday and Sunday
    # too, until Monday 04:00; a base that draws it then is ready by Tuesday 05:00. Bases are needed 15 h before stews: that of Tuesday's
    # dinner at 03:00, still Monday. It is made for Tuesday too, until Wednesday 04:00, and stews that draw it then are of Wednesday.
    assert horizon_of(chain()).until == date(2026, 12, 9)


def test_p14_work_of_a_far_date_stands_on_the_list_that_it_begins_on() -> None:
    # Stew for noon of Sunday the 6th begins at 21:00 of Saturday, its base 25 h before that, at 20:00 of Friday, the stock 21 h before
    # that, at 23:00 of Thursday, and the meat thaws from 23:00 of Tuesday on.
    catalogue = chain()
    planned = plan_forecasts(catalogue, [forecast(SUN, "plate", 8)], on=TUE)
    rows = list_of(planned, catalogue, TUE)
    assert [row["item"]["ingredient"] for row in rows["pulls"]] == ["meat"]
    days = {on: [task["item"]["recipe"] for task in tasks_of(list_of(planned, catalogue, on))] for on in (FRI, SAT)}
    assert days == {FRI: ["base"], SAT: ["stew"]}

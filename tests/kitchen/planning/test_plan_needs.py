"""Needs and lots: rules P2, P3 and P9 in a plan."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.book.site import Par
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.demand import Need
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.stock import Lot, Shelf
from tests.kitchen.larder import EVERY_DAY, MON, THU, TUE, WED, at, item, kitchen, line, recipe
from tests.kitchen.plans import lot, only_run, plan_needs, runs_of, uses_of, wanted

SAUCE = kitchen(recipe("sauce", "10 L", keeps="P3D"))
MINUTE = timedelta(minutes=1)


def shelf_order(*lots: Lot) -> list[float]:
    """The amounts of lots in the order in which a need of all takes them."""
    found = Shelf(list(lots))
    return [amount for _, amount in found.take(sum(each.amount for each in lots), at(TUE, "12:00"))]


def par_need(level: float, clock: str) -> Need:
    by = at(TUE, clock)
    par = Par(item("recipe sauce"), Quantity.read({"amount": 1, "unit": "L"}), frozenset(EVERY_DAY), by.time())
    return Need(item=item("recipe sauce"), at=by, amount=level, label="sauce", par=par, on=TUE)


def test_p2_needs_are_met_in_order_of_time() -> None:
    # 3 L on hand: the need of 08:00 gets them although the one of 12:00 is stated first.
    planned = plan_needs(
        SAUCE,
        [wanted("recipe sauce", 3000, TUE, "12:00", "late"), wanted("recipe sauce", 3000, TUE, "08:00", "early")],
        [lot("recipe sauce", 3000)],
    )
    assert [(use.need.label, use.amount) for use in planned.uses] == [("early", 3000)]
    assert only_run(planned, "recipe sauce").at == at(TUE, "12:00")


def test_p2_at_one_moment_consumption_comes_before_pars() -> None:
    # 2 L on hand, 2 L wanted and a par of 2 L at one moment: the guests take the lot, so the par finds nothing and makes 2 L.
    planned = plan_needs(SAUCE, [par_need(2000, "12:00"), wanted("recipe sauce", 2000, TUE, "12:00")], [lot("recipe sauce", 2000)])
    assert [use.amount for use in planned.uses] == [2000]
    assert only_run(planned, "recipe sauce").quantity == 2000


def test_p2_at_one_moment_needs_come_by_date_period_event_and_menu_item() -> None:
    def need(menu_item: str, period: str, event: str | None) -> Need:
        outlet = Outlet(menu_item, TUE, period, event)
        return Need(item=item("recipe sauce"), at=at(TUE, "12:00"), amount=1000, portions=0, outlet=outlet, label=menu_item, on=TUE)

    given_needs = [
        need("b", "lunch", "z"),
        need("b", "lunch", None),
        need("a", "lunch", "z"),
        need("z", "brunch", "z"),
        need("c", "lunch", None),
    ]
    planned = plan_needs(SAUCE, given_needs, [lot("recipe sauce", 5000)])
    served = [(use.need.outlet.period, use.need.outlet.event, use.need.outlet.menu_item) for use in planned.uses if use.need.outlet]
    assert served == [("brunch", "z", "z"), ("lunch", None, "b"), ("lunch", None, "c"), ("lunch", "z", "a"), ("lunch", "z", "b")]


def test_p2_needs_of_recipes_at_one_moment_come_by_date_and_consumer() -> None:
    catalogue = kitchen(
        recipe("sauce", "10 L", keeps="P3D"),
        recipe("bake", "1 each", line("recipe sauce", "1 L")),
        recipe("anchor", "1 each", line("recipe sauce", "1 L")),
    )
    planned = plan_needs(
        catalogue,
        [wanted("recipe bake", 1, TUE, "12:00"), wanted("recipe anchor", 1, TUE, "12:00")],
        [lot("recipe sauce", 1500)],
    )
    assert [(use.need.label, use.amount) for use in uses_of(planned, "recipe sauce")] == [("anchor", 1000), ("bake", 500)]


def test_p2_what_is_left_of_a_need_at_a_billionth_of_it_is_nil() -> None:
    planned = plan_needs(SAUCE, [wanted("recipe sauce", 1000, TUE, "12:00")], [lot("recipe sauce", 1000 - 0.9e-6)])
    assert planned.runs == ()
    planned = plan_needs(SAUCE, [wanted("recipe sauce", 1000, TUE, "12:00")], [lot("recipe sauce", 1000 - 1.1e-6)])
    assert only_run(planned, "recipe sauce").quantity == pytest.approx(1.1e-6, rel=1e-3)
    # At a billionth of it, as under it: a millilitre of a billion.
    planned = plan_needs(SAUCE, [wanted("recipe sauce", 1_000_000_000, TUE, "12:00")], [lot("recipe sauce", 999_999_999)])
    assert planned.runs == ()


def test_p2_what_is_left_of_a_lot_at_a_billionth_of_it_is_nil() -> None:
    hair, more = lot("recipe sauce", 1000), lot("recipe sauce", 1000)
    assert hair.take(1000 - 0.9e-6, at(TUE, "12:00")) == 1000 - 0.9e-6
    assert (hair.left, hair.held(at(TUE, "13:00"))) == (0, 0)
    more.take(1000 - 1.1e-6, at(TUE, "12:00"))
    assert more.left > 0
    assert more.held(at(TUE, "13:00")) > 0


def test_p2_surplus_at_a_billionth_of_its_run_is_nil() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": "1 L"}, keeps="P3D"))
    planned = plan_needs(catalogue, [wanted("recipe sauce", 1000 - 0.9e-6, TUE, "12:00")])
    assert only_run(planned, "recipe sauce").main.surplus == 0
    assert planned.lots == ()
    planned = plan_needs(catalogue, [wanted("recipe sauce", 1000 - 1.1e-6, TUE, "12:00")])
    assert only_run(planned, "recipe sauce").main.surplus > 0
    assert len(planned.lots) == 1


def test_p3_a_lot_serves_from_the_moment_it_is_ready() -> None:
    at_noon = lot("recipe sauce", 1000, ready=at(TUE, "12:00"))
    assert at_noon.serves(at(TUE, "12:00"))
    assert not at_noon.serves(at(TUE, "12:00") - MINUTE)


def test_p3_a_lot_does_not_serve_past_its_use_by() -> None:
    planned = plan_needs(
        SAUCE,
        [wanted("recipe sauce", 1000, TUE, "20:00"), wanted("recipe sauce", 1000, WED, "12:00")],
        [lot("recipe sauce", 5000, TUE)],
    )
    # Tuesday's guests take 1 L; on Wednesday the other 4 L are past their use-by and 1 L is made.
    assert [(use.need.on, use.amount) for use in planned.uses] == [(TUE, 1000)]
    assert only_run(planned, "recipe sauce").at == at(WED, "12:00")


def test_p3_first_expired_first_out() -> None:
    assert shelf_order(lot("recipe sauce", 1), lot("recipe sauce", 2, WED), lot("recipe sauce", 3, TUE)) == [3, 2, 1]


def test_p3_of_lots_that_expire_together_the_first_ready_goes_first() -> None:
    morning, night = at(TUE, "08:00"), at(MON, "22:00")
    assert shelf_order(lot("recipe sauce", 1, WED, ready=morning), lot("recipe sauce", 2, WED, ready=night)) == [2, 1]


def test_p3_of_lots_ready_together_the_older_version_goes_first() -> None:
    assert shelf_order(lot("recipe sauce", 1, WED, version=3), lot("recipe sauce", 2, WED, version=2)) == [2, 1]
    # The older version does not go before what is ready first, nor that before what expires first.
    night = at(MON, "22:00")
    assert shelf_order(
        lot("recipe sauce", 1, WED, version=1, ready=at(TUE, "08:00")), lot("recipe sauce", 2, WED, version=2, ready=night)
    ) == [2, 1]
    assert shelf_order(lot("recipe sauce", 1, THU, ready=night), lot("recipe sauce", 2, WED, ready=at(TUE, "08:00"))) == [2, 1]


def test_p3_an_expiry_that_excludes_its_moment_comes_before_one_that_includes_it() -> None:
    until = lot("recipe sauce", 1, TUE)
    included = lot("recipe sauce", 2, use_by=until.use_by._replace(included=True))
    assert shelf_order(included, until) == [1, 2]


def test_p9_need_is_have_and_quantity_without_surplus() -> None:
    # 5 L wanted, 2 L on hand, made in whole litres of 2: 4 L for 3 L, 1 L over: 5 = 2 + 4 - 1.
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": "2 L"}, keeps="P3D"))
    planned = plan_needs(catalogue, [wanted("recipe sauce", 5000, TUE, "12:00")], [lot("recipe sauce", 2000)])
    made = only_run(planned, "recipe sauce").main
    assert (made.need, made.have, made.quantity, made.surplus) == (5000, 2000, 4000, 1000)


def test_p9_a_need_that_lots_meet_within_a_run_still_counts_in_it() -> None:
    # The lot of 2 L is ready at noon: the run of 10:00 makes 1 L; the 2 L wanted at 13:00 come from the lot, and the run tells both.
    planned = plan_needs(
        SAUCE,
        [wanted("recipe sauce", 1000, TUE, "10:00"), wanted("recipe sauce", 2000, TUE, "13:00")],
        [lot("recipe sauce", 2000, ready=at(TUE, "12:00"))],
    )
    made = only_run(planned, "recipe sauce").main
    assert (made.need, made.have, made.quantity, made.surplus) == (3000, 2000, 1000, 0)


def test_p9_needs_before_a_run_opens_are_not_told_by_it() -> None:
    planned = plan_needs(
        SAUCE,
        [wanted("recipe sauce", 2000, TUE, "08:00"), wanted("recipe sauce", 1000, TUE, "10:00")],
        [lot("recipe sauce", 2000)],
    )
    made = only_run(planned, "recipe sauce").main
    assert (made.need, made.have, made.quantity) == (1000, 0, 1000)
    assert runs_of(planned, "recipe sauce")[0].at == at(TUE, "10:00")


@given(
    st.lists(st.floats(min_value=0.1, max_value=5000), min_size=1, max_size=6),
    st.lists(st.floats(min_value=0.1, max_value=5000), max_size=4),
    st.sampled_from([None, "250 mL", "2 L"]),
)
def test_p9_need_is_have_and_quantity_without_surplus_whatever_is_on_hand(
    amounts: list[float], stock: list[float], multiple: str | None
) -> None:
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": multiple} if multiple else {}, keeps="P3D", makes_for=2))
    clocks = ("08:00", "09:00", "10:00", "12:00", "17:00", "21:00")
    planned = plan_needs(
        catalogue,
        [wanted("recipe sauce", amount, TUE, clock) for amount, clock in zip(amounts, clocks, strict=False)],
        [lot("recipe sauce", amount) for amount in stock],
    )
    for run in planned.runs:
        made = run.main
        assert made.need == pytest.approx(made.have + made.quantity - made.surplus, rel=1e-8)

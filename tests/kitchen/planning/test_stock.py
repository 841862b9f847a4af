"""Lots and shelves by themselves: rules P2, P3 and Y4 to the last moment and the last billionth."""

from service.kitchen.planning.stock import Shelf
from tests.kitchen.larder import TUE, WED, at, kitchen, recipe
from tests.kitchen.plans import list_of, lot, plan_needs, uses_of, wanted

NOON = at(TUE, "12:00")
SAUCE = kitchen(recipe("sauce", "10 L", keeps="P3D"))


def test_y4_what_is_taken_at_a_moment_is_still_held_before_it() -> None:
    stock = lot("recipe sauce", 1000)
    stock.take(400, NOON)
    assert (stock.held(NOON), stock.held(at(TUE, "12:01"))) == (1000, 600)


def test_y4_what_is_taken_at_the_first_moment_of_the_next_date_is_left_over_on_this_one() -> None:
    # Wednesday begins at 04:00: what is taken then was there at the end of Tuesday.
    planned = plan_needs(SAUCE, [wanted("recipe sauce", 400, WED, "04:00")], [lot("recipe sauce", 1000)])
    amounts = [[row["quantity"]["amount"] for row in list_of(planned, SAUCE, on)["left_over"]] for on in (TUE, WED)]
    assert amounts == [[1000], [600]]


def test_p2_exactly_a_billionth_of_a_lot_is_nil() -> None:
    # A billion millilitres less all but one of them.
    stock = lot("recipe sauce", 1_000_000_000)
    stock.take(999_999_999, NOON)
    assert (stock.left, stock.held(at(TUE, "13:00"))) == (0, 0)


def test_p2_no_second_lot_is_opened_for_a_billionth_of_a_need() -> None:
    # The first lot is 0.9 millionths short of the 1,000 mL: a billionth of them is 1 millionth.
    lots = [lot("recipe sauce", 1000 - 0.9e-6, TUE), lot("recipe sauce", 500, WED)]
    planned = plan_needs(SAUCE, [wanted("recipe sauce", 1000, TUE, "12:00")], lots)
    assert [use.lot for use in uses_of(planned, "recipe sauce")] == lots[:1]
    assert planned.runs == ()
    # Two millionths short are more than nil.
    lots = [lot("recipe sauce", 1000 - 2e-6, TUE), lot("recipe sauce", 500, WED)]
    planned = plan_needs(SAUCE, [wanted("recipe sauce", 1000, TUE, "12:00")], lots)
    assert [use.lot for use in uses_of(planned, "recipe sauce")] == lots


def test_p3_of_lots_alike_in_all_else_the_smaller_goes_first_however_they_were_counted() -> None:
    for amounts in ((1.0, 2.0, 3.0), (3.0, 1.0, 2.0)):
        shelf = Shelf([lot("recipe sauce", amount, WED) for amount in amounts])
        assert [amount for _, amount in shelf.take(6, NOON)] == [1, 2, 3]

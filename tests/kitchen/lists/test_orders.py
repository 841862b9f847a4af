"""Orders over a delivery window: pulls less stock in store, in whole packs (P13, S3, C2)."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists.orders import OrderLine, Purchase, buy, order_lines
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.past import Closed, Facts, Past
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import Fixed, FixedPull, Report, Reported
from tests.kitchen.larder import FRI, MON, SITE, THU, TUE, WED, at, ingredient, kitchen, near, only_site
from tests.kitchen.plans import counted, plan_needs, pulls_of, wanted
from tests.kitchen.prices import bought, pack, written
from tests.kitchen.reports import said

MORNING = at(TUE, "05:00")


def flour(*packs: dict[str, Any], **fields: Any) -> Catalogue:
    return kitchen(bought("flour", *packs, **fields))


def needs(catalogue: Catalogue, *rows: tuple[date, float], first: date = TUE) -> Plan:
    """A plan in which so many grams of flour are needed at noon of some dates."""
    return plan_needs(catalogue, [wanted("flour", amount, on, "12:00") for on, amount in rows], first=first)


def orders(catalogue: Catalogue, planned: Plan, stock: Iterable[Counted] = (), window: tuple[date, date] = (TUE, FRI)) -> list[OrderLine]:
    """What is ordered for a plan where so much was counted, whatever pulls the plan knows of already."""
    where = only_site(catalogue)
    past = Past(catalogue, where, Facts(fixed=Fixed(pulls=planned.reported.pulls), counted=tuple(stock)))
    reported = past.take_in(past.close(Closed(on=date.min), planned.first)[-1])
    return order_lines(replace(planned, reported=reported), catalogue, where, window)


def only(lines: list[OrderLine]) -> OrderLine:
    (line,) = lines
    return line


def in_store(amount: str, when: datetime = MORNING, made_on: date | None = None) -> Counted:
    return counted("flour", amount, when, made_on, in_store=True)


def test_p13_an_order_is_the_pulls_of_the_window_less_stock_in_store() -> None:
    catalogue = flour()
    line = only(orders(catalogue, needs(catalogue, (TUE, 3000), (THU, 4000)), [in_store("2 kg")]))
    assert (line.pulls, line.on_hand, line.order) == (near(7000), near(2000), near(5000))


def test_p13_what_is_on_tap_is_not_ordered() -> None:
    catalogue = flour(on_tap=True)
    planned = needs(catalogue, (TUE, 3000))
    assert orders(catalogue, planned) == []
    # A scaling names it all the same: it goes into the pot.
    assert [pull.amount for pull in pulls_of(planned, "flour")] == [near(3000)]


def test_p13_only_pulls_whose_list_date_lies_in_the_window_count() -> None:
    catalogue = flour()
    planned = needs(catalogue, (TUE, 1000), (WED, 2000), (THU, 4000), (FRI, 8000))
    assert only(orders(catalogue, planned, window=(WED, THU))).pulls == near(6000)


def test_p13_a_thawing_pull_is_ordered_for_the_date_on_which_it_leaves_store() -> None:
    catalogue = flour(thaw="P2D")
    planned = needs(catalogue, (FRI, 1000))
    assert only(orders(catalogue, planned, window=(WED, WED))).pulls == near(1000)
    assert orders(catalogue, planned, window=(THU, FRI)) == []


def test_p13_a_late_pull_is_ordered_on_the_first_date() -> None:
    catalogue = flour(thaw="P2D")
    assert only(orders(catalogue, needs(catalogue, (WED, 1000)), window=(TUE, TUE))).pulls == near(1000)


def test_p13_stock_that_covers_the_pulls_leaves_nothing_to_order() -> None:
    catalogue = flour(pack("1 kg", "1.00 EUR"))
    line = only(orders(catalogue, needs(catalogue, (TUE, 3000)), [in_store("5 kg")]))
    assert (line.pulls, line.on_hand, line.order, line.purchase, line.unpriced) == (near(3000), near(5000), 0, None, False)


def test_p13_stock_that_covers_the_pulls_to_a_billionth_leaves_nothing_to_order() -> None:
    catalogue = flour(pack("1 kg", "1.00 EUR"))
    assert only(orders(catalogue, needs(catalogue, (TUE, 3000.000001)), [in_store("3 kg")])).order == 0


def test_p13_stock_in_the_kitchen_is_already_in_the_pull_and_is_not_counted_twice() -> None:
    catalogue = flour()
    line = only(orders(catalogue, needs(catalogue, (TUE, 3000)), [counted("flour", "2 kg", MORNING)]))
    assert (line.on_hand, line.order) == (0, near(3000))


def test_p13_what_earlier_pulls_take_is_not_on_hand_for_the_window() -> None:
    # 5 kg in store; Tuesday takes 4, so that Wednesday's window finds 1.
    catalogue = flour()
    line = only(orders(catalogue, needs(catalogue, (TUE, 4000), (WED, 3000)), [in_store("5 kg")], (WED, WED)))
    assert (line.pulls, line.on_hand, line.order) == (near(3000), near(1000), near(2000))


def test_p13_stock_past_its_use_by_when_it_is_needed_is_not_on_hand() -> None:
    # Counted on Tuesday with P1D: usable on Wednesday, not on Thursday.
    catalogue = flour(keeps="P1D")
    line = only(orders(catalogue, needs(catalogue, (WED, 1000), (THU, 1000)), [in_store("5 kg")]))
    assert (line.on_hand, line.order) == (near(1000), near(1000))


def test_p13_stock_must_be_usable_when_it_is_needed_and_not_only_when_it_is_taken_out() -> None:
    # Needed on Thursday and taken out on Tuesday to thaw; counted on Tuesday with P1D.
    catalogue = flour(keeps="P1D", thaw="P2D")
    line = only(orders(catalogue, needs(catalogue, (THU, 1000)), [in_store("5 kg")]))
    assert (line.on_hand, line.order) == (0, near(1000))


def test_p13_stock_past_its_use_by_before_the_first_date_is_not_on_hand() -> None:
    catalogue = flour(keeps="P1D")
    assert only(orders(catalogue, needs(catalogue, (TUE, 1000)), [in_store("5 kg", made_on=date(2026, 11, 29))])).on_hand == 0
    assert only(orders(catalogue, needs(catalogue, (TUE, 1000)), [in_store("5 kg", made_on=MON)])).on_hand == near(5000)


def test_p13_an_order_always_is_the_pulls_less_what_is_on_hand() -> None:
    catalogue = flour(keeps="P2D")
    planned = needs(catalogue, (TUE, 1000), (WED, 700), (THU, 900), (FRI, 300))
    stock = [in_store("1.2 kg", made_on=MON), in_store("400 g")]
    for window in ((TUE, TUE), (TUE, WED), (WED, THU), (THU, FRI), (TUE, FRI)):
        line = only(orders(catalogue, planned, stock, window))
        assert line.order == near(max(0.0, line.pulls - line.on_hand)), window


def test_p15_what_was_pulled_since_the_count_is_no_longer_in_store_and_not_ordered() -> None:
    catalogue = flour()
    planned = needs(catalogue, (TUE, 3000), (WED, 4000))
    first, second = pulls_of(planned, "flour")

    def after(report: Report) -> OrderLine:
        reported = Reported(pulls=(FixedPull(first, report),))
        return only(orders(catalogue, replace(planned, pulls=(second,), reported=reported), [in_store("6 kg")]))

    done = after(said(at(TUE, "08:00")))
    assert (done.pulls, done.on_hand, done.order) == (near(4000), near(3000), near(1000))
    less = after(said(at(TUE, "08:00"), made=1000.0))
    assert (less.on_hand, less.order) == (near(5000), 0)
    before_the_count = after(said(at(TUE, "04:30")))
    assert before_the_count.on_hand == near(6000)


# Packs.


def purchase(short: float, *packs: dict[str, Any]) -> Purchase | None:
    return buy(bought("flour", *packs), SITE, TUE, short)


def chosen(short: float, *packs: dict[str, Any]) -> tuple[str, int, str | None]:
    found = purchase(short, *packs)
    assert found is not None
    return found.pack.label, found.count, written(found.cost)


def test_p13_an_order_is_rounded_up_to_whole_packs() -> None:
    catalogue = flour(pack("2 kg", "3.00 EUR"))
    line = only(orders(catalogue, needs(catalogue, (TUE, 5000))))
    assert (line.order, chosen(5000, pack("2 kg", "3.00 EUR"))) == (near(6000), ("case", 3, "9.00 EUR"))


@pytest.mark.parametrize(("short", "count"), [(6000.000001, 3), (6000.01, 4), (5999.999999, 3), (0.001, 1)])
def test_s3_rounding_up_to_packs_tolerates_a_billionth_and_buys_at_least_one(short: float, count: int) -> None:
    assert chosen(short, pack("2 kg", "3.00 EUR"))[1] == count


def test_p13_a_tenth_of_a_pack_that_binary_fractions_cannot_hold_is_no_pack_more() -> None:
    assert chosen(300.0, pack("100 g", "0.10 EUR"))[1] == 3
    assert chosen(0.1 + 0.2, pack("0.1 g", "0.10 EUR"))[1] == 3


def test_p13_the_pack_that_is_cheapest_per_unit_is_bought_whatever_is_left_of_it() -> None:
    assert chosen(1500, pack("1 kg", "2.00 EUR", "bag"), pack("25 kg", "30.00 EUR", "sack")) == ("sack", 1, "30.00 EUR")


def test_p13_the_cheapest_per_unit_is_bought_even_if_more_packs_are_needed() -> None:
    assert chosen(4000, pack("1 kg", "1.00 EUR", "bag"), pack("5 kg", "10.00 EUR", "sack")) == ("bag", 4, "4.00 EUR")


def test_p13_of_packs_equally_cheap_per_unit_the_fewest_are_bought() -> None:
    assert chosen(4000, pack("1 kg", "2.00 EUR", "bag"), pack("5 kg", "10.00 EUR", "sack")) == ("sack", 1, "10.00 EUR")


def test_p13_a_site_buys_its_own_packs() -> None:
    assert chosen(4000, pack("1 kg", "1.00 EUR", "bag"), pack("2 kg", "9.00 USD", "box", at=SITE)) == ("box", 2, "18.00 USD")


def test_c2_a_pack_without_a_price_is_ordered_and_its_price_is_missing() -> None:
    catalogue = flour(pack("2 kg", None))
    line = only(orders(catalogue, needs(catalogue, (TUE, 3000))))
    assert (line.order, line.unpriced, chosen(3000, pack("2 kg", None))) == (near(4000), True, ("case", 2, None))


def test_c2_a_priced_pack_goes_before_one_whose_price_is_missing_or_in_a_second_currency() -> None:
    assert chosen(1000, pack("1 kg", None, "gift"), pack("1 kg", "2.00 EUR", "bag"), pack("1 kg", "1.00 USD", "box"))[0] == "bag"


def test_c2_without_a_pack_the_quantity_alone_is_ordered_and_its_price_is_missing() -> None:
    catalogue = flour()
    line = only(orders(catalogue, needs(catalogue, (TUE, 3000))))
    assert (line.order, line.purchase, line.unpriced) == (near(3000), None, True)


def test_p13_the_packs_of_a_window_are_those_in_force_on_its_first_date() -> None:
    catalogue = flour(pack("1 kg", "1.00 EUR"), pack("1 kg", "5.00 EUR", since=WED))
    planned = needs(catalogue, (THU, 1000))
    costs = [only(orders(catalogue, planned, window=(first, FRI))).purchase for first in (TUE, WED)]
    assert [written(each.cost) for each in costs if each] == ["1.00 EUR", "5.00 EUR"]


def test_p13_lines_stand_in_order_of_item() -> None:
    catalogue = kitchen(ingredient("salt"), ingredient("flour"))
    planned = plan_needs(catalogue, [wanted(code, 1000, TUE, "12:00") for code in ("salt", "flour")])
    assert [line.item.label for line in orders(catalogue, planned)] == ["flour", "salt"]

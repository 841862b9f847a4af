"""Pulls in a plan: rule P13, with Y4 where by-products come before them."""

from datetime import timedelta

import pytest

from service.kitchen.book.catalogue import Catalogue
from tests.kitchen.larder import (
    FRI,
    MON,
    SAT,
    THU,
    TUE,
    WED,
    at,
    form,
    ingredient,
    item,
    kitchen,
    line,
    menu_item,
    near,
    reading,
    recipe,
    step,
)
from tests.kitchen.plans import counted, forecast, list_of, lot, only_run, plan_forecasts, plan_needs, pulls_of, runs_of, wanted


def roasts(thaw: str | None = "P2D") -> Catalogue:
    """A roast drawing 1.5 kg of frozen meat a kilo at 08:00 for lunch at 12:00."""
    return kitchen(
        ingredient("meat", thaw=thaw, storage="frozen"),
        recipe("roast", "1 kg", line("meat", "1.5 kg"), steps=[step("PT1H", "PT3H")]),
        menu_item("plate", ("roast", "200 g")),
    )


def test_p13_ingredients_are_pulled_for_the_first_moment_they_are_needed() -> None:
    planned = plan_forecasts(roasts(None), [forecast(TUE, "plate", 10)])
    # 2 kg of roast take 3 kg of meat at 08:00.
    (pull,) = pulls_of(planned, "meat")
    assert (pull.on, pull.at, pull.starts, pull.amount) == (TUE, at(TUE, "08:00"), at(TUE, "08:00"), near(3000))
    assert [run.item for run in planned.runs] == [item("recipe roast")]


def test_p13_one_pull_holds_all_the_needs_of_a_business_date() -> None:
    planned = plan_forecasts(
        roasts(None), [forecast(TUE, "plate", 10), forecast(TUE, "plate", 20, "dinner"), forecast(WED, "plate", 10)], on=WED
    )
    # Lunch and dinner are one run here (a roast keeps its date): 6 kg of roast, 9 kg of meat; Wednesday has its own 3 kg.
    assert [(pull.on, pull.amount) for pull in pulls_of(planned, "meat")] == [(TUE, near(9000)), (WED, near(3000))]


def test_p13_and_t7_a_pull_stands_on_the_list_of_the_date_its_thaw_begins() -> None:
    catalogue = roasts()
    planned = plan_forecasts(catalogue, [forecast(THU, "plate", 10)], on=THU)
    # Needed at 08:00 of Thursday, two days of thaw before: 08:00 of Tuesday.
    (row,) = list_of(planned, catalogue, TUE)["pulls"]
    assert (row["start_by"], row["need_by"], row["thaw"], row["late"]) == (
        "2026-12-01T08:00:00-05:00",
        "2026-12-03T08:00:00-05:00",
        "P2D",
        False,
    )
    assert row["id"] == "pull.mill-street.meat.2026-12-03T0800"
    assert [list_of(planned, catalogue, on)["pulls"] for on in (WED, THU)] == [[], []]


def test_p13_a_pull_that_should_have_begun_before_the_first_date_is_late_on_its_list() -> None:
    catalogue = roasts()
    planned = plan_forecasts(catalogue, [forecast(WED, "plate", 10)], on=TUE)
    (row,) = list_of(planned, catalogue, TUE)["pulls"]
    # Its moment stays Monday's; only the list becomes Tuesday's.
    assert (row["start_by"], row["late"]) == ("2026-11-30T08:00:00-05:00", True)
    assert row["at_risk"] == [{"menu_item": "plate", "date": "2026-12-02", "period": "lunch", "event": None, "portions": 10}]


def test_t7_thaw_is_elapsed_time() -> None:
    # Needed at 03:30 of Tuesday, which is Monday's business date; 12 h before is 15:30 of Monday.
    catalogue = roasts("PT12H")
    planned = plan_needs(catalogue, [wanted("meat", 1000, TUE, "03:30")], first=MON)
    (pull,) = pulls_of(planned, "meat")
    assert (pull.on, reading(pull.starts)) == (MON, "2026-11-30 15:30")


def test_p13_stock_counted_in_the_kitchen_shrinks_a_pull_and_moves_its_need_by() -> None:
    # 3 kg in the kitchen meet the draw of lunch; the pull is for dinner's, at 14:00 for 18:00.
    catalogue = kitchen(
        ingredient("meat", thaw="PT6H"),
        recipe("roast", "1 kg", line("meat", "1.5 kg"), steps=[step("PT1H", "PT3H")], keeps="PT1H"),
        menu_item("plate", ("roast", "200 g")),
    )
    planned = plan_forecasts(
        catalogue,
        [forecast(TUE, "plate", 10), forecast(TUE, "plate", 20, "dinner")],
        [counted("meat", "4 kg", at(TUE, "05:00"))],
    )
    assert [run.at for run in runs_of(planned, "recipe roast")] == [at(TUE, "12:00"), at(TUE, "18:00")]
    # Lunch takes 3 kg; the 1 kg left go towards the 6 kg of dinner.
    (pull,) = pulls_of(planned, "meat")
    assert (pull.at, pull.starts, pull.amount) == (at(TUE, "14:00"), at(TUE, "08:00"), near(5000))


def test_p13_stock_counted_in_store_does_not_shrink_a_pull() -> None:
    planned = plan_forecasts(roasts(None), [forecast(TUE, "plate", 10)], [counted("meat", "50 kg", at(TUE, "05:00"), in_store=True)])
    assert [pull.amount for pull in pulls_of(planned, "meat")] == [near(3000)]


def test_p13_a_need_wholly_met_in_the_kitchen_asks_for_no_pull() -> None:
    planned = plan_forecasts(roasts(), [forecast(TUE, "plate", 10)], [counted("meat", "3 kg", at(TUE, "05:00"))])
    assert planned.pulls == ()


def test_y4_a_by_product_is_used_before_anything_is_pulled_for_it() -> None:
    # 10 kg AP of leg give 2 kg of bones at 06:00; the stock wants 5 kg at 10:00: 3 kg are pulled.
    catalogue = kitchen(
        ingredient("leg", form("boned", "0.6", gives={"bones": "0.2"})),
        ingredient("bones", keeps="P2D"),
        recipe("stock", "10 L", line("bones", "5 kg"), steps=[step("PT2H")]),
    )
    planned = plan_needs(catalogue, [wanted("leg/boned", 6000, TUE, "06:00"), wanted("recipe stock", 10_000, TUE, "12:00")])
    (pull,) = pulls_of(planned, "bones")
    assert pull.amount == near(3000)
    assert [(use.lot.source, use.amount) for use in planned.uses] == [(only_run(planned, "leg/boned").key, near(2000))]


def test_y4_a_by_product_that_comes_too_late_does_not_shrink_the_pull() -> None:
    catalogue = kitchen(
        ingredient("leg", form("boned", "0.6", gives={"bones": "0.2"})),
        ingredient("bones", keeps="P2D"),
        recipe("stock", "10 L", line("bones", "5 kg"), steps=[step("PT2H")]),
    )
    planned = plan_needs(catalogue, [wanted("leg/boned", 6000, TUE, "10:01"), wanted("recipe stock", 10_000, TUE, "12:00")])
    assert pulls_of(planned, "bones")[0].amount == near(5000)


@pytest.mark.parametrize(("drawn", "pulled"), [("recipe roast", 4800), ("hen/jointed", 3800)])
def test_y4_an_item_that_receives_a_by_product_comes_after_every_item_that_gives_it(drawn: str, pulled: float) -> None:
    # Bones are drawn by the stock alone, and given deep below a buffet, by a roast or by trimming a hen.
    catalogue = kitchen(
        ingredient("hen", form("jointed", "0.5", gives={"bones": "0.3"})),
        ingredient("bones", keeps="P2D"),
        recipe("roast", "1 kg", gives={"bones": "100 g"}),
        recipe("platter", "1 each", line(drawn, "1 kg")),
        recipe("buffet", "1 each", line("recipe platter", "1 each")),
        recipe("stock", "10 L", line("bones", "5 kg")),
    )
    planned = plan_needs(catalogue, [wanted("recipe stock", 10_000, WED, "12:00"), wanted("recipe buffet", 2, TUE, "12:00")])
    # Of the 5 kg two kilos of roast give 2 × 100 g, or two kilos of hen, 4 kg AP at 0.5, 0.3 of that: 1.2 kg.
    assert pulls_of(planned, "bones")[0].amount == near(pulled)


def test_d3_a_pull_is_told_up_and_in_whole_pieces() -> None:
    catalogue = kitchen(ingredient("bird", piece="1.8 kg"), ingredient("salt"), ingredient("bun", kind="count"))
    needs = [wanted("bird", 3610, TUE, "12:00"), wanted("salt", 2010, TUE, "12:00"), wanted("bun", 3, TUE, "12:00")]
    planned = plan_needs(catalogue, needs, [lot("salt", 0.004)])
    rows = {row["item"]["ingredient"]: row for row in list_of(planned, catalogue)["pulls"]}
    assert (rows["bird"]["quantity"]["display"], rows["bird"]["pieces"]) == ("3.65 kg, 3 each", 3)
    # 2009.996 g: to the nearest step it would read 2 kg, and be short.
    assert (rows["salt"]["quantity"]["display"], rows["salt"]["pieces"]) == ("2.05 kg", None)
    assert (rows["bun"]["quantity"]["display"], rows["bun"]["pieces"]) == ("3 each", None)


def left(catalogue: Catalogue, planned_needs: list[tuple[str, float, str]], on_list: int = 0) -> list[tuple[str, str, str | None]]:
    """The left-over rows of Tuesday (or of so many days later) after some needs of Tuesday."""
    planned = plan_needs(catalogue, [wanted(words, amount, TUE, clock) for words, amount, clock in planned_needs])
    rows = list_of(planned, catalogue, TUE + timedelta(days=on_list))["left_over"]
    return [(row["item"]["title"], row["quantity"]["display"], row["use_by"]) for row in rows]


def test_y4_left_over_tells_what_lots_still_hold_at_the_end_of_the_date() -> None:
    catalogue = kitchen(
        ingredient("leg", form("boned", "0.6", gives={"bones": "0.2", "fat": "0.1"})),
        ingredient("bones", keeps="P1D"),
        ingredient("fat"),
        recipe("scone", "12 each", batch={"multiple": "12 each"}, keeps="P1D"),
    )
    needs = [("leg/boned", 6000.0, "12:00"), ("recipe scone", 5.0, "12:00")]
    tuesday = [
        ("Bones", "2 kg", "2026-12-03T04:00:00-05:00"),
        ("Scone", "7 each", "2026-12-03T04:00:00-05:00"),
        ("Fat", "1 kg", None),
    ]
    assert left(catalogue, needs) == tuesday
    # Usable on Wednesday they are all still there; on Thursday only what keeps for ever is.
    assert left(catalogue, needs, 1) == tuesday
    assert left(catalogue, needs, 2) == tuesday[2:]


def test_y4_left_over_has_one_row_per_item_and_use_by() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P3D"))
    lots = [lot("recipe sauce", 1000, WED), lot("recipe sauce", 500, WED), lot("recipe sauce", 250, THU), lot("recipe sauce", 9000, MON)]
    planned = plan_needs(catalogue, [], lots)
    assert [row["quantity"]["amount"] for row in list_of(planned, catalogue)["left_over"]] == [1500, 250]


def test_y4_what_is_taken_on_a_later_date_is_still_left_over_before() -> None:
    catalogue = kitchen(recipe("sauce", "10 L", keeps="P3D"))
    planned = plan_needs(catalogue, [wanted("recipe sauce", 600, FRI, "12:00")], [lot("recipe sauce", 1000, SAT)])
    amounts = [[row["quantity"]["amount"] for row in list_of(planned, catalogue, on)["left_over"]] for on in (THU, FRI)]
    assert amounts == [[1000], [near(400)]]


def test_y4_what_is_ready_only_after_the_end_of_the_date_is_not_left_over_on_it() -> None:
    catalogue = kitchen(recipe("scone", "12 each", batch={"multiple": "12 each"}, keeps="P1D"))
    planned = plan_needs(catalogue, [wanted("recipe scone", 5, WED, "12:00")])
    assert [len(list_of(planned, catalogue, on)["left_over"]) for on in (TUE, WED)] == [0, 1]


def test_y4_raw_ingredients_in_the_kitchen_are_left_over_too_and_stock_in_store_is_not() -> None:
    catalogue = roasts(None)
    stock = [counted("meat", "5 kg", at(TUE, "05:00")), counted("meat", "50 kg", at(TUE, "05:00"), in_store=True)]
    planned = plan_forecasts(catalogue, [forecast(TUE, "plate", 10)], stock)
    assert [row["quantity"]["display"] for row in list_of(planned, catalogue)["left_over"]] == ["2 kg"]

"""Keeping: rule H2, the use-by of what is made of lots and of other runs, what would be kept or served past it, and what is past it."""

from datetime import date, timedelta
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.counted import Counted
from tests.kitchen.larder import (
    MON,
    THU,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    kitchen,
    line,
    menu_item,
    par,
    recipe,
    safety,
    site,
    step,
)
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, tasks_of

END_OF_TUESDAY = "2026-12-02T04:00:00-05:00"
END_OF_WEDNESDAY = "2026-12-03T04:00:00-05:00"
END_OF_THURSDAY = "2026-12-04T04:00:00-05:00"
END_OF_FRIDAY = "2026-12-05T04:00:00-05:00"


def salad(**fields: Any) -> Catalogue:
    """A salad that keeps to Friday, of a dressing that keeps a day and is counted on some mornings."""
    return kitchen(
        ingredient("leaf", form("washed", keeps="P5D")),
        recipe("dressing", "1 L", keeps="P1D"),
        recipe("salad", "1 kg", line("recipe dressing", "200 mL"), line("leaf/washed", "900 g"), keeps="P3D", **fields),
        menu_item("bowl", ("salad", "100 g")),
    )


def dressing_of(on: date, amount: str = "5 L") -> Counted:
    return counted("recipe dressing", amount, at(TUE, "05:00"), made_on=on)


def list_with(catalogue: Catalogue, *stock: Counted, bowls: int = 7) -> Document:
    return list_of(plan_forecasts(catalogue, [forecast(TUE, "bowl", bowls)], stock), catalogue)


def salad_of(document: Document) -> Document:
    (task,) = [task for task in tasks_of(document, "make") if task["item"].get("recipe") == "salad"]
    return task


def exceeded(document: Document) -> list[str]:
    return [each["detail"] for each in document["warnings"] if each["code"] == "keeps_exceeded"]


def test_h2_a_task_shows_the_earliest_of_its_own_use_by_and_those_of_the_lots_it_draws() -> None:
    assert salad_of(list_with(salad(), dressing_of(TUE)))["use_by"] == END_OF_WEDNESDAY
    assert salad_of(list_with(salad(), dressing_of(MON)))["use_by"] == END_OF_TUESDAY


def test_h2_a_task_shows_the_earliest_of_its_own_use_by_and_those_of_the_planned_runs_it_draws() -> None:
    # The dressing is made for the salad on Tuesday, and keeps a day; the leaves keep longer than the salad.
    assert salad_of(list_with(salad()))["use_by"] == END_OF_WEDNESDAY
    # What is made for Wednesday's noon is ready on Wednesday.
    tomorrow = plan_forecasts(salad(), [forecast(WED, "bowl", 7)], on=WED)
    assert salad_of(list_of(tomorrow, salad(), WED))["use_by"] == END_OF_THURSDAY


def test_h2_a_part_that_keeps_longer_than_the_dish_changes_nothing() -> None:
    catalogue = kitchen(
        ingredient("leaf", form("washed", keeps="P5D")),
        recipe("salad", "1 kg", line("leaf/washed", "900 g"), keeps="P3D"),
        menu_item("bowl", ("salad", "100 g")),
    )
    assert salad_of(list_with(catalogue))["use_by"] == END_OF_FRIDAY
    assert salad_of(list_with(catalogue, counted("leaf/washed", "5 kg", at(TUE, "05:00"), made_on=TUE)))["use_by"] == END_OF_FRIDAY


def soup(*steps: Document, at_step: int | None = None, **fields: Any) -> Catalogue:
    """A soup that keeps to Friday, of onions that are diced for it and keep to the end of Tuesday."""
    return kitchen(
        ingredient("onion", form("dice", keeps="P0D")),
        recipe("soup", "10 L", line("onion/dice", "1 kg", at_step), keeps="P3D", steps=steps, **fields),
        menu_item("bowl", ("soup", "1 L")),
    )


def use_by_of(catalogue: Catalogue, *stock: Counted) -> Any:
    (task,) = tasks_of(list_with(catalogue, *stock), "make")
    return task["use_by"]


COOK = step("PT30M", safety=safety("cook", "plant"))


def test_h2_what_is_made_for_a_dish_and_put_in_by_the_last_step_that_cooks_begins_a_date_of_its_own() -> None:
    assert use_by_of(soup(step("PT10M"), COOK, at_step=1)) == END_OF_FRIDAY
    assert use_by_of(soup(step("PT10M"), COOK, at_step=2)) == END_OF_FRIDAY
    assert use_by_of(soup(COOK, step("PT10M"), COOK)) == END_OF_FRIDAY
    assert use_by_of(soup(COOK, step("PT10M"), at_step=2)) == END_OF_TUESDAY
    assert use_by_of(soup(step("PT10M"), step("PT10M"), at_step=1)) == END_OF_TUESDAY


def test_h2_what_lay_there_keeps_its_date_also_where_it_is_cooked_and_guests_are_served() -> None:
    onions = counted("onion/dice", "5 kg", at(TUE, "05:00"), made_on=TUE)
    for steps, told in (
        ((COOK,), []),
        ((step("PT10M"),), ["Soup: 2 L for Bowl, lunch, Wed 2 Dec would be served past the end of Tue 1 Dec"]),
    ):
        catalogue = soup(*steps, at_step=1, makes_for=2)
        assert use_by_of(catalogue, onions) == END_OF_TUESDAY
        planned = plan_forecasts(catalogue, [forecast(on, "bowl", 2) for on in (TUE, WED)], [onions], on=WED)
        assert [detail.split(", the use-by")[0] for detail in exceeded(list_of(planned, catalogue))] == told


def test_h2_food_that_is_not_kept_cold_keeps_its_own_date() -> None:
    assert use_by_of(soup(storage="dry")) == use_by_of(soup(storage="frozen")) == END_OF_FRIDAY
    assert use_by_of(soup(storage="cold")) == END_OF_TUESDAY


def test_h2_what_is_raw_in_a_dish_that_is_ready_to_eat_was_cooked_whatever_the_steps_say() -> None:
    def roll(*, raw: bool) -> Any:
        catalogue = kitchen(
            recipe("dough", "1 kg", keeps="P0D", ready_to_eat=not raw),
            recipe("salad", "10 each", line("recipe dough", "1 kg"), keeps="P3D", ready_to_eat=True),
            menu_item("bowl", ("salad", "1 each")),
        )
        return salad_of(list_with(catalogue))["use_by"]

    assert (roll(raw=True), roll(raw=False)) == (END_OF_FRIDAY, END_OF_TUESDAY)


def test_h2_of_several_lots_the_first_to_expire_counts() -> None:
    document = list_with(salad(), dressing_of(MON, "10 mL"), dressing_of(TUE))
    assert salad_of(document)["use_by"] == END_OF_TUESDAY


def test_h2_surplus_that_would_be_kept_past_a_lot_in_it_is_warned_of() -> None:
    # 700 g are asked for and made in whole kilos: 300 g over, of Monday's dressing, which keeps to the end of Tuesday.
    rounded = salad(batch={"multiple": "1 kg"})
    (detail,) = exceeded(list_with(rounded, dressing_of(MON)))
    assert detail == (
        "Salad: 300 g beyond what is asked for would be kept past the end of Tue 1 Dec, "
        "the use-by of the Dressing in it; use or discard it by then"
    )


def test_h2_without_surplus_and_with_guests_of_the_same_date_there_is_no_warning() -> None:
    assert exceeded(list_with(salad(), dressing_of(MON))) == []
    assert exceeded(list_with(salad())) == []


def test_h2_surplus_that_would_be_kept_past_what_was_made_for_it_is_warned_of() -> None:
    (detail,) = exceeded(list_with(salad(batch={"multiple": "1 kg"})))
    assert detail.startswith("Salad: 300 g beyond what is asked for would be kept past the end of Wed 2 Dec, the use-by of the Dressing")


def test_h2_what_guests_would_be_served_past_the_date_of_a_part_is_warned_of_with_their_names() -> None:
    # Made on Tuesday for three dates; the dressing in it is good for two.
    catalogue = salad(makes_for=3)
    planned = plan_forecasts(catalogue, [forecast(on, "bowl", 7) for on in (TUE, WED, THU)], on=THU)
    (detail,) = exceeded(list_of(planned, catalogue))
    assert detail == (
        "Salad: 700 g for Bowl, lunch, Thu 3 Dec would be served past the end of Wed 2 Dec, "
        "the use-by of the Dressing in it; use or discard it by then"
    )


@pytest.mark.parametrize("ready", [True, False])
def test_h2_what_goes_into_other_food_is_served_with_it_if_it_is_ready_to_eat(ready: bool) -> None:  # noqa: FBT001 - a parameter of tests
    catalogue = kitchen(
        recipe("dressing", "1 L", keeps="P0D", ready_to_eat=ready),
        recipe("salad", "1 kg", line("recipe dressing", "200 mL"), keeps="P3D", makes_for=2, ready_to_eat=ready),
        recipe("sandwich", "10 each", line("recipe salad", "1 kg"), keeps="P3D", ready_to_eat=ready),
        menu_item("bowl", ("sandwich", "1 each")),
    )
    planned = plan_forecasts(catalogue, [forecast(on, "bowl", 10) for on in (TUE, WED)], on=WED)
    found = [detail for detail in exceeded(list_of(planned, catalogue)) if detail.startswith("Salad")]
    past = "1 kg for Sandwich would be served past the end of Tue 1 Dec, the use-by of the Dressing in it; use or discard it by then"
    assert found == ([f"Salad: {past}"] if ready else [])


def test_h2_what_fills_a_par_is_kept_too() -> None:
    catalogue = kitchen(
        recipe("dressing", "1 L", keeps="P1D"),
        recipe("salad", "1 kg", line("recipe dressing", "200 mL"), keeps="P3D"),
        menu_item("bowl", ("salad", "100 g")),
        site(pars=[par("recipe salad", "2 kg", "09:00")]),
    )
    (detail,) = exceeded(list_with(catalogue, dressing_of(MON), bowls=0))
    assert detail.startswith("Salad: 2 kg beyond what is asked for")


def test_h2_planning_goes_by_what_the_item_itself_keeps() -> None:
    # Tuesday's surplus of a kilo still serves Wednesday, though the list of Tuesday says that its dressing expires before.
    catalogue = salad(batch={"multiple": "2 kg"})
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10), forecast(WED, "bowl", 10)], [dressing_of(MON)], on=WED)
    assert exceeded(list_of(planned, catalogue, TUE)) != []
    assert [task["kind"] for task in tasks_of(list_of(planned, catalogue, WED)) if task["item"].get("recipe") == "salad"] == ["use"]


def test_h2_a_later_stage_keeps_what_an_earlier_one_put_in_and_an_earlier_one_does_not_know_a_later() -> None:
    catalogue = kitchen(
        recipe("early", "1 L", keeps="P3D"),
        recipe("late", "1 L", keeps="P3D"),
        recipe(
            "salad",
            "1 kg",
            line("recipe early", "100 mL", 1),
            line("recipe late", "100 mL", 2),
            keeps="P3D",
            steps=[step("PT1H"), step("PT1H", station="cold-line")],
        ),
        menu_item("bowl", ("salad", "100 g")),
    )

    def use_bys(*stock: Counted) -> list[str]:
        return [task["use_by"] for task in tasks_of(list_with(catalogue, *stock), "make") if task["item"]["recipe"] == "salad"]

    morning = at(TUE, "05:00")
    assert use_bys(counted("recipe early", "1 L", morning, made_on=MON)) == [END_OF_THURSDAY, END_OF_THURSDAY]
    assert use_bys(counted("recipe late", "1 L", morning, made_on=MON)) == [END_OF_FRIDAY, END_OF_THURSDAY]


def test_h2_hours_are_told_as_a_moment_of_the_clock() -> None:
    catalogue = kitchen(
        recipe("dressing", "1 L", keeps="PT10H"),
        recipe("salad", "1 kg", line("recipe dressing", "200 mL"), keeps="P3D", batch={"multiple": "1 kg"}),
        menu_item("bowl", ("salad", "100 g")),
    )
    (detail,) = exceeded(list_with(catalogue, dressing_of(TUE)))
    assert "past Tue 1 Dec 15:00" in detail


def test_h2_a_prep_task_keeps_the_date_of_what_it_is_made_of() -> None:
    # Fish counted in the kitchen on Monday keeps a day; its fillet would keep three by itself.
    catalogue = kitchen(
        ingredient("cod", form("fillet", "0.5", keeps="P3D", whole=True), piece="3 kg", keeps="P1D"),
        recipe("dish", "1 kg", line("cod/fillet", "1 kg")),
        menu_item("bowl", ("dish", "100 g")),
    )
    document = list_with(catalogue, counted("cod", "9 kg", at(TUE, "05:00"), made_on=MON))
    (task,) = tasks_of(document, "prep")
    assert task["use_by"] == END_OF_TUESDAY
    (detail,) = exceeded(document)
    assert detail.startswith("Cod, fillet: 800 g beyond")


def discards(document: Document) -> list[tuple[str, str, str]]:
    return [(each["item"]["title"], each["quantity"]["display"], each["why"]) for each in document["discard"]]


def test_h2_what_was_counted_past_its_use_is_to_be_discarded() -> None:
    # Dressing keeps a day: of Sunday's, counted on Tuesday morning, nothing may be used, of Monday's all.
    document = list_with(salad(), dressing_of(MON - timedelta(days=1), "2 L"), dressing_of(MON, "3 L"))
    assert discards(document) == [("Dressing", "2 L", "made on Sun 29 Nov, counted on Tue 1 Dec, to be used by the end of Mon 30 Nov")]
    assert document["discard"][0]["use_by"] == "2026-12-01T04:00:00-05:00"


def test_h2_a_later_date_tells_of_what_is_left_of_lots_that_expire_before() -> None:
    planned = plan_forecasts(salad(), [forecast(TUE, "bowl", 10)], [dressing_of(MON, "3 L")], on=WED)
    assert discards(list_of(planned, salad(), TUE)) == []
    # The salad took 200 mL of them.
    why = "made on Mon 30 Nov, counted on Tue 1 Dec, to be used by the end of Tue 1 Dec"
    assert discards(list_of(planned, salad(), WED)) == [("Dressing", "2.8 L", why)]


def test_h2_what_stands_in_store_is_not_discarded_by_a_list() -> None:
    catalogue = kitchen(ingredient("cod", keeps="P1D"), recipe("dish", "1 kg", line("cod", "1 kg")), menu_item("bowl", ("dish", "100 g")))
    sunday = MON - timedelta(days=1)
    stored = counted("cod", "2 kg", at(TUE, "05:00"), made_on=sunday, in_store=True)
    found = [stored, counted("cod", "3 kg", at(TUE, "05:00"), made_on=sunday)]
    assert [row[:2] for row in discards(list_with(catalogue, *found))] == [("Cod", "3 kg")]

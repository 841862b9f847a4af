"""Keeping: rule H2, the use-by of what is made of lots, and the warning where surplus would be kept past it."""

from datetime import date
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.counted import Counted
from tests.kitchen.larder import MON, TUE, WED, Document, at, form, ingredient, kitchen, line, menu_item, par, recipe, site, step
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, tasks_of

END_OF_TUESDAY = "2026-12-02T04:00:00-05:00"
END_OF_WEDNESDAY = "2026-12-03T04:00:00-05:00"
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
    assert salad_of(list_with(salad()))["use_by"] == END_OF_FRIDAY
    assert salad_of(list_with(salad(), dressing_of(TUE)))["use_by"] == END_OF_WEDNESDAY
    assert salad_of(list_with(salad(), dressing_of(MON)))["use_by"] == END_OF_TUESDAY


def test_h2_a_lot_that_keeps_longer_than_the_dish_changes_nothing() -> None:
    document = list_with(salad(), counted("leaf/washed", "5 kg", at(TUE, "05:00"), made_on=TUE))
    assert salad_of(document)["use_by"] == END_OF_FRIDAY


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


def test_h2_without_surplus_or_without_an_older_lot_there_is_no_warning() -> None:
    assert exceeded(list_with(salad(), dressing_of(MON))) == []
    assert exceeded(list_with(salad(batch={"multiple": "1 kg"}))) == []


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
        recipe("early", "1 L", keeps="P1D"),
        recipe("late", "1 L", keeps="P1D"),
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
    assert use_bys(counted("recipe early", "1 L", morning, made_on=MON)) == [END_OF_TUESDAY, END_OF_TUESDAY]
    assert use_bys(counted("recipe late", "1 L", morning, made_on=MON)) == [END_OF_FRIDAY, END_OF_TUESDAY]


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

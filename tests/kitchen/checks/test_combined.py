"""Checks of cold food that is combined: rule H2, by which it keeps no longer than its earliest part."""

from datetime import date
from typing import Any

import pytest

from service.kitchen.book.recipe import Version
from service.kitchen.checks.combined import combined_faults, outlasting_users
from service.kitchen.checks.recipe import version_faults
from service.kitchen.checks.withdrawal import withdrawal_faults
from tests.kitchen.larder import THU, TUE, WED, kitchen, line, recipe, safety, step, with_things


def cold(code: str, keeps: str | None, *lines: Any, **fields: Any) -> Version:
    """A cold recipe that is ready to eat."""
    return recipe(code, "1 kg", *lines, keeps=keeps, **{"ready_to_eat": True, "storage": "cold", **fields})


def sandwich(keeps: str | None, **fields: Any) -> Version:
    return cold("sandwich", keeps, line("recipe salad", "1 kg"), **fields)


def refused(part: Version, user: Version, *others: Version, today: date = TUE) -> list[str]:
    found = list(combined_faults(kitchen(part, user, *others), user, today))
    assert all((fault.pointer, fault.code) == ("/keeps", "keeps_exceeds_part") for fault in found)
    return [fault.detail.split(":")[0] for fault in found]


def test_h2_a_cold_dish_that_keeps_longer_than_a_cold_part_is_refused_and_says_which() -> None:
    assert refused(cold("salad", None), sandwich("P2D")) == ["this keeps P2D, and salad in it P0D"]
    assert refused(cold("salad", "P2D"), sandwich("P2D")) == []
    user = sandwich("P2D")
    found = version_faults(kitchen(cold("salad", None), user), user, TUE)
    assert [(fault.pointer, fault.code) for fault in found] == [("/keeps", "keeps_exceeds_part")]


@pytest.mark.parametrize(
    ("part", "dish", "refuses"),
    [
        ("P0D", "P1D", True),
        ("P1D", "P0D", False),
        ("PT4H", "PT4H", False),
        ("PT4H", "PT5H", True),
        # To the end of its own date a thing keeps up to a day, to that of the next up to two.
        ("PT4H", "P0D", True),
        ("PT24H", "P0D", False),
        ("P0D", "PT24H", False),
        ("P0D", "PT25H", True),
        ("P1D", "PT48H", False),
    ],
)
def test_h2_hours_and_dates_compare_by_how_long_a_thing_keeps_at_most(part: str, dish: str, refuses: bool) -> None:  # noqa: FBT001 - a parameter of tests
    assert bool(refused(cold("salad", part), sandwich(dish))) == refuses


def test_h2_a_recorded_reason_allows_it() -> None:
    assert refused(cold("salad", None), sandwich("P2D", keeps_reason="tried by the laboratory")) == []


@pytest.mark.parametrize("fields", [{"ready_to_eat": False}, {"storage": "dry"}, {"storage": None}])
def test_h2_both_are_cold_and_ready_to_eat(fields: Any) -> None:
    assert refused(cold("salad", None, **fields), sandwich("P2D")) == []
    assert refused(cold("salad", None), sandwich("P2D", **fields)) == []


COOK = step("PT10M", safety=safety("cook", "plant"))


def test_h2_what_is_put_in_by_the_last_step_that_cooks_does_not_count() -> None:
    def of_step(number: int | None) -> list[str]:
        user = cold("sandwich", "P2D", line("recipe salad", "1 kg", number), steps=[step("PT1M"), COOK, step("PT1M")])
        return refused(cold("salad", None), user)

    # A line without a step is drawn at the first.
    assert of_step(None) == of_step(1) == of_step(2) == []
    assert of_step(3) != []


def test_h2_each_part_is_told_once_wherever_and_whenever_it_keeps_shorter() -> None:
    parts = [cold("salad", "P2D"), cold("salad", "P1D", number=2, starts_on=WED), cold("salad", "P0D", number=3, starts_on=THU)]
    user = cold("sandwich", "P2D", line("recipe salad", "1 kg"), line("recipe salad", "1 kg"))
    assert refused(parts[0], user, *parts[1:]) == ["this keeps P2D, and salad in it P1D"]
    pilot = cold("salad", None, number=2, sites=["harbour"])
    assert refused(parts[0], sandwich("P2D"), pilot) == ["this keeps P2D, and salad in it P0D at site harbour"]
    # What was in force before today is nobody's matter any more.
    assert refused(cold("salad", None, withdrawn_from=TUE), sandwich("P2D"), cold("salad", "P2D", number=2, starts_on=TUE)) == []


def users_of(old: Version, new: Version, *users: Version, but: tuple[str, ...] = ()) -> list[str]:
    before = kitchen(old, *users)
    found = list(outlasting_users(before, with_things(before, new), "salad", TUE, but))
    assert all((fault.pointer, fault.code) == ("", "keeps_exceeds_part") for fault in found)
    return [fault.detail for fault in found]


def test_h2_a_part_that_is_to_keep_shorter_names_the_recipes_that_it_breaks() -> None:
    shorter = cold("salad", "P0D", number=2, starts_on=WED)
    (detail,) = users_of(cold("salad", "P2D"), shorter, sandwich("P2D"), cold("wrap", "P0D", line("recipe salad", "1 kg")))
    assert detail.startswith("recipe sandwich from 2026-12-02 keeps P2D, and salad in it would keep P0D: publish sandwich first")
    assert users_of(cold("salad", "P2D"), shorter, sandwich("P2D"), but=("sandwich",)) == []


def test_h2_a_recipe_that_outlasts_its_part_already_stands_in_nobodys_way() -> None:
    # As an older release has published it.
    assert users_of(cold("salad", "P1D"), cold("salad", "P1D", number=2, starts_on=WED), sandwich("P2D")) == []
    assert users_of(cold("salad", "P1D"), cold("salad", "P0D", number=2, starts_on=WED), sandwich("P2D")) == []


def test_h2_a_withdrawal_that_leaves_an_older_version_with_shorter_keeps_breaks_users() -> None:
    newer = cold("salad", "P2D", number=2)
    before = kitchen(cold("salad", None), newer, sandwich("P2D"))
    gone = cold("salad", "P2D", number=2, withdrawn_from=THU)
    found = withdrawal_faults(before, with_things(before, gone), gone, TUE)
    assert [(fault.pointer, fault.code) for fault in found] == [("/from", "keeps_exceeds_part")]

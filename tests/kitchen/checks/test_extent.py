"""Extent: what one batch asks for through all levels stays within what plans reckon with (U1, P14)."""

from collections.abc import Sequence

import pytest

from service.errors import BadAmount
from service.kitchen.book.recipe import Version
from service.kitchen.checks.recipe import group_faults
from service.limits import LEAD_DAYS
from tests.kitchen.larder import TUE, form, ingredient, kitchen, line, recipe, site, step
from tests.kitchen.plans import plan_needs, wanted

PANTRY = [ingredient("salt"), ingredient("herb", form("leaf", "0.000000001")), ingredient("bones")]
LEAST, MOST = "0.000000001 mg", "10000000 kg"


def faults(*published: Version, before: Sequence[Version] = ()) -> list[tuple[str, str, str]]:
    found = group_faults(kitchen(*PANTRY, *before, *published), list(published), TUE)
    return [(recipe, fault.pointer, fault.detail) for recipe, told in found.items() for fault in told]


def chain(number: int, yields: str, takes: str) -> list[Version]:
    calls = [f"recipe r{each + 1}" for each in range(number - 1)] + ["salt"]
    return [recipe(f"r{each}", yields, line(called, takes)) for each, called in enumerate(calls)]


@pytest.mark.parametrize(("yields", "takes", "amount"), [(LEAST, MOST, "1e+32"), (MOST, LEAST, "1e-34")])
def test_fourteen_recipes_of_the_least_from_the_most_are_refused_with_their_path(yields: str, takes: str, amount: str) -> None:
    first, *_ = faults(*chain(14, yields, takes))
    assert first[:2] == ("r1", "/lines/0/quantity")
    assert first[2].startswith(f"a batch of r0 asks for {amount} g of r2 (r0 → r1 → r2); through all levels an amount is from")


@pytest.mark.parametrize(("yields", "takes"), [(LEAST, MOST), (MOST, LEAST)])
def test_the_very_edge_of_one_level_is_within(yields: str, takes: str) -> None:
    assert faults(*chain(1, yields, takes)) == []


def test_who_is_published_last_is_told_wherever_it_stands_on_the_path() -> None:
    top, middle, bottom = chain(3, "1 mg", "1000 kg")
    assert [each[:2] for each in faults(middle, before=[bottom, top])] == [("r1", "/lines/0/quantity")]
    assert [each[:2] for each in faults(top, before=[middle, bottom])] == [("r0", "/lines/0/quantity")]


def test_what_others_published_before_stands_in_nobodys_way() -> None:
    other = recipe("soup", "1 kg", line("recipe r1", "1 g"), line("salt", "1 g"))
    assert faults(recipe("broth", "1 kg", line("bones", "1 kg")), before=[*chain(3, LEAST, MOST), other]) == []


def test_a_plan_of_what_was_published_before_there_was_the_limit_says_what_is_wrong() -> None:
    catalogue = kitchen(*PANTRY, *chain(16, LEAST, MOST), site())
    with pytest.raises(BadAmount, match="asks for more of r15 than a number can tell: publish it anew"):
        plan_needs(catalogue, [wanted("recipe r0", 1.0, TUE, "12:00")])


def test_a_trim_and_the_smallest_batch_count_on_the_way() -> None:
    assert [each[1] for each in faults(recipe("oil", "1 kg", line("herb/leaf", "0.5 kg")))] == []
    assert [each[1] for each in faults(recipe("oil", "1 kg", line("herb/leaf", "2 kg")))] == ["/lines/0/quantity"]
    large = {"smallest": "2000000 kg", "multiple": "2000000 kg"}
    assert [each[1] for each in faults(recipe("oil", "1 g", line("salt", "1 kg"), batch=large))] == ["/lines/0/quantity"]


def aged(code: str, days: int, *lines: str) -> Version:
    steps = [step("PT0M", f"P{min(14, left)}D") for left in range(days, 0, -14)]
    return recipe(code, "1 kg", *(line(each, "1 kg", 1) for each in lines or ("bones",)), steps=steps)


def test_p14_work_begins_at_most_so_many_days_before_through_all_levels() -> None:
    assert faults(aged("ham", LEAD_DAYS)) == []
    [(code, pointer, detail)] = faults(aged("ham", LEAD_DAYS + 1))
    assert (code, pointer) == ("ham", "/steps")
    assert f"work begins {LEAD_DAYS + 1} days before ham is ready (ham)" in detail
    [(code, pointer, detail)] = faults(aged("pie", 2, "recipe ham"), before=[aged("ham", LEAD_DAYS - 1)])
    assert (code, pointer) == ("pie", "/lines/0/quantity")
    assert "(pie → ham)" in detail


def test_a_diamond_of_many_paths_is_walked_once() -> None:
    levels = [
        [
            recipe(
                f"l{level}x{place}",
                "1 kg",
                *(line(f"recipe l{level + 1}x{below}" if level < 13 else "bones", "1 kg") for below in range(20)),
            )
            for place in range(20)
        ]
        for level in range(14)
    ]
    assert faults(*(each for level in levels for each in level)) == []

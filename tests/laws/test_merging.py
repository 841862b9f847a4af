"""Merging before rounding (P4, S3): what all asks for of an item in one window is added first, and rounded once."""

import math
from collections import defaultdict
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import strategies as st

from service.kitchen.book.item import Item
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from tests.kitchen.larder import TUE, ingredient, kitchen, line, recipe
from tests.kitchen.plans import plan_needs, wanted
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law

BATCH = 1000
PARTS = st.lists(st.integers(1, 2_500), min_size=2, max_size=4)


def planned_dishes(parts: list[int], days: list[int], makes_for: int) -> Plan:
    """The plan of dishes that each draw so many grams of one base, which is cooked in whole batches of a kilogram."""
    catalogue = kitchen(
        ingredient("bones"),
        recipe("base", "1 kg", line("bones", "1 kg"), batch={"multiple": f"{BATCH} g"}, keeps="P6D", makes_for=makes_for),
        *(recipe(f"dish-{number}", "10 kg", line("recipe base", f"{part} g")) for number, part in enumerate(parts)),
    )
    needs = [wanted(f"recipe dish-{number}", 10_000.0, TUE + timedelta(days=day), f"{9 + number}:00") for number, day in enumerate(days)]
    return plan_needs(catalogue, needs)


def base_runs(planned: Plan) -> list[Run]:
    return [run for run in planned.runs if run.item == Item.recipe("base")]


def batches(run: Run) -> float:
    return sum(batch.count * batch.quantity for batch, _ in run.batches) / BATCH


def test_two_needs_of_two_fifths_of_a_batch_are_one_batch() -> None:
    (run,) = base_runs(planned_dishes([400, 400], [0, 0], 1))
    assert batches(run) == 1
    assert run.main.surplus == pytest.approx(200)


@law(PARTS)
def test_the_needs_of_a_date_are_added_before_batches_are_rounded(parts: list[int]) -> None:
    (run,) = base_runs(planned_dishes(parts, [0] * len(parts), 1))
    assert batches(run) == math.ceil(sum(parts) / BATCH)
    assert sum(amount for _, amount in run.fed) == pytest.approx(sum(parts))


@law(PARTS, st.integers(1, 5))
def test_the_needs_of_the_dates_that_a_run_makes_for_are_added_too(parts: list[int], makes_for: int) -> None:
    planned = planned_dishes(parts, list(range(len(parts))), makes_for)
    assert [batches(run) for run in base_runs(planned)] == expected_batches(parts, makes_for)


def expected_batches(parts: list[int], makes_for: int) -> list[int]:
    """One need a day: batches of each run, whose surplus is used before another opens."""
    made: list[int] = []
    opened, asked, held = 0, 0, 0
    for day, part in enumerate(parts):
        if asked and day < opened + makes_for:
            asked += part
            continue
        if asked:
            made.append(math.ceil(asked / BATCH))
            held = made[-1] * BATCH - asked
        opened, asked, held = day, max(part - held, 0), max(held - part, 0)
    return [*made, math.ceil(asked / BATCH)] if asked else made


@law(kitchens())
def test_no_two_runs_of_an_item_could_have_been_one(kitchen: Kitchen) -> None:
    made: dict[Item, list[Run]] = defaultdict(list)
    for run in kitchen.plan().runs:
        made[run.item].append(run)
    for runs in made.values():
        for before, after in pairwise(runs):
            assert before.at <= after.at
            outside = after.on >= before.on + timedelta(days=least_makes_for(kitchen, before))
            assert outside or not all(output.use_by.covers(after.at) for output in before.outputs)


def least_makes_for(kitchen: Kitchen, run: Run) -> int:
    if run.version is not None:
        return run.version.makes_for
    return min(form.makes_for for output in run.outputs if (form := kitchen.catalogue.form(output.item)) is not None)


@law(kitchens())
def test_every_need_that_a_run_meets_lies_within_its_window(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for need, _ in run.fed:
            form = kitchen.catalogue.form(need.item)
            makes_for = run.version.makes_for if run.version is not None else form.makes_for if form is not None else 0
            assert need.on is not None
            assert run.on <= need.on < run.on + timedelta(days=makes_for)

"""Scaling (S1 to S5): more asked never takes less, and the limiting item decides how much can be made.

Two things make a plan need less of an item when more is asked, and are left out here: tested points that bend upwards
(two small batches take less than one large one), and by-products, whose supply may grow faster than what is drawn of them.
"""

from collections.abc import Iterator

import pytest
from hypothesis import assume
from hypothesis import strategies as st

from service.errors import Invalid
from service.kitchen.book.item import Item
from service.kitchen.lists.scaling import Limits, Scaler, needed
from service.kitchen.planning.plan import Plan
from tests.laws.features import gifts
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law

# What the tolerance of rounding to batches (S3) may come to over a chain of recipes.
NEAR = 1e-8
LIMITS = Limits(1e-4, 1e4)
FACTORS = st.integers(1, 4_000).map(lambda hundredths: hundredths / 100)


def scalers(kitchen: Kitchen) -> Iterator[Scaler]:
    """Every recipe that is in force on the first date, at the site."""
    for code in kitchen.catalogue.versions:
        version = kitchen.catalogue.in_force(code, kitchen.site.code, kitchen.first)
        if version is not None:
            yield Scaler(kitchen.catalogue, kitchen.site, version, kitchen.first)


def drawn(planned: Plan) -> dict[Item, float]:
    """How much is drawn of every item, whoever supplies it."""
    found: dict[Item, float] = {}
    for need in planned.needs:
        if need.drawn_by is not None:
            found[need.item] = found.get(need.item, 0.0) + need.amount
    return found


@law(kitchens(convex=False), FACTORS, FACTORS)
def test_more_asked_never_takes_less_of_anything(kitchen: Kitchen, one: float, other: float) -> None:
    for scaler in scalers(kitchen):
        less, more = (scaler.run_to(scaler.authored() * factor) for factor in sorted((one, other)))
        for item, amount in drawn(less).items():
            assert drawn(more)[item] >= amount * (1 - NEAR), item.label
        for item in {pull.item for pull in less.pulls} - gifts(kitchen):
            assert needed(more, item) >= needed(less, item) * (1 - NEAR), item.label


@law(kitchens(), FACTORS)
def test_one_need_is_one_run_of_each_recipe_and_cut(kitchen: Kitchen, factor: float) -> None:
    for scaler in scalers(kitchen):
        planned = scaler.run_to(scaler.authored() * factor)
        made = [output.item for run in planned.runs for output in run.outputs]
        assert len(made) == len(set(made))
        assert planned.runs[0].main.quantity >= scaler.authored() * factor * (1 - NEAR)


@law(kitchens(convex=False), FACTORS, st.data())
def test_the_limiting_item_suffices_for_the_quantity_and_for_no_larger_one(kitchen: Kitchen, factor: float, data: st.DataObject) -> None:
    scaler = data.draw(st.sampled_from(list(scalers(kitchen))))
    asked = scaler.run_to(scaler.authored() * factor)
    item = data.draw(st.sampled_from(sorted(set(drawn(asked)) - gifts(kitchen), key=lambda each: each.order)))
    have = needed(asked, item)
    assume(needed(scaler.run_to(scaler.authored() * LIMITS.most), item) > have * (1 + NEAR))
    quantity = scaler.limited_by(item, have, LIMITS)
    assert quantity is not None
    assert quantity >= scaler.authored() * factor * (1 - NEAR)
    assert needed(scaler.run_to(quantity), item) <= have * (1 + 1e-9)
    for larger in (1.0001, 1.3, 5.0):
        assert needed(scaler.run_to(quantity * larger), item) > have


@law(kitchens(convex=False), st.data())
def test_what_is_enough_for_any_quantity_limits_none(kitchen: Kitchen, data: st.DataObject) -> None:
    scaler = data.draw(st.sampled_from(list(scalers(kitchen))))
    most = scaler.run_to(scaler.authored() * LIMITS.most)
    item = data.draw(st.sampled_from(sorted(set(drawn(most)) - gifts(kitchen), key=lambda each: each.order)))
    with pytest.raises(Invalid):
        scaler.limited_by(item, needed(most, item), LIMITS)
    assert scaler.limited_by(item, needed(scaler.run_to(scaler.authored() * LIMITS.least), item) * 0.99, LIMITS) is None


@law(kitchens(), FACTORS)
def test_cooking_times_do_not_scale(kitchen: Kitchen, factor: float) -> None:
    for scaler in scalers(kitchen):
        small, large = (scaler.run_to(scaler.authored() * each).runs[0] for each in (factor, 2 * factor))
        assert [(stage.starts, stage.ready) for stage in small.stages] == [(stage.starts, stage.ready) for stage in large.stages]

"""Batches and pieces (S3, Y1, Y2, Y6, Y7): what a run is cut into keeps the recipe's rule and the site's vessel."""

import math
from dataclasses import dataclass
from itertools import pairwise

import pytest

from service.kitchen.book.recipe import Version
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.runs import Run
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law

EXACT = 1e-9


@dataclass(frozen=True)
class Rule:
    """A batch rule in the canonical unit of the yield; ``largest`` is the vessel's where that is smaller or the only one."""

    multiple: float | None
    smallest: float
    largest: float
    split: str


def rule(kitchen: Kitchen, version: Version) -> Rule:
    """The rule that holds at the site, worked out from the documents' quantities (S3)."""

    def amount(quantity: Quantity | None) -> float | None:
        return None if quantity is None else float(version.conversions.to_stock(quantity))

    multiple = amount(version.batch.multiple) or (1.0 if version.kind == "count" else None)
    smallest, own = amount(version.batch.smallest) or 0.0, amount(version.batch.largest) or math.inf
    vessel = amount(kitchen.site.vessels.get(version.recipe)) or math.inf
    own, vessel = floored(own, multiple), floored(vessel, multiple)
    fits = vessel > 0 and vessel >= smallest * (1 - EXACT)
    return Rule(multiple, smallest, min(own, vessel) if fits else own, version.batch.split)


def floored(largest: float, multiple: float | None) -> float:
    return largest if multiple is None or largest == math.inf else math.floor(largest / multiple * (1 + EXACT)) * multiple


def sizes(run: Run) -> list[float]:
    return [batch.quantity for batch, _ in run.batches for _ in range(batch.count)]


@law(kitchens())
def test_batches_are_neither_under_the_smallest_nor_over_the_largest(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is not None:
            kept = rule(kitchen, run.version)
            assert all(kept.smallest * (1 - EXACT) <= size <= kept.largest * (1 + EXACT) for size in sizes(run))


@law(kitchens())
def test_batches_are_whole_multiples(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is not None and (multiple := rule(kitchen, run.version).multiple) is not None:
            for size in sizes(run):
                assert size / multiple == pytest.approx(round(size / multiple), rel=EXACT)
                assert round(size / multiple) >= 1


@law(kitchens())
def test_batches_make_what_is_asked_in_as_few_as_fit(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is None:
            continue
        kept = rule(kitchen, run.version)
        asked = sum(amount for _, amount in run.fed)
        rounded = asked if kept.multiple is None else math.ceil(asked / kept.multiple * (1 - EXACT)) * kept.multiple
        assert sum(sizes(run)) >= rounded * (1 - EXACT)
        assert len(sizes(run)) == max(math.ceil(rounded / kept.largest * (1 - EXACT)), 1)
        if not any(size == pytest.approx(kept.smallest, rel=EXACT) for size in sizes(run)):
            assert sum(sizes(run)) == pytest.approx(rounded, rel=EXACT)


@law(kitchens())
def test_batches_are_split_as_the_recipe_says(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is None:
            continue
        kept, made = rule(kitchen, run.version), sizes(run)
        assert all(before >= after * (1 - EXACT) for before, after in pairwise(made))
        if kept.split == "full":
            assert all(size == pytest.approx(kept.largest, rel=EXACT) for size in made[:-1])
        else:
            assert made[0] - made[-1] <= (kept.multiple or 0.0) + EXACT * made[0]


@law(kitchens())
def test_a_batch_of_a_factor_takes_each_line_by_its_rule(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for draw in run.draws:
            if draw.line is None:
                continue
            taken = sum(batch.count * draw.line.in_batch(factor) for batch, factor in run.batches)
            assert draw.amount == pytest.approx(taken, rel=EXACT)
            if draw.line.line.scaling.rule in ("linear", "percent"):
                whole = sum(batch.count * factor for batch, factor in run.batches)
                assert draw.amount == pytest.approx(draw.line.stock * whole, rel=EXACT)


@law(kitchens())
def test_a_cut_draws_for_the_form_that_needs_most_and_gives_every_form_its_part(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is not None:
            continue
        ingredient = kitchen.catalogue.ingredients[run.item.code]
        forms = [form for output in run.outputs if (form := ingredient.form(output.item.form or "")) is not None]
        (drawn,) = [draw.amount for draw in run.draws]
        asked = [sum(amount for need, amount in run.fed if need.item == form.item) / float(form.trim_yield) for form in forms]
        if any(form.whole for form in forms):
            piece = ingredient.piece_amount
            assert piece is not None
            assert drawn / piece == pytest.approx(round(drawn / piece), rel=EXACT)
            assert drawn - piece < max(asked)
        else:
            assert drawn == pytest.approx(max(asked), rel=EXACT)
        assert drawn >= max(asked) * (1 - EXACT)
        for output, form in zip(run.outputs, forms, strict=True):
            assert output.quantity == pytest.approx(drawn * float(form.trim_yield), rel=EXACT)


@law(kitchens())
def test_forms_and_by_products_of_a_cut_are_no_more_than_what_is_drawn(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is None:
            kind = kitchen.catalogue.ingredients[run.item.code].kind
            (drawn,) = [draw.amount for draw in run.draws]
            given = [amount for item, amount in run.gives if kitchen.catalogue.ingredients[item.code].kind == kind]
            assert run.quantity + sum(given) <= drawn * (1 + EXACT)

"""What a run is for (P4, P9): need = have + quantity − surplus, over the needs from its first until it closes."""

from collections import defaultdict
from datetime import timedelta

import pytest

from service.kitchen.book.item import Item
from service.kitchen.planning.demand import Need
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law
from tests.laws.listed import entries

EXACT = 1e-9
Queues = dict[Item, list[Need]]


def queues(planned: Plan) -> Queues:
    """The needs of each item in the order in which they are met (P2)."""
    found: Queues = defaultdict(list)
    for need in planned.needs:
        found[need.item].append(need)
    return {item: sorted(needs, key=lambda need: need.order) for item, needs in found.items()}


def inside(kitchen: Kitchen, run: Run, queue: list[Need]) -> list[Need]:
    """The needs from the run's first unmet one on that its window and its use-by let in (P4)."""
    first = next(index for index, need in enumerate(queue) if need is run.fed[0][0])
    until = run.on + timedelta(days=makes_for(kitchen, run))
    return [need for need in queue[first:] if need.on is not None and need.on < until and run.main.use_by.covers(need.at)]


def makes_for(kitchen: Kitchen, run: Run) -> int:
    if run.version is not None:
        return run.version.makes_for
    form = kitchen.catalogue.form(run.item)
    assert form is not None
    return form.makes_for


@law(kitchens())
def test_need_is_have_and_quantity_less_surplus_for_every_run(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for output in run.outputs:
            assert output.need == pytest.approx(output.have + output.quantity - output.surplus, rel=EXACT, abs=EXACT * output.quantity)


@law(kitchens())
def test_every_make_and_prep_of_a_list_tells_it_too(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for on in kitchen.dates:
        for entry in entries(kitchen.listed(planned, on)):
            if "need" in entry:
                need, have, quantity, surplus = (entry[name]["amount"] for name in ("need", "have", "quantity", "surplus"))
                assert need == pytest.approx(have + quantity - surplus, rel=EXACT, abs=EXACT * quantity), entry["id"]


@law(kitchens())
def test_the_need_of_a_run_is_all_that_is_asked_while_it_is_open(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    waiting = queues(planned)
    for run in planned.runs:
        if len(run.outputs) > 1:
            continue
        taken = inside(kitchen, run, waiting[run.item])
        asked = sum(need.amount for need in taken if need.par is None) + run.main.for_pars
        assert run.main.need == pytest.approx(asked, rel=EXACT)


@law(kitchens())
def test_what_a_run_has_is_what_lots_give_to_its_needs(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    waiting = queues(planned)
    from_lots: dict[int, float] = defaultdict(float)
    for use in planned.uses:
        from_lots[id(use.need)] += use.amount
    for run in planned.runs:
        if len(run.outputs) > 1:
            continue
        have = sum(from_lots[id(need)] for need in inside(kitchen, run, waiting[run.item]) if need.par is None)
        assert run.main.have == pytest.approx(have, rel=EXACT, abs=EXACT * run.main.need)


@law(kitchens())
def test_a_run_makes_what_its_needs_lack_and_its_surplus(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for output in run.outputs:
            lacking = sum(amount for need, amount in run.fed if need.item == output.item)
            assert output.quantity == pytest.approx(lacking + output.surplus, rel=EXACT, abs=EXACT)
            assert output.surplus >= 0


@law(kitchens())
def test_a_par_adds_what_lots_and_earlier_pars_leave_of_its_level(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for output in run.outputs:
            pars = [(need, amount) for need, amount in run.fed if need.par is not None and need.item == output.item]
            assert output.for_pars == pytest.approx(sum(amount for _, amount in pars), rel=EXACT)
            assert all(0 < amount <= need.amount for need, amount in pars)
            # Pars of one run add up to the highest of their levels at most: what it makes for one counts for those after it.
            assert output.for_pars <= max((need.amount for need, _ in pars), default=0.0) * (1 + EXACT)

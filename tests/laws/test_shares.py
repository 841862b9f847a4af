"""Shares (P11): what a run makes is for somebody, or it is surplus; a draw is for whom its run is."""

from collections.abc import Iterable

import pytest

from service.kitchen.planning.demand import Outlet, Share
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law
from tests.laws.listed import entries

EXACT = 1e-9


def by_outlet(shares: Iterable[Share]) -> dict[Outlet | None, float]:
    found: dict[Outlet | None, float] = {}
    for share in shares:
        found[share.outlet] = found.get(share.outlet, 0.0) + share.amount
    return found


def total(shares: Iterable[Share]) -> float:
    return sum(share.amount for share in shares)


@law(kitchens())
def test_the_shares_of_a_run_sum_to_its_quantity(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for output in run.outputs:
            assert total(output.shares) == pytest.approx(output.quantity, rel=EXACT)
            assert all(share.amount > 0 for share in output.shares)
            assert len(by_outlet(output.shares)) == len(output.shares)


@law(kitchens())
def test_surplus_and_what_fills_a_par_are_for_nobody(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        for output in run.outputs:
            nobody = by_outlet(output.shares).get(None, 0.0)
            passed_on = sum(
                by_outlet(need.shares).get(None, 0.0) * amount / need.amount
                for need, amount in run.fed
                if need.item == output.item and need.par is None
            )
            assert nobody == pytest.approx(output.surplus + output.for_pars + passed_on, rel=EXACT, abs=EXACT * output.quantity)


@law(kitchens())
def test_a_guests_share_is_what_was_made_for_that_need(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for run in planned.runs:
        direct: dict[Outlet | None, float] = {}
        for need, amount in run.fed:
            if need.outlet is not None:
                direct[need.outlet] = direct.get(need.outlet, 0.0) + amount
        shares = by_outlet(run.shares)
        for outlet, amount in direct.items():
            assert shares[outlet] >= amount * (1 - EXACT)
        assert set(shares) - {None} <= set(planned.portions)


@law(kitchens())
def test_a_draw_has_the_shares_of_its_run_in_proportion(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    made_by = {run.key: run for run in planned.runs}
    for need in planned.needs:
        if need.drawn_by is None:
            continue
        run = made_by[need.drawn_by]
        whole = sum(output.quantity for output in run.outputs)
        drawn, made = by_outlet(need.shares), by_outlet(run.shares)
        assert set(drawn) == set(made)
        assert total(need.shares) == pytest.approx(need.amount, rel=EXACT)
        for outlet, amount in made.items():
            assert drawn[outlet] / need.amount == pytest.approx(amount / whole, rel=EXACT)


@law(kitchens())
def test_the_shares_of_a_pull_sum_to_it(kitchen: Kitchen) -> None:
    for pull in kitchen.plan().pulls:
        assert total(pull.shares) == pytest.approx(pull.amount, rel=EXACT)


@law(kitchens())
def test_every_task_and_pull_of_a_list_tells_shares_that_sum_to_its_quantity(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for on in kitchen.dates:
        for entry in entries(kitchen.listed(planned, on)):
            if "shares" in entry:
                shared = sum(row["quantity"]["amount"] for row in entry["shares"])
                assert shared == pytest.approx(entry["quantity"]["amount"], rel=EXACT), entry["id"]

"""Shares (P11): what a run makes is for somebody, or it is surplus; a draw is for whom its run is."""

from collections.abc import Iterable

import pytest

from service.kitchen.explained.shares import Shares
from service.kitchen.planning.demand import Share
from service.kitchen.planning.guests import Outlet
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
    planned = kitchen.plan()
    told = Shares(planned)
    for run in planned.runs:
        for output in run.outputs:
            shares = told.of_output(run, output.item)
            assert total(shares) == pytest.approx(output.quantity, rel=EXACT)
            assert all(share.amount > 0 for share in shares)
            assert len(by_outlet(shares)) == len(shares)


@law(kitchens())
def test_surplus_and_what_fills_a_par_are_for_nobody(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    told = Shares(planned)
    for run in planned.runs:
        for output in run.outputs:
            nobody = by_outlet(told.of_output(run, output.item)).get(None, 0.0)
            passed_on = sum(
                by_outlet(told.of_need(need)).get(None, 0.0) * amount / need.amount
                for need, amount in run.fed
                if need.item == output.item and need.par is None
            )
            assert nobody == pytest.approx(output.surplus + output.for_pars + passed_on, rel=EXACT, abs=EXACT * output.quantity)


@law(kitchens())
def test_a_guests_share_is_what_was_made_for_that_need(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    told = Shares(planned)
    for run in planned.runs:
        direct: dict[Outlet | None, float] = {}
        for need, amount in run.fed:
            if need.outlet is not None:
                direct[need.outlet] = direct.get(need.outlet, 0.0) + amount
        shares = by_outlet(told.of_run(run))
        for outlet, amount in direct.items():
            assert shares[outlet] >= amount * (1 - EXACT)
        assert set(shares) - {None} <= set(planned.demand.portions)
        assert {*told.outlets_of_run(run)} == set(shares) - {None}


@law(kitchens())
def test_a_draw_has_the_shares_of_its_run_in_proportion(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    told = Shares(planned)
    made_by = {run.key: run for run in planned.runs}
    for need in planned.needs:
        if need.drawn_by is None:
            continue
        run = made_by[need.drawn_by]
        whole = sum(output.quantity for output in run.outputs)
        drawn, made = by_outlet(told.of_need(need)), by_outlet(told.of_run(run))
        assert set(drawn) == set(made)
        assert total(told.of_need(need)) == pytest.approx(need.amount, rel=EXACT)
        for outlet, amount in made.items():
            assert drawn[outlet] / need.amount == pytest.approx(amount / whole, rel=EXACT)


@law(kitchens())
def test_the_shares_of_a_pull_sum_to_it(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    told = Shares(planned)
    for pull in planned.pulls:
        assert total(told.of_pull(pull)) == pytest.approx(pull.amount, rel=EXACT)


@law(kitchens())
def test_every_task_and_pull_of_a_list_tells_shares_that_sum_to_its_quantity(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for on in kitchen.dates:
        for entry in entries(kitchen.listed(planned, on)):
            if "shares" in entry:
                shared = sum(row["quantity"]["amount"] for row in entry["shares"])
                assert shared == pytest.approx(entry["quantity"]["amount"], rel=EXACT), entry["id"]

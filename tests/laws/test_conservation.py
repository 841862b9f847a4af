"""Conservation (P10): lots at F + by-products + made or pulled = drawn + demand met + left, for every item.

The left side is counted where things come from, the right side where they go to; stock in store is no lot (P13).
"""

from collections import defaultdict
from dataclasses import replace

import pytest

from service.kitchen.book.item import Item
from service.kitchen.planning.demand import Need
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.pulls import Whence, supply_of
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law

EXACT = 1e-9
Terms = dict[str, float]


def terms(kitchen: Kitchen, planned: Plan) -> dict[Item, Terms]:
    """The six terms of the law, by item."""
    found: dict[Item, Terms] = defaultdict(lambda: defaultdict(float))
    unmet: dict[int, float] = {id(need): short for need, short in planned.left_out}
    for lot in kitchen.lots():
        found[lot.item]["at first"] += lot.amount
    for run in planned.runs:
        for output in run.outputs:
            found[output.item]["made or pulled"] += output.quantity
        for item, amount in run.gives:
            found[item]["by-products"] += amount
        for draw in run.draws:
            found[draw.item]["drawn"] += draw.amount
    for pull in planned.pulls:
        found[pull.item]["made or pulled"] += pull.amount
    for need in planned.needs:
        if need.par is None:
            found[need.item]["demand met" if need.drawn_by is None else "drawn"] += _met(need, unmet)
    for lot in planned.lots:
        found[lot.item]["left"] += lot.left
    return found


def _met(need: Need, unmet: dict[int, float]) -> float:
    """What was met of a guest's need; of a run's draw, which counts where it is drawn, what has to be taken back."""
    short = unmet.get(id(need), 0.0)
    return need.amount - short if need.drawn_by is None else -short


@law(kitchens())
def test_nothing_is_lost_and_nothing_comes_from_nowhere(kitchen: Kitchen) -> None:
    for item, found in terms(kitchen, kitchen.plan()).items():
        comes = found["at first"] + found["by-products"] + found["made or pulled"]
        goes = found["drawn"] + found["demand met"] + found["left"]
        assert abs(comes - goes) <= EXACT * max(found.values()), (item.label, dict(found))


@law(kitchens())
def test_each_lot_gives_what_it_holds_and_no_more(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    given_away: dict[int, float] = defaultdict(float)
    for use in planned.uses:
        given_away[id(use.lot)] += use.amount
    for lot in planned.lots:
        assert lot.amount > 0
        assert 0 <= lot.left <= lot.amount
        assert lot.amount - lot.left == pytest.approx(given_away[id(lot)], rel=EXACT, abs=EXACT * lot.amount)


@law(kitchens())
def test_each_need_is_met_from_lots_runs_and_pulls_alone(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    met: dict[int, float] = defaultdict(float)
    for use in planned.uses:
        met[id(use.need)] += use.amount
    for need, amount in [*planned.left_out, *(fed for run in planned.runs for fed in run.fed)]:
        met[id(need)] += amount
    for need in planned.needs:
        if need.par is None and not need.item.raw:
            assert met[id(need)] == pytest.approx(need.amount, rel=2 * EXACT)
        else:
            assert met[id(need)] <= need.amount * (1 + EXACT)


@law(kitchens())
def test_stock_in_store_is_no_lot_and_shrinks_no_pull(kitchen: Kitchen) -> None:
    planned = kitchen.plan()

    def bought(item: Item) -> bool:
        # What nobody sells can only be pulled while there is some of it in store.
        return supply_of(kitchen.catalogue, kitchen.site, item, ()).whence is Whence.STORE

    emptied = replace(kitchen, counted=tuple(each for each in kitchen.counted if not (each.in_store and bought(each.item))))
    assert [kitchen.listed(planned, on) for on in kitchen.dates] == [emptied.listed(emptied.plan(), on) for on in kitchen.dates]

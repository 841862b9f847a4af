"""A doable day: what its loads make is what the plan asks for, and nothing is drawn before so much of it is ready (K4, K8, K9 d).

Counted from the plan and the times of the schedule alone, without what a schedule was asked with.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

import pytest
from hypothesis import settings
from hypothesis import strategies as st

from service.kitchen.book.capacity import read_machines, read_shift
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.capacity.scheduling import schedule_plan
from service.kitchen.planning.demand import Need
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from tests.laws.dice import Dice
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.larder import STATIONS
from tests.laws.law import with_settings
from tests.profiles import examples

EXACT = 1e-9
Amounts = list[tuple[datetime, float]]
KINDS = ("oven", "kettle")


@dataclass(frozen=True)
class Doable:
    """A kitchen with shifts and machines, its plan and that plan's schedule."""

    kitchen: Kitchen
    plan: Plan
    found: Scheduled


@st.composite
def doable(draw: st.DrawFn) -> Doable:
    """Days on which most of what is asked for fits."""
    kitchen, dice = draw(kitchens()), Dice(draw)
    hours = (("06:00", "14:00"), ("13:00", "23:00"), ("22:30", "06:30"))
    shifts = [{"name": starts, "stations": list(STATIONS), "from": starts, "until": until, "cooks": 12} for starts, until in hours]
    machines = [
        {
            "equipment": code,
            "count": 6,
            "turn_round": "PT5M",
            "shared": dice.chance(50),
            "load": [{"amount": dice.pick(20, 5), "unit": unit}],
        }
        for code in KINDS
        for unit in (dice.pick("kg", "L", "each"),)
    ]
    site = replace(
        kitchen.site,
        shifts=tuple(map(read_shift, shifts)),
        equipment={each.equipment: each for each in map(read_machines, machines)},
    )
    versions = {code: tuple(_equipped(dice, each) for each in found) for code, found in kitchen.catalogue.versions.items()}
    catalogue = replace(kitchen.catalogue, versions=versions, sites={**kitchen.catalogue.sites, site.code: site})
    kitchen = replace(kitchen, catalogue=catalogue)
    planned = kitchen.plan_for(kitchen.first)
    found = schedule_plan(planned, catalogue, site, {})
    assert found is not None
    return Doable(kitchen, planned, found)


def _equipped(dice: Dice, version: Version) -> Version:
    return replace(version, steps=tuple(replace(step, equipment=dice.pick(None, *KINDS)) for step in version.steps))


def law(test: object) -> object:
    """A property of doable days, on fewer examples than the profile has: each is planned and scheduled."""
    return with_settings(settings(max_examples=examples(10)), doable())(test)  # type: ignore[arg-type]


@law
def test_the_loads_of_a_run_make_its_quantity_and_give_every_need_its_part(day: Doable) -> None:
    for run in day.plan.runs:
        loads = day.found.runs[run.id].loads
        assert sum(load.quantity for load in loads) == pytest.approx(run.main.quantity, rel=EXACT)
        given: dict[int, float] = defaultdict(float)
        for load in loads:
            for need, amount in load.given:
                given[id(need)] += amount
        for need, amount in run.fed:
            assert given[id(need)] == pytest.approx(amount, abs=EXACT * run.output(need.item).quantity)


@law
def test_nothing_is_drawn_before_so_much_of_it_is_ready(day: Doable) -> None:
    left_out = {conflict.load.run for conflict in day.found.conflicts}
    taken = takings(day)
    for (id_, item), amounts in taken.items():
        if id_ in left_out:
            continue
        run = next(run for run in day.plan.runs if run.id == id_)
        made = ready(day, run, item)
        whole = sum(amount for _, amount in made)
        for moment, _ in amounts:
            gone = sum(amount for at, amount in amounts if at <= moment)
            assert gone <= sum(amount for at, amount in made if at <= moment) + EXACT * whole * len(amounts)


def ready(day: Doable, run: Run, item: Item) -> Amounts:
    """When how much of an item is ready: of a cut or a by-product all of it with the last load."""
    loads = day.found.runs[run.id].loads
    output = next((each for each in run.outputs if each.item == item), None)
    if output is not None and len(run.outputs) == 1:
        return [(load.ready, load.quantity) for load in loads]
    amount = sum(given for each, given in run.gives if each == item) if output is None else output.quantity
    return [(max(load.ready for load in loads), amount)]


def takings(day: Doable) -> dict[tuple[str, Item], Amounts]:
    """When how much of what a run makes is taken, of it or of its lots, as far as what takes it fits."""
    runs = {run.id: run for run in day.plan.runs}
    taken: dict[tuple[str, Item], Amounts] = defaultdict(list)
    for id_, need, amount in _given(day.plan, runs):
        if need.drawn_by is None:
            taken[id_, need.item].append((need.at, amount))
            continue
        consumer = runs[need.drawn_by.id]
        for load in day.found.runs[consumer.id].loads:
            if load.fits:
                step = next((step.starts for step in load.steps if step.number == _step(consumer, need)), load.starts)
                taken[id_, need.item].append((step, amount * load.quantity / consumer.main.quantity))
    return taken


def _given(planned: Plan, runs: dict[str, Run]) -> Iterator[tuple[str, Need, float]]:
    """What each run gives to a need; of what it makes for pars, lots give."""
    for run in runs.values():
        yield from ((run.id, need, amount) for need, amount in run.fed if need.par is None)
    for use in planned.uses:
        if use.lot.source is not None and use.lot.source.id in runs:
            yield use.lot.source.id, use.need, use.amount


def _step(run: Run, need: Need) -> int:
    """The number of the step that draws a need."""
    draw = next(draw for draw in run.draws if (draw.item, draw.at) == (need.item, need.at))
    return 1 if draw.line is None else draw.line.line.step or 1

"""The window of a plan (P14): a longer one changes no list, and a later list is a slice of the one plan."""

from datetime import date, timedelta
from random import Random

from hypothesis import strategies as st

from service.api.wire.json import render
from service.kitchen.explained.shares import Shares
from service.kitchen.lists.freezing import freeze_list
from service.kitchen.lists.frozen import freeze_run, thaw_run
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import DONE, Fixed, FixedRun, Report
from service.kitchen.safety.allergens import Rollup
from service.store.documents import decode, encode
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law
from tests.laws.trade import SITE


def told(kitchen: Kitchen, planned: Plan, on: date) -> tuple[bytes, list[object]]:
    """A date's list with all that can be asked of it, and what a print keeps of it."""
    return render(kitchen.listed(planned, on)), [each._asdict() for each in freeze_list(planned, kitchen.catalogue, kitchen.site, on)]


@law(kitchens())
def test_looking_fourteen_dates_further_changes_nothing_on_a_list(kitchen: Kitchen) -> None:
    for on in kitchen.dates:
        near = kitchen.plan_for(on)
        assert told(kitchen, near, on) == told(kitchen, kitchen.plan(near.until + timedelta(days=14)), on)


@law(kitchens())
def test_the_list_of_a_later_date_is_a_slice_of_the_same_plan(kitchen: Kitchen) -> None:
    dates = list(kitchen.dates)
    latest = kitchen.plan_for(dates[-1])
    for on in dates:
        assert told(kitchen, latest, on) == told(kitchen, kitchen.plan_for(on), on)


@law(kitchens())
def test_reading_a_list_changes_no_other(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    forward = [render(kitchen.listed(planned, on)) for on in kitchen.dates]
    backward = [render(kitchen.listed(planned, on)) for on in reversed(list(kitchen.dates))]
    assert forward == backward[::-1]


def some_work(kitchen: Kitchen, planned: Plan, chance: Random) -> Fixed:
    """Some stages of some runs reported done, each whole or in part."""
    catalogue, rollup = kitchen.catalogue, Rollup(kitchen.catalogue, SITE, planned)
    shares, runs = Shares(planned), []
    for run in planned.runs:
        if chance.random() < 0.3:
            stages = run.stages[: chance.randint(1, len(run.stages))]
            made = run.main.quantity * chance.choice((1.0, 0.5, 1.5))
            again = thaw_run(decode(encode(freeze_run(run, rollup.of_run(run), shares))), catalogue, run.id)
            runs.append(FixedRun(again, {stage.number: Report(state=DONE, at=stage.ready, stated=True, made=made) for stage in stages}))
    return Fixed(tuple(runs))


@law(kitchens(), st.integers(0, 2**16).map(Random))
def test_with_reported_work_looking_further_changes_nothing_either(kitchen: Kitchen, chance: Random) -> None:
    done = some_work(kitchen, kitchen.plan(kitchen.first + timedelta(days=8)), chance)
    for on in kitchen.dates:
        near = kitchen.plan_for(on, done)
        assert told(kitchen, near, on) == told(kitchen, kitchen.plan(near.until + timedelta(days=14), done), on)

"""Fixed work (P15): of any kitchen, what a print keeps comes back from the store as it was, and work done as planned is not asked for."""

from collections import defaultdict
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from service.kitchen.book.item import Item
from service.kitchen.explained.shares import Shares
from service.kitchen.lists.freezing import freeze_list
from service.kitchen.lists.frozen import freeze_pull, freeze_run, thaw_pull, thaw_run
from service.kitchen.lists.keeping import Keeping
from service.kitchen.lists.tasks import run_task
from service.kitchen.lists.telling import Telling
from service.kitchen.lists.timing import Timing
from service.kitchen.lists.wording import Words
from service.kitchen.planning.demand import foresee
from service.kitchen.planning.past import Closed, Facts, Past
from service.kitchen.planning.plan import Plan, plan
from service.kitchen.planning.pulls import Whence
from service.kitchen.planning.reported import DONE, Fixed, FixedPull, FixedRun, Report
from service.kitchen.safety.allergens import Allergens, Rollup
from service.store.documents import decode, encode
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law
from tests.laws.listed import tasks
from tests.laws.trade import SITE


@law(kitchens())
def test_a_run_that_was_stored_is_frozen_to_the_same_document_and_reads_the_same(kitchen: Kitchen) -> None:
    planned, site = kitchen.plan(), kitchen.site
    rollup = Rollup(kitchen.catalogue, SITE, planned)
    words = Words(catalogue=kitchen.catalogue, site=site, calendar=site.calendar(), system="metric")
    shares, keeping, timing = Shares(planned), Keeping(kitchen.catalogue), Timing(planned)
    for run in planned.runs:
        document = freeze_run(run, rollup.of_run(run), shares)
        again = thaw_run(decode(encode(document)), kitchen.catalogue, run.id)
        assert freeze_run(again, Allergens(*again.allergens or ()), Shares(planned)) == document
        for stage, same in zip(run.stages, again.stages, strict=True):
            now, later = (
                Telling(words=words, rollup=rollup, first=planned.first, trace=True, shares=Shares(planned), keeping=keeping, timing=timing)
                for _ in range(2)
            )
            assert run_task(again, same, later).document == run_task(run, stage, now).document


@law(kitchens())
def test_a_pull_that_was_stored_is_the_same(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    shares = Shares(planned)
    # What comes from no store is asked of nobody, and so it is never stored.
    for pull in (each for each in planned.pulls if each.whence is Whence.STORE):
        again = thaw_pull(decode(encode(freeze_pull(pull, shares))), pull.id)
        assert again == replace(pull, shares=tuple(shares.of_pull(pull)), stations=shares.stations_of_pull(pull))


@law(kitchens())
def test_a_print_keeps_the_work_of_every_entry_of_a_list_once(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for on in kitchen.dates:
        listed = kitchen.listed(planned, on)
        ids = [task["id"] for task in tasks(listed)] + [pull["id"] for pull in listed["pulls"]]
        kept = list(freeze_list(planned, kitchen.catalogue, kitchen.site, on))
        assert sorted(task for each in kept for task in each.tasks) == sorted(ids)
        assert len({each.work for each in kept}) == len(kept)


LATER = datetime(2099, 1, 1, tzinfo=UTC)
AFTERWARDS = Report(state=DONE, at=LATER, stated=True)


def plan_after_all_was_done(kitchen: Kitchen, planned: Plan) -> Plan:
    """The same plan again after every stage and pull of it was reported done as planned."""
    site, catalogue = kitchen.site, kitchen.catalogue
    rollup, shares = Rollup(catalogue, SITE, planned), Shares(planned)
    runs = tuple(
        FixedRun(
            thaw_run(decode(encode(freeze_run(run, rollup.of_run(run), shares))), catalogue, run.id),
            dict.fromkeys((stage.number for stage in run.stages), AFTERWARDS),
        )
        for run in planned.runs
    )
    pulls = tuple(FixedPull(pull, AFTERWARDS) for pull in planned.pulls)
    past = Past(catalogue, site, Facts(fixed=Fixed(runs, pulls), counted=kitchen.counted))
    reported = past.take_in(past.close(Closed(on=date.min), planned.first)[-1])
    demand = foresee(catalogue, site, site.calendar(), kitchen.forecasts, kitchen.overrides, planned.first, planned.until)
    return plan(catalogue, site, demand, (), planned.first, planned.until, reported=reported, staffing=planned.staffing)


@law(kitchens())
def test_when_all_was_done_as_planned_nothing_is_asked_for(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    again = plan_after_all_was_done(kitchen, planned)
    assert [(run.key, run.quantity) for run in again.runs] == []
    assert again.pulls == ()


@law(kitchens())
def test_what_was_done_as_planned_leaves_as_much_as_was_foreseen(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    again = plan_after_all_was_done(kitchen, planned)
    made = {run.item for run in planned.runs}
    foreseen: dict[Item, float] = defaultdict(float)
    found: dict[Item, float] = defaultdict(float)
    start = kitchen.site.calendar().start(planned.first)
    for left, which in ((foreseen, planned), (found, again)):
        for lot in which.lots:
            # What late work would leave past use before the plan begins is not on hand once it was done (P3).
            if lot.use_by.moment > start or lot.use_by.covers(start):
                left[lot.item] += lot.left
    for item in made:
        assert found[item] == pytest.approx(foreseen[item], rel=1e-9, abs=1e-6), item.label

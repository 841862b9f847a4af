"""Time (P3, T2, T3, T8): nothing serves before it is ready or past its use-by, and work is done before it is needed."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from service.kitchen.measures.calendar import ZERO, whole_minutes
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.runs import Run
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law
from tests.laws.listed import tasks

TWO_DAYS = timedelta(days=2)


@law(kitchens())
def test_no_lot_serves_before_it_is_ready_or_past_its_use_by(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    made = {run.id: run for run in planned.runs}
    for use in planned.uses:
        assert use.lot.ready <= use.need.at
        assert use.need.at <= use.lot.use_by.moment
        if not use.lot.use_by.included:
            assert use.need.at < use.lot.use_by.moment
        if isinstance(use.lot.source, RunKey):
            assert use.lot.ready == made[use.lot.source.id].at


@law(kitchens())
def test_first_expired_goes_first(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    # The surplus of a form or recipe is no lot before its run closes, so what was counted and by-products tell the rule.
    from_the_start = [lot for lot in planned.lots if lot.source is None or lot.item.raw]
    for use in planned.uses:
        for lot in from_the_start:
            if lot.item == use.lot.item and lot.use_by < use.lot.use_by and lot.ready <= use.need.at and lot.use_by.covers(use.need.at):
                assert lot.left == 0
                assert all(moment <= use.need.at for moment, _ in lot.taken)


@law(kitchens())
def test_no_run_serves_before_it_is_ready_or_past_its_use_by(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        assert run.at == run.fed[0][0].at
        for need, _ in run.fed:
            assert run.at <= need.at
            assert run.output(need.item).use_by.covers(need.at)


@law(kitchens())
def test_a_run_starts_its_lead_before_it_is_needed_whatever_the_clocks_do(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        assert run.stages[0].starts.tzinfo is UTC
        assert run.at - run.stages[0].starts == lead(kitchen, run) >= ZERO
        assert run.stages[-1].ready == run.at


def lead(kitchen: Kitchen, run: Run) -> timedelta:
    """The steps' active and passive times; of a cut the longest that one of its forms states or has its hands on (T2, Y7)."""
    if run.version is not None:
        return sum((step.active + step.passive.target for step in run.version.steps), ZERO)
    ingredient = kitchen.catalogue.ingredients[run.item.code]
    forms = [(form, output.quantity) for output in run.outputs if (form := kitchen.catalogue.form(output.item)) is not None]
    hands_on = {form.code: min(whole_minutes(ingredient.hands_on(form, quantity)), TWO_DAYS) for form, quantity in forms}
    return max(hands_on[form.code] if form.lead is None else form.lead for form, _ in forms)


@law(kitchens())
def test_stages_are_in_order_and_contiguous_and_hold_every_step_once(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        assert [stage.number for stage in run.stages] == list(range(1, len(run.stages) + 1))
        for before, after in pairwise(run.stages):
            assert before.ready == after.starts
        steps = [step.number for stage in run.stages for step in stage.steps]
        assert steps == list(range(1, len(run.version.steps) + 1 if run.version else 1))


@law(kitchens())
def test_a_stage_is_what_one_station_does_from_one_date_on(kitchen: Kitchen) -> None:
    calendar = kitchen.site.calendar()
    for run in kitchen.plan().runs:
        for stage in run.stages:
            assert stage.on == calendar.business_date(stage.starts)
            assert all(timed.step.station == stage.station for timed in stage.steps)
            assert all(calendar.business_date(timed.starts) == stage.on for timed in stage.steps)
        for before, after in pairwise(run.stages):
            last = before.steps[-1]
            assert after.station != before.station or after.on > calendar.business_date(last.starts)


@law(kitchens())
def test_lines_are_drawn_when_their_step_starts(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        starts = {timed.number: timed.starts for stage in run.stages for timed in stage.steps}
        for draw in run.draws:
            step = draw.line.line.step if draw.line is not None else None
            assert draw.at == (run.stages[0].starts if step is None else starts[step])
            assert run.stages[0].starts <= draw.at <= run.at


@law(kitchens())
def test_a_pull_starts_its_thaw_before_its_first_need(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for pull in planned.pulls:
        assert pull.at - pull.starts == kitchen.catalogue.ingredients[pull.item.code].thaw
        assert pull.at in {need.at for need in planned.needs if need.item == pull.item and need.on == pull.on}
    days = Counter((pull.item, pull.on) for pull in planned.pulls)
    assert max(days.values(), default=1) == 1


@law(kitchens())
def test_every_stage_stands_on_exactly_one_list(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    dates = list(kitchen.dates)
    listed = [task["id"] for on in dates for task in tasks(kitchen.listed(planned, on))]
    stages = sum(max(stage.on, kitchen.first) in dates for run in planned.runs for stage in run.stages)
    assert len(listed) == len(set(listed))
    assert sum(not each.startswith("use.") for each in listed) == stages


@law(kitchens())
def test_a_list_tells_moments_on_the_clock_of_the_site(kitchen: Kitchen) -> None:
    planned, zone = kitchen.plan(), kitchen.site.calendar().zone
    for on in kitchen.dates:
        for task in tasks(kitchen.listed(planned, on)):
            for name in ("start_by", "ready_by"):
                told = datetime.fromisoformat(task[name])
                assert told.utcoffset() == told.astimezone(zone).utcoffset()
            assert datetime.fromisoformat(task["start_by"]) <= datetime.fromisoformat(task["ready_by"])

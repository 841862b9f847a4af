"""Hours (K1 to K3): in kitchens with shifts, closing days and ovens, work lies in them, and the laws of plans hold as elsewhere."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import groupby
from random import Random

from hypothesis import strategies as st

from service.kitchen.book.step import Step
from service.kitchen.measures.calendar import MINUTE, ZERO, whole_minutes
from service.kitchen.planning.pulls import Whence
from service.kitchen.planning.runs import Run, times_of
from tests.laws.kitchens import Kitchen
from tests.laws.law import law
from tests.laws.staffed import staffed_kitchens, staffed_pots
from tests.laws.test_fixed_work import plan_after_all_was_done
from tests.laws.test_windows import some_work, told

FORTNIGHT = timedelta(days=14)
LOOKED_AT = timedelta(hours=30)


def staffed_between(kitchen: Kitchen, station: str | None, starts: datetime, ends: datetime) -> bool:
    """Whether one shift at a station (None: at any) has all of a stretch, edges included, told by the clocks of its date."""
    site, calendar = kitchen.site, kitchen.site.calendar()
    for days in (-1, 0):
        on = calendar.business_date(starts) + timedelta(days=days)
        for shift in site.shifts_on(on, kitchen.different.get(on)):
            begun, over = shift.hours(calendar, on)
            if shift.cooks and station in (None, *shift.stations) and begun <= starts and ends <= over:
                return True
    return False


def in_hours(kitchen: Kitchen, steps: Sequence[Step], times: Sequence[datetime]) -> bool:
    """Whether steps that start at some times, the last of which is when all is ready, keep to the hours (K2)."""
    site = kitchen.site
    used = [None if step.equipment is None else site.machines(step.equipment) for step in steps]
    stretches = [
        (site.station(step.station), at, whole_minutes(step.active)) for step, at in zip(steps, times, strict=False) if step.active
    ]
    for machines, group in groupby(range(len(steps)), lambda number: used[number]):
        numbers = list(group)
        if machines is not None:
            station = site.station(steps[numbers[0]].station)
            stretches += [(station, times[numbers[0]], ZERO), (station, times[numbers[-1] + 1], ZERO)]
    return all(staffed_between(kitchen, station, starts, starts + lasts) for station, starts, lasts in stretches if station in site.staffed)


def times_in(run: Run) -> list[datetime]:
    """When each step of a run starts, and when the run is ready."""
    return [*(each.starts for stage in run.stages for each in stage.steps), run.ready]


@law(staffed_kitchens())
def test_k2_work_lies_in_the_hours_or_stands_at_its_lead_with_a_warning(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    warned = {(each.on, each.item) for each in planned.warnings if each.code == "outside_hours"}
    for run in planned.runs:
        if run.version is not None and run.version.steps and not in_hours(kitchen, run.version.steps, times_in(run)):
            assert times_in(run) == list(times_of(run.version, run.at))
            assert (run.stages[0].on, run.item) in warned


@law(staffed_kitchens())
def test_k3_work_without_windows_is_as_late_as_the_hours_allow(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        version = run.version
        if version is None or any(step.passive.least is not None for step in version.steps) or run.at - run.ready > LOOKED_AT:
            continue
        later = run.ready
        while (later := later + MINUTE) <= run.at:
            assert not in_hours(kitchen, version.steps, [each + (later - run.ready) for each in times_in(run)])


@law(staffed_kitchens())
def test_k6_rests_last_from_their_least_to_their_most(kitchen: Kitchen) -> None:
    for run in kitchen.plan().runs:
        if run.version is None or times_in(run) == list(times_of(run.version, run.at)):
            continue
        for step, starts, ends in zip(run.version.steps, times_in(run), times_in(run)[1:], strict=False):
            rest = ends - starts - whole_minutes(step.active)
            least, most = step.passive.least, step.passive.most
            assert rest == whole_minutes(step.passive.target) if least is None or most is None else least <= rest <= most


@law(staffed_kitchens())
def test_k3_a_pull_starts_while_somebody_is_there_or_is_warned_of(kitchen: Kitchen) -> None:
    planned, calendar = kitchen.plan(), kitchen.site.calendar()
    warned = {(each.on, each.item) for each in planned.warnings if each.code == "outside_hours"}
    for pull in planned.pulls:
        assert pull.starts <= pull.at - pull.thaw
        if pull.whence is Whence.STORE and not staffed_between(kitchen, None, pull.starts, pull.starts):
            assert (calendar.business_date(pull.starts), pull.item) in warned


@law(staffed_kitchens())
def test_t6_nothing_serves_before_it_is_ready_or_past_its_use_by(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    for use in planned.uses:
        assert use.lot.ready <= use.need.at
        assert use.lot.use_by.covers(use.need.at)
    for run in planned.runs:
        assert run.ready <= run.at == run.fed[0][0].at
        assert all(run.output(need.item).use_by.covers(need.at) for need, _ in run.fed)


@law(staffed_kitchens())
def test_p14_looking_fourteen_dates_further_changes_nothing_on_a_list(kitchen: Kitchen) -> None:
    for on in kitchen.dates:
        near = kitchen.plan_for(on)
        assert told(kitchen, near, on) == told(kitchen, kitchen.plan(near.until + FORTNIGHT), on)


@law(staffed_pots())
def test_p14_of_a_soup_looking_further_changes_nothing_either(kitchen: Kitchen) -> None:
    for on in kitchen.dates:
        near = kitchen.plan_for(on)
        assert told(kitchen, near, on) == told(kitchen, kitchen.plan(near.until + FORTNIGHT), on)


@law(staffed_kitchens(), st.integers(0, 2**16).map(Random))
def test_p14_with_reported_work_looking_further_changes_nothing_either(kitchen: Kitchen, chance: Random) -> None:
    done = some_work(kitchen, kitchen.plan(kitchen.first + timedelta(days=8)), chance)
    for on in kitchen.dates:
        near = kitchen.plan_for(on, done)
        assert told(kitchen, near, on) == told(kitchen, kitchen.plan(near.until + FORTNIGHT, done), on)


@law(staffed_kitchens())
def test_p15_when_all_was_done_as_planned_nothing_is_asked_for(kitchen: Kitchen) -> None:
    again = plan_after_all_was_done(kitchen, kitchen.plan())
    assert [(run.key, run.quantity) for run in again.runs] == []
    assert again.pulls == ()

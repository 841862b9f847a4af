"""Timing: when the work of a plan is done, as it was planned or, where the site states a capacity, as it is scheduled.

Responsible for the times of stages, pulls and uses on lists (domain K17). Refuses to place anything, and to know how it is told.

A stage begins with its first load and is ready with its last. What it draws must be there when the first load draws it, so that pulls
and uses move with it. What a schedule does not know, such as what is done, stays as planned.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from service.kitchen.capacity.scheduled import Scheduled, ScheduledLoad, ScheduledStage
from service.kitchen.planning.demand import Need
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.runs import Run, Stage
from service.kitchen.planning.staffing import LOOKS_BACK


class Timing:
    """The times of one plan's work; without a schedule all stays as planned."""

    def __init__(self, plan: Plan, scheduled: Scheduled | None = None) -> None:
        self.scheduled = scheduled
        self.staffing = plan.staffing
        self._runs = {} if scheduled is None else {run.id: run for run in plan.all_runs}
        self._begins: dict[str, dict[datetime, datetime]] = {}

    def placed(self, run: Run, stage: Stage) -> ScheduledStage | None:
        """A stage as scheduled; None without a schedule, or where it is done."""
        return None if self.scheduled is None else self.scheduled.stage(run.id, stage.number)

    def loads(self, run: Run) -> Sequence[ScheduledLoad]:
        """The loads of a run; none without a schedule, or where it is done."""
        scheduled = None if self.scheduled is None else self.scheduled.runs.get(run.id)
        return () if scheduled is None else scheduled.loads

    def stage(self, run: Run, stage: Stage) -> Stage:
        """A stage at its times; its steps are those of its first load."""
        placed = self.placed(run, stage)
        if placed is None:
            return stage
        starts = {step.number: step.starts for step in placed.steps}
        steps = tuple(each._replace(starts=starts.get(each.number, each.starts)) for each in stage.steps)
        return replace(stage, on=placed.on, starts=placed.starts, ready=placed.ready, steps=steps)

    def run(self, run: Run) -> Run:
        """A run at its times, with its draws, as it is kept where it was printed or reported."""
        if self.scheduled is None or run.id not in self.scheduled.runs:
            return run
        stages = tuple(self.stage(run, stage) for stage in run.stages)
        return replace(run, stages=stages, drawn=tuple(draw._replace(at=self._drawn(run, draw.at)) for draw in run.draws))

    def first(self, needs: Iterable[Need]) -> datetime:
        """When the first of some needs is needed: by the first load of the run that draws it."""
        return min(self._needed(need) for need in needs)

    def pull(self, pull: Pull) -> Pull:
        """A pull so early that it serves the first load of all that draw on it, while somebody is there (K3)."""
        if self.scheduled is None or not pull.fed:
            return pull
        at = self.first(need for need, _ in pull.fed)
        if at >= pull.at:
            return pull
        starts = at - pull.thaw
        staffed = None if self.staffing is None else self.staffing.on_shift_by(starts, at - LOOKS_BACK)
        return replace(pull, at=at, starts=staffed or starts)

    def _needed(self, need: Need) -> datetime:
        if need.drawn_by is None or need.drawn_by.id not in self._runs:
            return need.at
        return self._drawn(self._runs[need.drawn_by.id], need.at)

    def _drawn(self, run: Run, at: datetime) -> datetime:
        """When the first load draws what the run as planned draws at a moment: as that step begins, and never later than planned."""
        if run.id not in self._begins:
            self._begins[run.id] = dict(self._beginnings(run))
        return min(at, self._begins[run.id].get(at, at))

    def _beginnings(self, run: Run) -> Iterable[tuple[datetime, datetime]]:
        """The planned starts of a run's stages and steps, each with that of its first load."""
        for stage in run.stages:
            timed = self.stage(run, stage)
            yield stage.starts, timed.starts
            yield from ((planned.starts, step.starts) for planned, step in zip(stage.steps, timed.steps, strict=True))

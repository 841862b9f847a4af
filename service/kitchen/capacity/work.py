"""Work: what of a run is still to be done, load by load, as steps in whole minutes.

Responsible for the steps of a load (domain K5, K7), and for what reports leave of them (K17). Refuses to know for whom that is
and when it is due.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import floor
from typing import Final, NamedTuple

from service.errors import TooManyLoads
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.book.step import Step
from service.kitchen.capacity.loads import RunLoad, loads_of, prep_times
from service.kitchen.capacity.scheduled import LoadKey
from service.kitchen.measures.batches import TOLERANCE
from service.kitchen.measures.calendar import Keeps
from service.kitchen.planning.minutes import minute_of, minute_up, rest_of, whole
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import DOING, DONE, OPEN, Report
from service.kitchen.planning.runs import Run
from service.kitchen.schedule.problem import NO_REST, WHOLE, LoadStep, Minute, Rest
from service.limits import LOADS_SCHEDULED

NO_STEP: Final = 0
"""The number of the step of a recipe that has none: it is due and takes nobody."""


class PlannedStep(NamedTuple):
    """A step of a load: its number in the recipe (of making ready: 1), the number of its stage, and when the plan begins it."""

    number: int
    stage: int
    planned: Minute
    step: LoadStep


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Steps of a load without a gap, and what they lead to: the piece ``then`` of the same load, or (``gives``) what the run makes.

    ``begun``: when each of them begins, where they are under way (K17).
    """

    id: str
    run: Run
    load: RunLoad
    steps: tuple[PlannedStep, ...]
    gives: bool
    then: str | None = None
    begun: tuple[Minute, ...] | None = None

    @property
    def key(self) -> LoadKey:
        """The load that it is of."""
        return LoadKey(self.run.id, self.load.number)

    @property
    def ends(self) -> Minute:
        """When the plan has its last step ready."""
        return next(minute_of(stage.ready) for stage in self.run.stages if stage.number == self.steps[-1].stage)


@dataclass(frozen=True, slots=True)
class RunWork:
    """The loads of a run, and by their numbers the pieces of them that are still to be done; of a fixed run with its reports."""

    run: Run
    loads: tuple[RunLoad, ...]
    pieces: Mapping[int, tuple[Piece, ...]]
    reported: bool

    def last(self, load: RunLoad) -> Piece | None:
        """The piece that ends with what the load gives; None where that is done."""
        return next((piece for piece in self.pieces[load.number] if piece.gives), None)

    def step(self, load: RunLoad, number: int) -> tuple[Piece, int] | None:
        """Where the step of a number is: its piece, and its place in it from 0; None where it is done."""
        for piece in self.pieces[load.number]:
            for place, each in enumerate(piece.steps):
                if each.number == number:
                    return piece, place
        return None


def keeps_of_item(run: Run, item: Item, catalogue: Catalogue) -> Keeps | None:
    """How long what a run makes or gives of an item keeps (T6); None where that keeps for good."""
    if run.version is not None and item == run.item:
        return run.version.keeps
    form = catalogue.form(item)
    return catalogue.ingredients[item.code].keeps if form is None else form.keeps


def length(step: LoadStep) -> int:
    """How long a step lasts at best."""
    return step.active + step.rest.target


def work_of(plan: Plan, catalogue: Catalogue, site: Site, release: Minute) -> dict[str, RunWork]:
    """What is to be done for a plan by the ids of its runs, reported ones among them while they are not done.

    What is under way and would have ended by ``release`` counts as done. Raises TooManyLoads.
    """
    works: dict[str, RunWork] = {}
    number = 0
    fixed = {each.run.id: each.reports for each in plan.reported.runs}
    for run in plan.all_runs:
        loads = loads_of(run, catalogue, site)
        reports = fixed.get(run.id, {})
        pieces = {load.number: _pieces(run, load, reports, _steps(run, load, catalogue, site), release) for load in loads}
        if any(pieces.values()):
            works[run.id] = RunWork(run, loads, pieces, reported=run.id in fixed)
            number += len(loads)
            # Told as soon as it is known: of tens of thousands of runs, most would be cut for nothing.
            if number > LOADS_SCHEDULED:
                raise TooManyLoads
    return works


def _steps(run: Run, load: RunLoad, catalogue: Catalogue, site: Site) -> tuple[PlannedStep, ...]:
    """All steps of a load, with the times of the plan (K5)."""
    if run.version is not None and run.version.steps:
        timed = ((stage.number, each) for stage in run.stages for each in stage.steps)
        return tuple(PlannedStep(each.number, stage, minute_of(each.starts), _step(run, load, each.step, site)) for stage, each in timed)
    stage = run.stages[0]
    station = site.station(stage.station)
    if run.version is not None:
        return (PlannedStep(NO_STEP, stage.number, minute_of(stage.starts), LoadStep(active=0, station=station)),)
    active, lead = prep_times(run, catalogue, load)
    rest = Rest(whole(lead), whole(lead), whole(lead)) if lead else NO_REST
    return (PlannedStep(1, stage.number, minute_of(stage.starts), LoadStep(active=whole(active), rest=rest, station=station)),)


def _step(run: Run, load: RunLoad, step: Step, site: Site) -> LoadStep:
    """A recipe's step as a load of it takes it, after the maps of the site (K2, K5, K7)."""
    assert run.version is not None  # noqa: S101 - only recipes have such steps
    conversions = run.version.conversions
    machines = None if step.equipment is None else site.machines(step.equipment)
    room = None if machines is None or not machines.shared else machines.load(conversions)
    # Up by what sums of floats leave over: four quarters fill one machine.
    share = WHOLE if room is None else min(floor(load.quantity / float(room) * (1 + TOLERANCE) * WHOLE), WHOLE)
    return LoadStep(
        active=whole(step.hands_on(load.quantity, load.batches, conversions)),
        rest=rest_of(step.passive),
        station=site.station(step.station),
        equipment=None if machines is None else machines.equipment,
        share=share,
    )


def _pieces(run: Run, load: RunLoad, reports: Mapping[int, Report], steps: Sequence[PlannedStep], release: Minute) -> tuple[Piece, ...]:
    """The steps of a load that reports leave: what is under way, and stretches of what nobody reported (K17)."""
    pieces: list[Piece] = []
    before: PlannedStep | None = None
    joined = False
    for state, group in groupby(steps, lambda each: _state(reports.get(each.stage), load)):
        stretch = tuple(group)
        begun = _begun(stretch, reports[stretch[0].stage]) if state == DOING else None
        over = begun is not None and begun[-1] + length(stretch[-1].step) <= release
        if state != DONE and not over:
            first = stretch[0].stage
            id_ = f"{run.id} {load.number}" + (f" from {first}" if first > 1 else "")
            if joined:
                pieces[-1] = replace(pieces[-1], then=id_)
            if state == OPEN:
                stretch = (_no_sooner(stretch[0], before, run, reports), *stretch[1:])
            gives = stretch[-1].stage == run.stages[-1].number
            pieces.append(Piece(id=id_, run=run, load=load, steps=stretch, gives=gives, begun=begun))
        joined = state != DONE and not over
        before = stretch[-1]
    return tuple(pieces)


def _state(report: Report | None, load: RunLoad) -> str:
    """What a report of its stage means for a step of a load: of a stage that is being done, the first load is under way (K17)."""
    if report is None:
        return OPEN
    return OPEN if report.state == DOING and load.number > 1 else report.state


def _begun(stretch: Iterable[PlannedStep], report: Report) -> tuple[Minute, ...]:
    """When each of some steps begins that are under way since a report, each for the time planned."""
    starts, at = [], minute_of(report.at)
    for each in stretch:
        starts.append(at)
        at += length(each.step)
    return tuple(starts)


def _no_sooner(step: PlannedStep, before: PlannedStep | None, run: Run, reports: Mapping[int, Report]) -> PlannedStep:
    """A step that follows on what was reported: no sooner than that was done and has rested as short as it may, or than it was begun."""
    report = reports.get(step.stage)
    if report is not None:
        return step._replace(step=replace(step.step, not_before=minute_up(report.at)))
    report = None if before is None else reports.get(before.stage)
    if report is None or before is None or report.state != DONE:
        return step
    done = minute_up(report.done(next(stage.ready for stage in run.stages if stage.number == before.stage)))
    # Whether the rest was over already when it was reported, nobody said: not later than planned, then.
    rested = max(done, min(step.planned, done + before.step.rest.least))
    return step._replace(step=replace(step.step, not_before=rested))

"""Placement: what the schedule's room answers, as moments of runs, cooks and machines.

Responsible for turning an answer back into what was asked about (domain K12 to K17). Refuses to find places.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.loads import RunLoad
from service.kitchen.capacity.question import Question
from service.kitchen.capacity.rows import duties_of, machine_rows
from service.kitchen.capacity.scheduled import (
    Because,
    Conflict,
    Cook,
    Help,
    Lack,
    LoadKey,
    Machine,
    PlacedStep,
    Scheduled,
    ScheduledLoad,
    ScheduledRun,
    ScheduledStage,
)
from service.kitchen.capacity.work import NO_STEP, Piece, RunWork, keeps_of_item, length
from service.kitchen.measures.calendar import MINUTE, ZERO, Keeps
from service.kitchen.planning.minutes import moment_of
from service.kitchen.planning.runs import Run
from service.kitchen.schedule import answer
from service.kitchen.schedule.answer import Placed, Schedule
from service.kitchen.schedule.helps import helps


def scheduled_of(question: Question, schedule: Schedule, catalogue: Catalogue, site: Site) -> Scheduled:
    """An answer in moments, by the ids of runs."""
    reading = _Reading(question, schedule, catalogue, site)
    return Scheduled(
        release=moment_of(question.problem.release),
        runs={id_: reading.run(work) for id_, work in question.works.items()},
        conflicts=tuple(reading.conflicts()),
        duties=tuple(duties_of(question, schedule, site.calendar())),
        machines=tuple(machine_rows(question, schedule)),
        attempts=schedule.attempts,
        tried=lambda among: helps_of(question, schedule, among),
    )


def helps_of(question: Question, schedule: Schedule, among: Collection[LoadKey]) -> tuple[Help, ...]:
    """What would help some loads, by the names of shifts as the site states them (K13)."""
    pieces = {piece.id for piece in question.pieces.values() if piece.key in among}
    return tuple(
        Help(
            code=each.code,
            name=question.turns[each.name].name if each.name and each.code != "one_more_machine" else each.name,
            by=None if each.minutes is None else each.minutes * MINUTE,
            left_out=each.left_out,
        )
        for each in helps(question.problem, schedule, pieces)
    )


class _Step(NamedTuple):
    """A step where it stands, with the number of its stage."""

    stage: int
    placed: PlacedStep


class _Reading:
    """An answer, as it is read."""

    def __init__(self, question: Question, schedule: Schedule, catalogue: Catalogue, site: Site) -> None:
        self.question, self.schedule, self.catalogue, self.site = question, schedule, catalogue, site
        self.calendar = site.calendar()
        self.left_out = {conflict.load: conflict for conflict in schedule.left_out}

    def run(self, work: RunWork) -> ScheduledRun:
        """A run's loads and stages."""
        to_do = [(load, pieces) for load in work.loads if (pieces := work.pieces[load.number])]
        rows = []
        for load, pieces in to_do:
            steps = [step for piece in pieces for step in self._steps_of(piece)]
            rows.append((self._load(work, load, pieces, steps), steps))
        stages = sorted({step.stage for _, steps in rows for step in steps})
        return ScheduledRun(
            loads=tuple(load for load, _ in rows),
            stages={number: self._stage(work.run, number, rows) for number in stages},
        )

    def _load(self, work: RunWork, load: RunLoad, pieces: Sequence[Piece], steps: Sequence[_Step]) -> ScheduledLoad:
        key = LoadKey(work.run.id, load.number)
        found = [self.schedule.place.get(piece.id) for piece in pieces]
        fits, last = all(each is not None for each in found), found[-1]
        due = self.left_out[pieces[-1].id].due if last is None else last.due
        slacks = [each.slack for each, piece in zip(found, pieces, strict=True) if each is not None and piece.begun is None]
        starts = steps[0].placed.starts
        return ScheduledLoad(
            key=key,
            of=len(work.loads),
            quantity=load.quantity,
            given=self.question.given.get(key, ()),
            on=self.calendar.business_date(starts),
            service=self.question.services[work.run.id],
            starts=starts,
            ready=steps[-1].placed.ends,
            due=None if due is None else moment_of(due),
            held=ZERO if last is None else last.held * MINUTE,
            slack=min(slacks) * MINUTE if fits and slacks else None,
            fits=fits,
            steps=tuple(step.placed for step in steps if step.placed.number != NO_STEP),
            because=None if last is None else self._because(last.because),
        )

    def _stage(self, run: Run, number: int, rows: Sequence[tuple[ScheduledLoad, Sequence[_Step]]]) -> ScheduledStage:
        """One stage over the loads that still have it to do (K17)."""
        doing = [(load, found) for load, steps in rows if (found := [step.placed for step in steps if step.stage == number])]
        starts = min(steps[0].starts for _, steps in doing)
        slacks = [load.slack for load, _ in doing if load.slack is not None]
        fits = all(load.fits for load, _ in doing)
        keeps = keeps_of_item(run, run.item, self.catalogue) or Keeps()
        return ScheduledStage(
            number=number,
            on=self.calendar.business_date(starts),
            starts=starts,
            ready=max(steps[-1].ends for _, steps in doing),
            use_by=min(self.calendar.use_by(load.ready, keeps) for load, _ in doing),
            fits=fits,
            slack=min(slacks, default=None) if fits else None,
            steps=tuple(step for step in doing[0][1] if step.number != NO_STEP),
        )

    def _steps_of(self, piece: Piece) -> Iterator[_Step]:
        """The steps of a piece where they stand; of what is left out, by the hours alone or where the plan has them (K12)."""
        placed = self.schedule.place.get(piece.id)
        if placed is None:
            starts = self.left_out[piece.id].starts or tuple(each.planned for each in piece.steps)
            ready = starts[-1] + length(piece.steps[-1].step)
        else:
            starts, ready = placed.starts, placed.ready
        cooks = {} if placed is None else {hands.step: hands.cook for hands in placed.hands if hands.cook is not None}
        machines = {} if placed is None else dict(_stayed(piece, placed))
        for place, (each, begins, ends) in enumerate(zip(piece.steps, starts, (*starts[1:], ready), strict=True)):
            cook = cooks.get(place)
            yield _Step(
                each.stage,
                PlacedStep(
                    number=each.number,
                    starts=moment_of(begins),
                    rests=moment_of(begins + each.step.active),
                    ends=moment_of(ends),
                    cook=None if cook is None else Cook(self.question.turns[cook.shift].name, cook.number),
                    machine=machines.get(place),
                ),
            )

    def _because(self, found: answer.Because) -> Because:
        return Because(found.code, found.name, self._keys(found.loads))

    def _keys(self, loads: Iterable[str]) -> tuple[LoadKey, ...]:
        """The loads of some names; what only keeps a machine out of order is none."""
        pieces = (self.question.pieces.get(id_) for id_ in loads)
        return tuple(dict.fromkeys(piece.key for piece in pieces if piece is not None))

    def conflicts(self) -> Iterator[Conflict]:
        """What finds no place."""
        for each in self.schedule.left_out:
            key = self.question.pieces[each.load].key
            yield Conflict(
                load=key,
                lacks=tuple(Lack(*lack) for lack in each.lacks),
                begins=None if each.begins is None else moment_of(each.begins),
                until=None if each.due is None else moment_of(each.due),
                short=None if each.short is None else each.short * MINUTE,
                taken_by=self._keys(each.taken_by),
                under=None if each.under is None else self.question.pieces[each.under].key,
                at_risk=self.question.given.get(key, ()),
            )


def _stayed(piece: Piece, placed: Placed) -> Iterator[tuple[int, Machine]]:
    """The machine that each step of a piece is in, by its place: steps in a row in the same equipment are one stay (K7)."""
    for stay in placed.stays:
        for place in range(stay.step, len(piece.steps)):
            if piece.steps[place].step.equipment != stay.equipment:
                break
            yield place, Machine(stay.equipment, stay.number)

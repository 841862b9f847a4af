"""Purposes: what each load of a plan works for and draws on, and what that holds it to.

Responsible for who is served by which load, when the first of them are, and between which minutes things keep (domain K8), and for the
service date of a run. Refuses to know cooks and machines.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.capacity.bounds import earliest, earliest_ready, keeps_of, last_minute, latest
from service.kitchen.capacity.gifts import Gift, Gifts, between
from service.kitchen.capacity.scheduled import LoadKey
from service.kitchen.capacity.work import NO_STEP, Piece, RunWork, keeps_of_item
from service.kitchen.measures.calendar import Calendar
from service.kitchen.planning.demand import Need
from service.kitchen.planning.minutes import minute_of, minute_up
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.runs import Run
from service.kitchen.planning.stock import ALWAYS
from service.kitchen.schedule.problem import Minute, Serves


@dataclass(slots=True)
class Purpose:
    """The parts of needs that a load meets, the steps that draw on it, and how early guests and pars let it be ready."""

    given: list[tuple[Need, float]] = field(default_factory=list)
    serves: dict[Serves, None] = field(default_factory=dict)
    not_ready_before: Minute | None = None


class Limit(NamedTuple):
    """Between which minutes a step may begin for the lots that it draws on."""

    not_before: Minute | None = None
    not_after: Minute | None = None


class Purposes:
    """What the loads of a plan work for.

    ``of`` tells it of each load, ``due`` when the first of a run's guests and pars are served, by its id; ``limits`` are those of
    steps, by their piece and their place in it.
    """

    def __init__(self, plan: Plan, works: Mapping[str, RunWork], catalogue: Catalogue, calendar: Calendar) -> None:
        self.of: dict[LoadKey, Purpose] = defaultdict(Purpose)
        self.due: dict[str, Minute] = {}
        self.limits: dict[tuple[str, int], Limit] = defaultdict(Limit)
        self._works, self._catalogue, self._calendar = works, catalogue, calendar
        self._runs = {run.id: run for run in plan.all_runs}
        self._services: dict[str, date] = {}
        gifts = Gifts(plan, works)
        for work in works.values():
            for gift in gifts.of_run(work.run, reported=work.reported):
                self._give(work, gift)
        for use in gifts.standing:
            self._limit(use)

    def service(self, run: Run) -> date:
        """The earliest business date among the guests and pars that a run works for, else its own."""
        known = self._services.get(run.id)
        if known is None:
            known = self._services[run.id] = min(self._dates(run), default=run.on)
        return known

    def _dates(self, run: Run) -> Iterator[date]:
        if run.shares is not None:
            yield from (share.outlet.on for shares in run.shares.values() for share in shares if share.outlet is not None)
            return
        for need, _ in run.fed:
            consumer = None if need.drawn_by is None else self._runs.get(need.drawn_by.id)
            if consumer is not None:
                yield self.service(consumer)
            elif need.on is not None:
                yield need.on

    def _give(self, work: RunWork, gift: Gift) -> None:
        """Let the loads that a gift is of work for its need."""
        run, need = work.run, gift.need
        starts = [0.0, *accumulate(load.part for load in work.loads[:-1])]
        for key, amount in _dealt(work, gift, starts):
            self.of[key].given.append((need, amount))
        if need.settled:
            return
        # What a cut or a by-product gives is ready when the whole run is.
        together = len(run.outputs) > 1 or gift.item != run.item
        keeps = keeps_of_item(run, gift.item, self._catalogue)
        if need.drawn_by is None:
            self.due[run.id] = min(minute_of(need.at), self.due.get(run.id, minute_of(need.at)))
            ready = None if keeps is None else earliest_ready(need.at, keeps, self._calendar)
            for purpose in self._givers(work, starts, (gift.begins, gift.ends), together=together):
                purpose.not_ready_before = latest(purpose.not_ready_before, ready)
            return
        at = gift.begins
        for part, piece, place in self._drawing(need):
            ends = at + part * (gift.ends - gift.begins)
            if piece is not None:
                for purpose in self._givers(work, starts, (at, ends), together=together):
                    purpose.serves[Serves(piece.id, place, keeps_of(keeps))] = None
            at = ends

    def _givers(self, work: RunWork, starts: list[float], stretch: tuple[float, float], *, together: bool) -> Iterator[Purpose]:
        """The loads that give a stretch of what a run makes, or all of them together."""
        for index in range(len(starts)) if together else between(starts, *stretch):
            yield self.of[LoadKey(work.run.id, work.loads[index].number)]

    def _drawing(self, need: Need) -> Iterator[tuple[float, Piece | None, int]]:
        """The loads of the run that draws a need in their order: each one's part, and where the step is; None where that is done."""
        consumer = None if need.drawn_by is None else self._works.get(need.drawn_by.id)
        if consumer is not None:
            number = _step_of(consumer.run, need)
            for load in consumer.loads:
                yield (load.part, *(consumer.step(load, number) or (None, 0)))

    def _limit(self, use: Use) -> None:
        """Hold the step that draws on a lot to when that may be used, and to when it was there."""
        lot = use.lot
        there = None if lot.counted or lot.done == ALWAYS else minute_up(lot.done)
        for _, piece, place in self._drawing(use.need):
            if piece is not None and piece.begun is None:
                before, after = self.limits[piece.id, place]
                self.limits[piece.id, place] = Limit(latest(before, there), earliest(after, last_minute(lot.use_by)))


def _dealt(work: RunWork, gift: Gift, starts: list[float]) -> Iterator[tuple[LoadKey, float]]:
    """The loads that a gift is of, each with its amount."""
    bounds, lasts = [*starts, gift.ends], gift.ends - gift.begins
    for index in between(starts, gift.begins, gift.ends):
        until = gift.ends if index == len(starts) - 1 else min(gift.ends, bounds[index + 1])
        reach = until - max(gift.begins, starts[index])
        yield LoadKey(work.run.id, work.loads[index].number), gift.amount * reach / lasts if lasts > 0 else gift.amount


def _step_of(run: Run, need: Need) -> int:
    """The number of the step of a run that draws a need; what no step draws is drawn at the first (K3)."""
    if run.version is not None and not run.version.steps:
        return NO_STEP
    draw = next((each for each in run.draws if each.item == need.item and each.at == need.at), None)
    return 1 if draw is None or draw.line is None else draw.line.line.step or 1

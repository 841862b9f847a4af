"""Question: a plan as a problem for the schedule's room.

Responsible for when each load is due and what it works for (domain K8), and for all that a schedule is asked with (K1, K9, K17).
Refuses to find places.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import accumulate
from typing import Final

from service.errors import TooManyLoads
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.bounds import earliest, earliest_ready, keeps_of, last_minute, latest
from service.kitchen.capacity.gifts import Gift, Gifts, between
from service.kitchen.capacity.scheduled import Fed, LoadKey
from service.kitchen.capacity.staff import Capacities, Turn, dates_between, kinds_of, turns_of
from service.kitchen.capacity.work import NO_STEP, Piece, RunWork, keeps_of_item, work_of
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.demand import Need
from service.kitchen.planning.minutes import minute_of, minute_up, moment_of
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.runs import Run
from service.kitchen.planning.stock import ALWAYS
from service.kitchen.schedule.problem import Load, Minute, Problem, Serves
from service.limits import LOADS_SCHEDULED

AFTER: Final = timedelta(days=2)
"""How long after the last run somebody's hours may still matter: to what is due at the end of its date, and to a help (K13)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A problem with what its names mean.

    ``works`` are by the ids of runs, ``pieces`` by those of the problem's loads, ``turns`` by the names of its shifts. ``given`` are
    the parts of needs that each load meets.
    """

    problem: Problem
    works: dict[str, RunWork]
    pieces: dict[str, Piece]
    turns: dict[str, Turn]
    given: dict[LoadKey, Fed]
    services: dict[str, date]


def question_of(plan: Plan, catalogue: Catalogue, site: Site, capacities: Capacities, at: datetime | None) -> Question:
    """What a schedule of a plan is asked with, ``at`` being the moment before which nothing unreported begins (K9 e).

    Raises TooManyLoads.
    """
    return _Asking(plan, catalogue, site, at).question(capacities)


class _Asking:
    """The state of asking: what is to be done, and what each load of it works for and draws on."""

    def __init__(self, plan: Plan, catalogue: Catalogue, site: Site, at: datetime | None) -> None:
        self.plan, self.catalogue, self.site = plan, catalogue, site
        self.calendar = site.calendar()
        start = self.calendar.start(plan.first)
        self.release = minute_up(start if at is None else max(start, at))
        self.works = work_of(plan, catalogue, site, self.release)
        if sum(len(work.loads) for work in self.works.values()) > LOADS_SCHEDULED:
            raise TooManyLoads
        self.gifts = Gifts(plan, self.works)
        self.runs = {run.id: run for run in (*plan.runs, *(fixed.run for fixed in plan.reported.runs))}
        self.services: dict[str, date] = {}
        self.given: dict[LoadKey, list[tuple[Need, float]]] = defaultdict(list)

    def question(self, capacities: Capacities) -> Question:
        """All of it."""
        loads = {load.id: load for work in self.works.values() for load in self._loads(work)}
        for use in self.gifts.standing:
            self._limit(use, loads)
        dates = self._dates(loads.values())
        turns, kinds = turns_of(self.site, capacities, dates), kinds_of(self.site, capacities, dates)
        problem = Problem(
            release=self.release,
            day_starts=tuple(minute_up(self.calendar.start(on)) for on in dates),
            equipment=kinds.equipment,
            shifts=tuple(turn.shift() for turn in turns),
            # What is out of order takes its machines before anything else does.
            loads=(*kinds.out_of_order, *loads.values()),
        )
        return Question(
            problem=problem,
            works=self.works,
            pieces={piece.id: piece for work in self.works.values() for pieces in work.pieces.values() for piece in pieces},
            turns={turn.id: turn for turn in turns},
            given={key: tuple(fed) for key, fed in self.given.items()},
            services={id_: self._service(work.run) for id_, work in self.works.items()},
        )

    def _loads(self, work: RunWork) -> Iterator[Load]:
        """The loads of a run as a schedule knows them, one for each piece (K8)."""
        run = work.run
        bounds = _Bounds(work)
        for gift in self.gifts.of_run(run, reported=work.reported):
            self._give(work, gift, bounds)
        first_due = min(bounds.dues, default=None)
        ends = minute_of(self.calendar.end(max(run.on, self.plan.first)))
        for load, serves, not_ready_before in zip(work.loads, bounds.serves, bounds.not_ready_before, strict=True):
            for piece in work.pieces[load.number]:
                due = first_due if piece.gives else None
                works_for = tuple(serves) if piece.gives else ()
                if piece.then is not None:
                    works_for = (Serves(piece.then, 0),)
                elif due is None and not works_for:
                    # Nobody takes of it, or what follows it is done already: it is due as planned.
                    due = minute_of(run.at) if piece.gives else piece.ends
                yield Load(
                    id=piece.id,
                    service=(self._service(run) - self.plan.first).days,
                    order=(*run.item.order, run.on.toordinal(), minute_of(run.at), run.id, -load.number),
                    steps=tuple(each.step for each in piece.steps),
                    due=due,
                    not_ready_before=not_ready_before if piece.gives else None,
                    not_ready_after=ends,
                    run=run.id,
                    serves=works_for,
                    planned=tuple(each.planned for each in piece.steps),
                    begun=piece.begun,
                )

    def _give(self, work: RunWork, gift: Gift, bounds: "_Bounds") -> None:
        """Let the loads that a gift is of work for its need: all of them, where it is ready when the whole run is."""
        run, need = work.run, gift.need
        together = len(run.outputs) > 1 or gift.item != run.item
        keeps = keeps_of_item(run, gift.item, self.catalogue)
        for index, amount in bounds.dealt(gift):
            self.given[LoadKey(run.id, index + 1)].append((need, amount))
        if need.settled:
            return
        if need.drawn_by is None:
            bounds.dues.append(minute_of(need.at))
            ready = None if keeps is None else earliest_ready(need.at, keeps, self.calendar)
            for index in bounds.givers(gift.begins, gift.ends, together=together):
                bounds.not_ready_before[index] = latest(bounds.not_ready_before[index], ready)
            return
        consumer = self.works.get(need.drawn_by.id)
        if consumer is None:
            return
        serves_keeps, lasts = keeps_of(keeps), gift.ends - gift.begins
        begins = 0.0
        for load in consumer.loads:
            ends = begins + load.part
            place = consumer.step(load, _step_of(consumer.run, need))
            if place is not None:
                for index in bounds.givers(gift.begins + begins * lasts, gift.begins + ends * lasts, together=together):
                    bounds.serves[index][Serves(place[0].id, place[1], serves_keeps)] = None
            begins = ends

    def _limit(self, use: Use, loads: dict[str, Load]) -> None:
        """Hold the step that draws on a lot to when that may be used, and to when it was there (K8)."""
        lot, need = use.lot, use.need
        consumer = None if need.drawn_by is None else self.works.get(need.drawn_by.id)
        if consumer is None:
            return
        for load in consumer.loads:
            place = consumer.step(load, _step_of(consumer.run, need))
            if place is not None and place[0].begun is None:
                limited, steps = loads[place[0].id], list(loads[place[0].id].steps)
                step = steps[place[1]]
                there = None if lot.counted or lot.done == ALWAYS else minute_up(lot.done)
                steps[place[1]] = replace(
                    step,
                    not_before=latest(step.not_before, there),
                    not_after=earliest(step.not_after, last_minute(lot.use_by)),
                )
                loads[limited.id] = replace(limited, steps=tuple(steps))

    def _service(self, run: Run) -> date:
        """The earliest business date among the guests and pars that a run works for, else its own."""
        known = self.services.get(run.id)
        if known is None:
            known = self.services[run.id] = min(self._dates_of(run), default=run.on)
        return known

    def _dates_of(self, run: Run) -> Iterator[date]:
        if run.shares is not None:
            yield from (share.outlet.on for shares in run.shares.values() for share in shares if share.outlet is not None)
            return
        for need, _ in run.fed:
            consumer = None if need.drawn_by is None else self.runs.get(need.drawn_by.id)
            if consumer is not None:
                yield self._service(consumer)
            elif need.on is not None:
                yield need.on

    def _dates(self, loads: Iterable[Load]) -> list[date]:
        """The business dates from the one before anything begins until everything is over, and some more that a help may need."""
        begins = min([self.release, *(load.begun[0] for load in loads if load.begun is not None)])
        ends = max([self.plan.first, self.calendar.business_date(moment_of(self.release)), *(work.run.on for work in self.works.values())])
        return dates_between(self.calendar.business_date(moment_of(begins)) - ONE_DAY, ends + AFTER)


class _Bounds:
    """What the loads of one run work for, by their places from 0, and what that bounds; ``dues`` are those of guests and pars."""

    def __init__(self, work: RunWork) -> None:
        parts = [load.part for load in work.loads]
        self.starts = [0.0, *accumulate(parts[:-1])]
        self.dues: list[Minute] = []
        self.serves: list[dict[Serves, None]] = [{} for _ in parts]
        self.not_ready_before: list[Minute | None] = [None] * len(parts)

    def givers(self, begins: float, ends: float, *, together: bool) -> range:
        """The loads that give a stretch of what the run makes."""
        return range(len(self.starts)) if together else between(self.starts, begins, ends)

    def dealt(self, gift: Gift) -> Iterator[tuple[int, float]]:
        """The loads that a gift is of, each with its amount."""
        lasts = gift.ends - gift.begins
        for index in between(self.starts, gift.begins, gift.ends):
            until = self.starts[index + 1] if index + 1 < len(self.starts) else gift.ends
            reach = min(gift.ends, until) - max(gift.begins, self.starts[index])
            yield index, gift.amount * reach / lasts if lasts > 0 else gift.amount


def _step_of(run: Run, need: Need) -> int:
    """The number of the step of a run that draws a need; what no step draws is drawn at the first (K3)."""
    if run.version is not None and not run.version.steps:
        return NO_STEP
    draw = next((each for each in run.draws if each.item == need.item and each.at == need.at), None)
    return 1 if draw is None or draw.line is None else draw.line.line.step or 1

"""One attempt at placing loads, one after the other, each at its latest place (K8, K9).

Responsible for when a load is due and between which moments it may stand, given what stands already, and for the order of
placing. Refuses to know what is tried after it, and what is told of it.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from heapq import heapify, heappop, heappush

from service.kitchen.schedule.chain import Chain, chain_of
from service.kitchen.schedule.easing import Easings
from service.kitchen.schedule.gaps import FUTURE, PAST
from service.kitchen.schedule.hours import REACH
from service.kitchen.schedule.place import Bounds, Limits, Times, latest_place
from service.kitchen.schedule.problem import Draw, Load, Minute, Problem
from service.kitchen.schedule.usable import ready_from, usable_until


class Attempt:
    """Where loads stand so far.

    ``placed``: in the order of placing. ``left``: those without a place. ``standing``: where all stand by the hours alone (K3),
    which is what a load is due for as long as nothing that draws on it is placed.
    """

    def __init__(self, problem: Problem, chains: "Chains", easings: Easings, standing: Mapping[str, Times]) -> None:
        self.problem, self.chains, self.easings, self.standing = problem, chains, easings, standing
        self.placed: dict[str, Times] = {}
        self.left: list[str] = []
        self.known: dict[str, list[tuple[Minute, Draw]]] = {}
        self.dues: dict[str, Minute | None] = {}

    def again(self, easings: Easings) -> "Attempt":
        """Another attempt from what stands now."""
        twin = Attempt(self.problem, self.chains, easings, self.standing)
        twin.placed, twin.left = dict(self.placed), list(self.left)
        return twin

    def place_all(
        self, loads: Iterable[str], place: Callable[[Load], Times | None], favour: Mapping[str, int], *, due_first: bool = False
    ) -> None:
        """Give each load a place or leave it out, those first that others of them work for.

        Of those whose consumers are done with, the most favoured is next; then the one due last, or first; then by order.
        """
        among = set(loads)
        waiting = {id_: len({draw.load for draw in self.problem.draws_on[id_]} & among) for id_ in among}
        sign = 1 if due_first else -1

        def rank(id_: str) -> tuple[int, Minute, tuple[str | int, ...], str]:
            due = self.due(id_)
            return -favour.get(id_, 0), sign * (PAST if due is None else due), self.problem.load[id_].order, id_

        ready = [rank(id_) for id_ in among if not waiting[id_]]
        heapify(ready)
        while ready:
            id_ = heappop(ready)[-1]
            times = place(self.problem.load[id_])
            if times is None:
                self.left.append(id_)
            else:
                self.placed[id_] = times
            for supply in self.problem.supplies[id_]:
                if supply in among:
                    waiting[supply] -= 1
                    if not waiting[supply]:
                        heappush(ready, rank(supply))

    def drawn(self, draw: Draw) -> Minute | None:
        """When a load is drawn on: where what draws stands, placed or by the hours alone; None: nowhere."""
        times = self.placed.get(draw.load) or self.standing.get(draw.load)
        return times and times.starts[draw.step]

    def draws(self, load: str) -> list[tuple[Minute, Draw]]:
        """The draws on a load that count, once all that draws on it is done with (K8).

        Those of what is placed; as long as nothing is, of what stands by the hours alone.
        """
        draws = self.problem.draws_on[load]
        if not draws:
            return []
        known = self.known.get(load)
        if known is None:
            counting = [draw for draw in draws if draw.load in self.placed] or draws
            known = self.known[load] = [(moment, draw) for draw in counting if (moment := self.drawn(draw)) is not None]
        return known

    def first_use(self, load: str) -> Minute | None:
        """When a load is first used: by guests and pars, or by what draws on it."""
        own = self.problem.load[load].due
        moments = [moment for moment, _ in self.draws(load)]
        return min(moments if own is None else [*moments, own], default=None)

    def due(self, load: str) -> Minute | None:
        """When a load is due: at its first use, and not after the business date of its run (K8)."""
        if load not in self.dues:
            first, until = self.first_use(load), self.problem.load[load].not_ready_after
            self.dues[load] = first if first is None or until is None else min(first, until)
        return self.dues[load]

    def bounds(self, load: Load, release: Minute, *, later: int = 0) -> Bounds | None:
        """Between which moments a load may stand (K8, K9 d, e), were it due so many minutes later; None: nothing asks for it."""
        due = self.due(load.id)
        if due is None:
            return None
        days = self.problem.day_starts
        ready = [ready_from(moment, draw.keeps, days) for moment, draw in self.draws(load.id)]
        if load.not_ready_before is not None:
            ready.append(load.not_ready_before)
        earliest, latest = self._draw_bounds(load)
        return Bounds(due + later, max(ready, default=PAST), max(release, due - REACH), earliest, latest)

    def _draw_bounds(self, load: Load) -> tuple[Sequence[Minute], Sequence[Minute]]:
        """Of each segment, when it may start for what its steps draw on (K9 d) and for what was eased (K11)."""
        chain = self.chains.of(load, self.easings)
        draws, until = self.problem.draws_of[load.id], self.easings.until.get(load.id)
        if not draws and not until:
            return chain.earliest, chain.latest
        earliest, latest = list(chain.earliest), list(chain.latest)
        for draw in draws:
            segment, offset = chain.marks[draw.step]
            soonest, longest = self._usable(draw)
            earliest[segment] = max(earliest[segment], soonest - offset)
            latest[segment] = min(latest[segment], longest - offset)
        for step, moment in (until or {}).items():
            segment, offset = chain.marks[step]
            latest[segment] = min(latest[segment], moment - offset)
        return earliest, latest

    def _usable(self, draw: Draw) -> tuple[Minute, Minute]:
        """Between which moments a draw may be: while its supply is usable; where that is not placed, so that it keeps for others."""
        days = self.problem.day_starts
        supply = self.placed.get(draw.supply)
        if supply is not None:
            return supply.ready, usable_until(supply.ready, draw.keeps, days)
        others = [other for other in self.problem.draws_on[draw.supply] if other.load != draw.load and other.load in self.placed]
        soonest = [ready_from(self.placed[other.load].starts[other.step], other.keeps, days) for other in others]
        own = self.problem.load[draw.supply].not_ready_before
        return max(soonest if own is None else [*soonest, own], default=PAST), FUTURE

    def place(self, load: Load, limits: Limits, release: Minute, *, later: int = 0) -> Times | None:
        """The latest place of a load as things stand, were it due so many minutes later; it is not taken."""
        bounds = self.bounds(load, release, later=later)
        return bounds and latest_place(self.chains.of(load, self.easings), limits, bounds)


class Chains:
    """The chains of a problem's loads, as they are and as they are eased, each made once."""

    def __init__(self, problem: Problem) -> None:
        self.equipment = frozenset(kind.code for kind in problem.equipment)
        self.made: dict[tuple[str, bool], Chain] = {}

    def of(self, load: Load, easings: Easings) -> Chain:
        """The chain of a load."""
        key = load.id, load.id in easings.short
        if key not in self.made:
            self.made[key] = chain_of(easings.steps(load), self.equipment)
        return self.made[key]

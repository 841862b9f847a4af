"""What in a schedule breaks the rules of capacity, in words.

Responsible for a second reading of K2, K6 to K10, K14 and K15, written from the rules and not from what finds places; it shares
with that nothing but the shape of questions and answers. Refuses to know how good a schedule is.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations, groupby, pairwise
from typing import NamedTuple

from service.kitchen.schedule.answer import Cook, Hands, Placed, Schedule, Stay
from service.kitchen.schedule.problem import WHOLE, Draw, Keeps, Load, Minute, Problem

FOREVER = 10**9


def breaches(problem: Problem, found: Schedule) -> list[str]:
    """Every breach of a rule, named by the rule's id and the load; none is a schedule that keeps them all."""
    checker = Checker(problem, found)
    broken = [*checker.told_once(), *checker.each_load(), *checker.cooks(), *checker.machines(), *checker.draws()]
    # What could begin earlier is only told of places that are kept.
    return broken or [*checker.arithmetic()]


class Period(NamedTuple):
    """When steps in a row are in one equipment (K7): put in for the step ``step``."""

    step: int
    starts: Minute
    ends: Minute
    equipment: str
    share: int


class Limits:
    """What sets a limit at a site (K1), and who is there when."""

    def __init__(self, problem: Problem) -> None:
        self.kinds = {kind.code: kind for kind in problem.equipment}
        self.shifts = {shift.name: shift for shift in problem.shifts}
        self.stations = {station for shift in problem.shifts for station in shift.stations}
        self._day_starts = problem.day_starts

    def periods(self, load: Load, starts: tuple[Minute, ...], ready: Minute) -> list[Period]:
        """Each time that a load is in equipment of which the site has so many, as far as it takes any time."""
        edges = (*starts, ready)
        found = []
        for code, group in groupby(range(len(load.steps)), lambda step: load.steps[step].equipment):
            steps = list(group)
            begins, ends = edges[steps[0]], edges[steps[-1] + 1]
            if code in self.kinds and begins < ends:
                share = min(WHOLE, max(load.steps[step].share for step in steps))
                found.append(Period(steps[0], begins, ends, str(code), share))
        return found

    def somebody(self, station: str, at: Minute) -> bool:
        """Whether anybody is on shift at a station, the edges of a shift included (K2)."""
        return station not in self.stations or self.here_since(station, at) is not None

    def here_since(self, station: str, at: Minute) -> Minute | None:
        """Since when somebody has been at a station without a break; None where nobody is there."""
        hours = [each for shift in self.shifts.values() if shift.cooks and station in shift.stations for each in shift.hours]
        since = at
        while earlier := [begins for begins, ends in hours if begins < since <= ends]:
            since = min(earlier)
        return since if any(begins <= at <= ends for begins, ends in hours) else None

    def usable_until(self, ready: Minute, keeps: Keeps | None) -> Minute:
        """The last minute at which something may be used (T6)."""
        if keeps is None:
            return FOREVER
        if keeps.unit == "h":
            return ready + keeps.amount
        after = bisect_right(self._day_starts, ready) + keeps.amount
        return self._day_starts[after] - 1 if after < len(self._day_starts) else FOREVER

    def ready_from(self, moment: Minute, keeps: Keeps) -> Minute:
        """The earliest minute at which something may be ready that is used at a moment (T6)."""
        if keeps.unit == "h":
            return moment - keeps.amount
        return self._day_starts[max(0, bisect_right(self._day_starts, moment) - 1 - keeps.amount)]


class Checker:
    """One schedule against one problem, rule by rule. Work under way stays where it is, whatever the rules say (K17)."""

    def __init__(self, problem: Problem, found: Schedule) -> None:
        self.problem, self.found = problem, found
        self.limits = Limits(problem)
        self.placed = {each.load: each for each in found.placed}
        self.standing = {conflict.load: conflict.starts for conflict in found.left_out if conflict.starts is not None}
        self.draws_between = [
            Draw(load.id, *serves)
            for load in problem.loads
            for serves in load.serves
            if load.id in self.placed and serves.load in self.placed
        ]
        self.work: dict[Cook, list[tuple[Minute, Minute, Placed]]] = defaultdict(list)
        self.inside: dict[tuple[str, int], list[tuple[Minute, Minute, Placed]]] = defaultdict(list)
        self.shared: dict[str, list[tuple[Stay, Placed]]] = defaultdict(list)
        for each in found.placed:
            for piece in each.hands:
                if piece.cook is not None:
                    self.work[piece.cook].append((piece.starts, piece.ends, each))
            for stay in each.stays:
                if stay.number is not None:
                    self.inside[stay.equipment, stay.number].append((stay.starts, stay.ends, each))
                elif stay.equipment in self.limits.kinds and self.limits.kinds[stay.equipment].shared:
                    self.shared[stay.equipment].append((stay, each))

    def told_once(self) -> Iterator[str]:
        told = Counter([*(each.load for each in self.found.placed), *(conflict.load for conflict in self.found.left_out)])
        for load in self.problem.loads:
            if told.pop(load.id, 0) != 1:
                yield f"K9: {load.id} is not once placed or left out"
        yield from (f"K9: {name} is no load" for name in told)

    def each_load(self) -> Iterator[str]:
        for load in self.problem.loads:
            placed = self.placed.get(load.id)
            if placed is None:
                continue
            rules = (self._steps, self._times, self._hands, self._stays) if load.begun is None else (self._begun,)
            for rule in rules:
                yield from (f"{breach}: {load.id}" for breach in rule(load, placed))

    def _begun(self, load: Load, placed: Placed) -> Iterator[str]:
        if placed.starts != load.begun:
            yield "K17: begun work was moved"

    def _steps(self, load: Load, placed: Placed) -> Iterator[str]:
        if len(placed.starts) != len(load.steps):
            yield "K6: not as many starts as steps"
            return
        for step, (start, end) in zip(load.steps, pairwise((*placed.starts, placed.ready)), strict=True):
            if not step.rest.least <= end - start - step.active <= step.rest.most:
                yield "K6: a rest is too short or too long, or there is a gap"
            if step.not_before is not None and start < step.not_before:
                yield "K9 d: a step begins before what is under way for it is ready"
            if step.not_after is not None and start > step.not_after:
                yield "K8: a step begins after the use-by of a counted lot"

    def _times(self, load: Load, placed: Placed) -> Iterator[str]:
        if placed.starts[0] < self.problem.release:
            yield "K9 e: begins before the release"
        if load.due is not None and placed.ready > load.due:
            yield "K8: ready after its due"
        if load.not_ready_before is not None and placed.ready < load.not_ready_before:
            yield "K8: guests get it past its use-by"
        if load.not_ready_after is not None and placed.ready > load.not_ready_after:
            yield "K8: ready after the end of its business date"
        if placed.due is not None and placed.ready > placed.due:
            yield "K9 a: ready after the due that is told"

    def _hands(self, load: Load, placed: Placed) -> Iterator[str]:
        wanted = {n: (placed.starts[n], placed.starts[n] + step.active) for n, step in enumerate(load.steps) if step.active}
        if {piece.step: (piece.starts, piece.ends) for piece in placed.hands} != wanted or len(placed.hands) != len(wanted):
            yield "K9 c: hands are not those of its steps"
            return
        for piece in placed.hands:
            yield from self._piece(load.steps[piece.step].station, piece)

    def _piece(self, station: str, piece: Hands) -> Iterator[str]:
        if piece.cook is None:
            if station in self.limits.stations:
                yield "K9 c: a piece has no cook"
            return
        shift = self.limits.shifts.get(piece.cook.shift)
        if shift is None or not 1 <= piece.cook.number <= shift.cooks:
            yield "K10: a cook that there is not"
        elif station not in shift.stations:
            yield "K10: a cook of another station"
        elif not any(begins <= piece.starts and piece.ends <= ends for begins, ends in shift.hours):
            yield "K2: a piece is not wholly in one shift"

    def _stays(self, load: Load, placed: Placed) -> Iterator[str]:
        told = {(stay.step, stay.starts, stay.ends, stay.equipment, stay.share) for stay in placed.stays}
        periods = self.limits.periods(load, placed.starts, placed.ready)
        if told != set(periods) or len(placed.stays) != len(periods):
            yield "K7: stays are not those of its steps"
            return
        for stay in placed.stays:
            kind = self.limits.kinds[stay.equipment]
            if not (stay.number is None if kind.shared else stay.number is not None and 1 <= stay.number <= kind.count):
                yield "K7: a machine that there is not"
            if not all(self.limits.somebody(load.steps[stay.step].station, edge) for edge in (stay.starts, stay.ends)):
                yield "K2: put in or taken out while nobody is there"

    def cooks(self) -> Iterator[str]:
        for cook, pieces in self.work.items():
            for (_, end, one), (start, _, other) in pairwise(sorted(pieces, key=lambda each: each[:2])):
                if start < end:
                    yield f"K9 c: {cook.shift} {cook.number} does two things at once: {one.load}, {other.load}"

    def machines(self) -> Iterator[str]:
        for (code, number), stays in self.inside.items():
            for (_, end, one), (start, _, other) in pairwise(sorted(stays, key=lambda each: each[:2])):
                if start < end + (self.limits.kinds[code].turn_round if one is not other else 0):
                    yield f"K7: {code} {number} has two loads, or no time between them: {one.load}, {other.load}"
        for code, together in self.shared.items():
            for at in {stay.starts for stay, _ in together}:
                inside = [(stay, placed) for stay, placed in together if stay.starts <= at < stay.ends]
                full = sum(stay.share for stay, _ in inside) > self.limits.kinds[code].count * WHOLE
                # Work under way takes what there is, and stays.
                if full and any(self.problem.load[placed.load].begun is None for _, placed in inside):
                    yield f"K7: {code} has more than it holds at {at}"

    def draws(self) -> Iterator[str]:
        for draw in self.draws_between:
            if self.problem.load[draw.load].begun is not None:
                continue
            ready, moment = self.placed[draw.supply].ready, self.placed[draw.load].starts[draw.step]
            if moment < ready:
                yield f"K9 d: {draw.load} begins before {draw.supply} is ready"
            if moment > self.limits.usable_until(ready, draw.keeps):
                yield f"K8: {draw.load} gets {draw.supply} past its use-by"

    def arithmetic(self) -> Iterator[str]:
        """What is told of the places: due (K8), held (K14) and slack (K15)."""
        slack = self._slack()
        for load in self.problem.loads:
            placed = self.placed.get(load.id)
            if placed is None:
                continue
            uses = self._uses(load)
            asked = [*uses, *([] if load.due is None else [load.due])]
            first = min(asked, default=placed.ready)
            due = min([*asked, *([] if load.not_ready_after is None else [load.not_ready_after])]) if asked else None
            if placed.due != due:
                yield f"K8: {load.id} is due at {due}, not at {placed.due}"
            if placed.held != first - placed.ready:
                yield f"K14: {load.id} is held for {first - placed.ready}, not for {placed.held}"
            if placed.slack != slack[load.id]:
                yield f"K15: {load.id} has a slack of {slack[load.id]}, not of {placed.slack}"

    def _uses(self, load: Load) -> list[Minute]:
        """When what is placed draws on a load; if none of that is, when it would where it stands by the hours alone (K11, K12)."""
        uses = [self.placed[draw.load].starts[draw.step] for draw in self.draws_between if draw.supply == load.id]
        return uses or [self.standing[serves.load][serves.step] for serves in load.serves if serves.load in self.standing]

    def _slack(self) -> dict[str, int]:
        """The largest numbers that keep K15: from each load's own bound down, until no pair asks for less."""
        slack = {each.load: self._alone(self.problem.load[each.load], each) for each in self.found.placed}
        pairs = [pair for pair in self._pairs() if self.problem.load[pair[0]].begun is None]
        while lower := [(moved, by + slack[other]) for moved, other, by in pairs if slack[moved] > by + slack[other]]:
            for moved, most in lower:
                slack[moved] = min(slack[moved], most)
        return slack

    def _alone(self, load: Load, placed: Placed) -> int:
        """How much earlier a load could begin if it were the only one: not before F, its shift, or while it is of use."""
        if load.begun is not None:
            return 0
        bounds = [placed.starts[0] - self.problem.release]
        if load.not_ready_before is not None:
            bounds.append(placed.ready - load.not_ready_before)
        for step, start in zip(load.steps, placed.starts, strict=True):
            bounds += [] if step.not_before is None else [start - step.not_before]
        for piece in placed.hands:
            if piece.cook is not None:
                hours = self.limits.shifts[piece.cook.shift].hours
                bounds.append(piece.starts - max(begins for begins, _ in hours if begins <= piece.starts))
        for stay in placed.stays:
            station = load.steps[stay.step].station
            for edge in (stay.starts, stay.ends):
                since = self.limits.here_since(station, edge)
                bounds += [edge - since] if station in self.limits.stations and since is not None else []
        for draw in self.draws_between:
            if draw.supply == load.id and draw.keeps is not None and draw.keeps.unit == "d":
                bounds.append(placed.ready - self.limits.ready_from(self.placed[draw.load].starts[draw.step], draw.keeps))
        return max(0, min(bounds))

    def _pairs(self) -> Iterator[tuple[str, str, int]]:
        """That one load can move no more than so much beyond what another does."""
        yield from self._draw_pairs()
        rows = [(0, pieces) for pieces in self.work.values()]
        rows += [(self.limits.kinds[code].turn_round, stays) for (code, _), stays in self.inside.items()]
        for between, row in rows:
            for (_, end, one), (start, _, other) in pairwise(sorted(row, key=lambda each: each[:2])):
                if one is not other:
                    yield other.load, one.load, start - end - between
        for together in self.shared.values():
            for (one_stay, one), (other_stay, other) in combinations(sorted(together, key=lambda each: each[0].starts), 2):
                if one_stay.ends <= other_stay.starts and one is not other:
                    yield other.load, one.load, other_stay.starts - one_stay.ends

    def _draw_pairs(self) -> Iterator[tuple[str, str, int]]:
        for draw in self.draws_between:
            ready, moment = self.placed[draw.supply].ready, self.placed[draw.load].starts[draw.step]
            yield draw.load, draw.supply, moment - ready
            if draw.keeps is not None and draw.keeps.unit == "h":
                yield draw.supply, draw.load, ready + draw.keeps.amount - moment

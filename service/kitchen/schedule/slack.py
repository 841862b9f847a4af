"""How much earlier each load could begin, if all began as early as they can in the same order of work (K15).

Responsible for slack: the shortest ways through what keeps loads from being earlier. Refuses to know how they were placed.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from heapq import heappop, heappush
from itertools import combinations, pairwise
from typing import NamedTuple

from service.kitchen.schedule.answer import Cook, Hands, Stay
from service.kitchen.schedule.hours import Hours
from service.kitchen.schedule.place import Times
from service.kitchen.schedule.problem import Draw, Load, Minute, Problem
from service.kitchen.schedule.usable import ready_from

Given = tuple[tuple[Hands, ...], tuple[Stay, ...]]
_Taken = tuple[Minute, Minute, str]


class _Follows(NamedTuple):
    """That one load can be earlier by at most so many minutes more than another."""

    load: str
    other: str
    minutes: int


def slacks(problem: Problem, placed: Mapping[str, Times], given: Mapping[str, Given]) -> dict[str, int]:
    """The slack of each placed load in minutes (K15); of work under way it is nil.

    The largest numbers with which each begins so much earlier: not before the release or its shift, nor usable for too short;
    with the order of every cook, machine and pair that is not side by side; each rest as long as now. Where a load keeps days,
    it is usable for its draws where they are now.
    """
    hours = Hours(problem.shifts)
    slack = {id_: max(0, min(_alone(problem, hours, problem.load[id_], times, given[id_], placed))) for id_, times in placed.items()}
    follows: dict[str, list[_Follows]] = defaultdict(list)
    for each in (*_in_order(problem, given), *_after_supplies(problem, placed)):
        follows[each.other].append(each)
    queue = sorted((minutes, id_) for id_, minutes in slack.items())
    while queue:
        minutes, id_ = heappop(queue)
        if minutes > slack[id_]:
            continue
        for each in follows[id_]:
            reached = minutes + max(0, each.minutes)
            if reached < slack[each.load]:
                slack[each.load] = reached
                heappush(queue, (reached, each.load))
    return slack


def _alone(problem: Problem, hours: Hours, load: Load, times: Times, given: Given, placed: Mapping[str, Times]) -> Iterator[int]:
    """By how many minutes a load can be earlier at most, whatever the others do."""
    if load.begun is not None:
        yield 0
    yield times.starts[0] - problem.release
    for step, start in zip(load.steps, times.starts, strict=True):
        if step.not_before is not None:
            yield start - step.not_before
    shifts = {shift.name: shift for shift in problem.shifts}
    hands, stays = given
    for piece in hands:
        if piece.cook is not None:
            on = (begins for begins, ends in shifts[piece.cook.shift].hours if begins <= piece.starts and piece.ends <= ends)
            yield from (piece.starts - begins for begins in on)
    for stay in stays:
        station = load.steps[stay.step].station
        yield from (edge - hours.staffed_since(station, edge) for edge in (stay.starts, stay.ends))
    if load.not_ready_before is not None:
        yield times.ready - load.not_ready_before
    for draw in problem.draws_on[load.id]:
        if draw.load in placed and draw.keeps is not None and draw.keeps.unit == "d":
            yield times.ready - ready_from(placed[draw.load].starts[draw.step], draw.keeps, problem.day_starts)


def _in_order(problem: Problem, given: Mapping[str, Given]) -> Iterator[_Follows]:
    """That every cook and machine keeps the order of its work, and what is not side by side in shared equipment too."""
    cooks: dict[Cook, list[_Taken]] = defaultdict(list)
    machines: dict[tuple[str, int | None], list[_Taken]] = defaultdict(list)
    for id_, (hands, stays) in given.items():
        for piece in hands:
            if piece.cook is not None:
                cooks[piece.cook].append((piece.starts, piece.ends, id_))
        for stay in stays:
            machines[stay.equipment, stay.number].append((stay.starts, stay.ends, id_))
    for taken in cooks.values():
        yield from _one_after_another(taken, 0)
    kinds = {kind.code: kind for kind in problem.equipment}
    for (code, number), taken in machines.items():
        if kinds[code].shared:
            yield from _not_side_by_side(taken)
        elif number is not None:
            yield from _one_after_another(taken, kinds[code].turn_round)


def _not_side_by_side(work: Sequence[_Taken]) -> Iterator[_Follows]:
    for (_, end, before), (start, _, after) in combinations(sorted(work), 2):
        if end <= start and before != after:
            yield _Follows(after, before, start - end)


def _one_after_another(work: Sequence[_Taken], turn_round: int) -> Iterator[_Follows]:
    for (_, end, before), (start, _, after) in pairwise(sorted(work)):
        if before != after:
            yield _Follows(after, before, start - end - turn_round)


def _after_supplies(problem: Problem, placed: Mapping[str, Times]) -> Iterator[_Follows]:
    """That nothing begins before what it draws on, and nothing is ready so early that minutes of keeping do not reach."""
    for id_, times in placed.items():
        for draw in _among(problem.draws_on[id_], placed):
            moment = placed[draw.load].starts[draw.step]
            yield _Follows(draw.load, id_, moment - times.ready)
            if draw.keeps is not None and draw.keeps.unit == "h":
                yield _Follows(id_, draw.load, times.ready + draw.keeps.amount - moment)


def _among(draws: Sequence[Draw], placed: Mapping[str, Times]) -> Iterator[Draw]:
    return (draw for draw in draws if draw.load in placed)

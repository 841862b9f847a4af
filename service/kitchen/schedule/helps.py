"""What would help: single changes after which fewer loads are left out, each tried by a whole new schedule (K13).

Responsible for which changes are tried and in which order. Refuses to know how a schedule comes about.
"""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from functools import partial

from service.kitchen.schedule.answer import Conflict, Help, Schedule
from service.kitchen.schedule.engine import Engine
from service.kitchen.schedule.problem import Load, Minute, Problem, Shift

BY = (15, 30, 60, 120)
"""How many minutes earlier a shift begins, or later something is needed; the first that helps counts (K13)."""
TRIED = 10_000_000
"""Over the square of the number of loads: how many changes are tried, for a try takes longer the more loads there are (K13)."""


def helps(problem: Problem, schedule: Schedule, among: Collection[str] | None = None) -> tuple[Help, ...]:
    """The single changes with which fewer loads are left out than in the schedule of a problem, in the order of K13.

    Only the loads ``among`` some count, such as those of one date; all of them, where none are given.
    """
    left = [conflict for conflict in schedule.left_out if among is None or conflict.load in among]
    return tuple(help_ for help_ in _tried(problem, left, among) if help_.left_out < len(left))


def _tried(problem: Problem, conflicts: Sequence[Conflict], among: Collection[str] | None) -> Iterator[Help]:
    left = [conflict.load for conflict in conflicts]
    lacked = {kind: _lacked(conflicts, kind) for kind in ("equipment", "station")}
    stations = {step.station for id_ in left for step in problem.load[id_].steps}

    tries = iter(range(TRIED // max(1, len(problem.loads)) ** 2))

    def left_out(changed: Problem) -> int:
        """How many are left out after a change: as many as before, where enough was tried."""
        if next(tries, None) is None:
            return len(left)
        still = Engine(changed).find().attempt.left
        return sum(among is None or id_ in among for id_ in still)

    def first(changed: Callable[[int], Problem]) -> tuple[int, int]:
        """The first number of minutes that helps, or the last, and how many loads are left out with it."""
        counts = ((by, left_out(changed(by))) for by in BY)
        return next(((by, count) for by, count in counts if count < len(left)), (BY[-1], len(left)))

    for shift in problem.shifts:
        if stations.intersection(shift.stations):
            yield Help("begins_earlier", shift.name, *first(partial(_with_beginning, problem, shift)))
    if left:
        yield Help("needed_later", None, *first(partial(_needed_later, problem, left)))
    for shift in problem.shifts:
        if set(lacked["station"]).intersection(shift.stations):
            yield Help("one_more_cook", shift.name, None, left_out(_with_shift(problem, replace(shift, cooks=shift.cooks + 1))))
    for code in lacked["equipment"]:
        yield Help("one_more_machine", code, None, left_out(_one_more(problem, code)))


def _lacked(conflicts: Sequence[Conflict], kind: str) -> Sequence[str]:
    lacks = (lack for conflict in conflicts for lack in conflict.lacks)
    return list(dict.fromkeys(lack.name for lack in lacks if lack.kind == kind))


def _with_shift(problem: Problem, shift: Shift) -> Problem:
    return replace(problem, shifts=tuple(shift if each.name == shift.name else each for each in problem.shifts))


def _with_beginning(problem: Problem, shift: Shift, by: int) -> Problem:
    """The problem with a shift that begins earlier, but not before it ended the time before."""
    ends: list[Minute] = [shift.hours[0][0] - by, *(end for _, end in shift.hours)] if shift.hours else []
    hours = tuple((max(begins - by, before), end) for before, (begins, end) in zip(ends, shift.hours, strict=False))
    return _with_shift(problem, replace(shift, hours=hours))


def _needed_later(problem: Problem, left: Sequence[str], by: int) -> Problem:
    """All loads of the runs that the left-out loads work for, due so much later where guests or pars need them."""
    later = set(problem.served(left))
    runs = {problem.load[id_].run for id_ in later} - {None}
    loads = (_later(load, by) if load.id in later or load.run in runs else load for load in problem.loads)
    return replace(problem, loads=tuple(loads))


def _later(load: Load, by: int) -> Load:
    """A load that guests and pars need later: it is not ready so early either that they get it past its use-by."""
    if load.due is None:
        return load
    ready = load.not_ready_before
    return replace(load, due=load.due + by, not_ready_before=None if ready is None else ready + by)


def _one_more(problem: Problem, code: str) -> Problem:
    kinds = (replace(kind, count=kind.count + 1) if kind.code == code else kind for kind in problem.equipment)
    return replace(problem, equipment=tuple(kinds))

"""What keeps each load from being one minute later (K16).

Responsible for the reason that a cook is told, by what stood already when the load found its place. Refuses to know whether a
later place would be of use.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from service.kitchen.schedule.answer import Because, Cook, Hands, Stay
from service.kitchen.schedule.engine import Found
from service.kitchen.schedule.gaps import Gaps
from service.kitchen.schedule.place import Times
from service.kitchen.schedule.problem import WHOLE, Load, Minute, Problem

Work = list[tuple[Minute, Minute, str]]


def reasons(problem: Problem, found: Found, due: Mapping[str, Minute | None]) -> dict[str, Because]:
    """Why each placed load is not a minute later, all its rests as they are: its due, else its steps, the last first."""
    before = _Before(problem, found)
    told: dict[str, Because] = {}
    for id_, times in found.attempt.placed.items():
        told[id_] = before.because(problem.load[id_], times, due[id_])
        before.add(id_, *found.given[id_])
    return told


class _Before:
    """Who and what was taken when a load found its place."""

    def __init__(self, problem: Problem, found: Found) -> None:
        self.problem, self.attempt, self.board, self.given = problem, found.attempt, found.board, found.given
        self.hours = {shift.name: Gaps(shift.hours) for shift in problem.shifts}
        self.cooks: dict[Cook, Work] = defaultdict(list)
        self.machines: dict[str, list[tuple[Stay, str]]] = defaultdict(list)

    def add(self, load: str, hands: Sequence[Hands], stays: Sequence[Stay]) -> None:
        """Take who and what a load was given."""
        for piece in hands:
            if piece.cook is not None:
                self.cooks[piece.cook].append((piece.starts, piece.ends, load))
        for stay in stays:
            self.machines[stay.equipment].append((stay, load))

    def because(self, load: Load, times: Times, due: Minute | None) -> Because:
        """The reason of one load."""
        if load.begun is not None:
            return Because("begun")
        if due is not None and times.ready >= due:
            asking = [draw.load for moment, draw in self.attempt.draws(load.id) if moment == due]
            return Because("due", loads=() if load.due == due else tuple(dict.fromkeys(asking)))
        hands, stays = self.given[load.id]
        for step in reversed(range(len(load.steps))):
            for piece in hands:
                if piece.step == step and (reason := self._hands(load, piece)):
                    return reason
            for stay in stays:
                if stay.step == step and (reason := self._stay(load, stay)):
                    return reason
        return Because("step")

    def _hands(self, load: Load, piece: Hands) -> Because | None:
        """The station whose hours end, or whose cooks all have something else, a minute later."""
        station = load.steps[piece.step].station
        start, end = piece.starts + 1, piece.ends + 1
        rows = self.board.hours.hands(station)
        if rows is None:
            return None
        if not any(row.around(start, end) for row in rows):
            return Because("hours", station)
        on_shift = [cook for cook in self.board.cooks[station] if self.hours[cook.shift].around(start, end)]
        having = [list(_at(self.cooks[cook], start, end)) for cook in on_shift]
        if not all(having):
            return None
        return Because("station", station, _by_time(each for work in having for each in work))

    def _stay(self, load: Load, stay: Stay) -> Because | None:
        """The station whose hours end, or the equipment that has something else, a minute later."""
        station = load.steps[stay.step].station
        start, end = stay.starts + 1, stay.ends + 1
        rows = self.board.on_shift(station)
        if rows is not None and not all(any(row.around(edge, edge) for row in rows) for edge in (start, end)):
            return Because("hours", station)
        kind = self.board.kinds[stay.equipment]
        turn = 0 if kind.shared else kind.turn_round
        others = [(other, id_) for other, id_ in self.machines[stay.equipment] if other.starts < end + turn and start < other.ends + turn]
        if kind.shared:
            moments = [start, *(other.starts for other, _ in others if other.starts > start)]
            fullest = max(sum(other.share for other, _ in others if other.starts <= moment < other.ends) for moment in moments)
            full = fullest + stay.share > kind.count * WHOLE
        else:
            full = len({other.number for other, _ in others}) >= kind.count
        if not full:
            return None
        return Because("equipment", stay.equipment, _by_time((other.starts, other.ends, id_) for other, id_ in others))


def _at(work: Work, start: Minute, end: Minute) -> Iterator[tuple[Minute, Minute, str]]:
    return (each for each in work if each[0] < end and start < each[1])


def _by_time(work: Iterator[tuple[Minute, Minute, str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(id_ for _, _, id_ in sorted(work)))

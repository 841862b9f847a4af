"""What does not fit: of each load left out, what it lacks, from when until when, and by how much it is short (K12).

Responsible for trying a load left out without one limit at a time, as things stand. Refuses to know what would help, and
what it puts at risk.
"""

from collections.abc import Iterator, Sequence

from service.kitchen.schedule.answer import Conflict, Lack
from service.kitchen.schedule.attempt import Attempt
from service.kitchen.schedule.board import Board
from service.kitchen.schedule.engine import Found
from service.kitchen.schedule.gaps import Gaps
from service.kitchen.schedule.place import Times
from service.kitchen.schedule.problem import Load, Minute, Problem

FIVE = 5
MOST = 12 * 60 // FIVE
"""How many times five minutes a load may be told to be short by."""


def conflicts(problem: Problem, found: Found) -> tuple[Conflict, ...]:
    """The loads left out, in the problem's order."""
    left = set(found.attempt.left)
    return tuple(_conflict(problem, found, load, left) for load in problem.loads if load.id in left)


def _conflict(problem: Problem, found: Found, load: Load, left: set[str]) -> Conflict:
    attempt = found.attempt
    lacks, begins = _lacking(problem, found, load)
    due = attempt.due(load.id)
    works_for = problem.served([load.id])
    stands = attempt.standing.get(load.id)
    return Conflict(
        load=load.id,
        starts=stands and stands.starts,
        lacks=lacks,
        begins=begins,
        due=due,
        short=_short(problem, attempt, found.board, load),
        taken_by=() if begins is None or due is None else _taken_by(found, lacks, begins, due),
        under=next((id_ for id_ in works_for[1:] if id_ in left), None),
        works_for=works_for,
    )


def _lacking(problem: Problem, found: Found, load: Load) -> tuple[tuple[Lack, ...], Minute | None]:
    """What a load lacks, and when it would begin without the limit of it: at the earliest, if of several alone (K12)."""
    attempt, board, release = found.attempt, found.board, problem.release
    stays = attempt.chains.of(load, attempt.easings).stays
    putting = {stay.station for stay in stays}
    stations = dict.fromkeys(step.station for step in load.steps if step.station in board.cooks)
    manned = [station for station in stations if any(step.active and step.station == station for step in load.steps)]
    needs = [Lack("equipment", code) for code in dict.fromkeys(stay.equipment for stay in stays)]
    needs += [Lack("station", station) for station in manned]
    alone = {need: times for need in needs if (times := attempt.place(load, _Without(board, [need]), release))}
    if alone:
        return tuple(alone), min(times.starts[0] for times in alone.values())
    times = attempt.place(load, _Without(board, needs), release)
    if times:
        return tuple(needs), times.starts[0]
    shut = [Lack("hours", station) for station in stations if station in manned or station in putting]
    open_ = [lack for lack in shut if attempt.place(load, _Without(board, [*needs, lack]), release)]
    return tuple(open_ or shut or [Lack("hours", load.steps[0].station)]), None


def _short(problem: Problem, attempt: Attempt, board: Board, load: Load) -> int | None:
    """By how much later a load would have to be due, in steps of five minutes up to 12 hours; None: that is not enough."""

    def fits(count: int) -> Times | None:
        return attempt.place(load, board, problem.release, later=count * FIVE)

    if not fits(MOST):
        return None
    low, high = 0, MOST
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high * FIVE


def _taken_by(found: Found, lacks: Sequence[Lack], begins: Minute, due: Minute) -> tuple[str, ...]:
    """The loads that have what is lacking between two moments, by time."""
    having = [(start, id_) for start, end, id_ in _work(found, lacks) if start < due and begins < end]
    return tuple(dict.fromkeys(id_ for _, id_ in sorted(having)))


def _work(found: Found, lacks: Sequence[Lack]) -> Iterator[tuple[Minute, Minute, str]]:
    for id_, (hands, stays) in found.given.items():
        for kind, name in lacks:
            if kind == "equipment":
                yield from ((stay.starts, stay.ends, id_) for stay in stays if stay.equipment == name)
            elif kind == "station":
                cooks = found.board.cooks[name]
                yield from ((piece.starts, piece.ends, id_) for piece in hands if piece.cook in cooks)


class _Without:
    """A board without the limits of what is lacking: a kind's machines, a station's cooks, or its hours."""

    def __init__(self, board: Board, lacks: Sequence[Lack]) -> None:
        self.board, self.lacks = board, frozenset(lacks)

    def hands(self, station: str) -> Sequence[Gaps] | None:
        """The hours of a station, if its cooks set no limit."""
        if Lack("hours", station) in self.lacks:
            return None
        return self.board.on_shift(station) if Lack("station", station) in self.lacks else self.board.hands(station)

    def on_shift(self, station: str) -> Sequence[Gaps] | None:
        """The hours of a station."""
        return None if Lack("hours", station) in self.lacks else self.board.on_shift(station)

    def room(self, equipment: str, share: int) -> Sequence[Gaps] | None:
        """The room in equipment, if it sets a limit."""
        return None if Lack("equipment", equipment) in self.lacks else self.board.room(equipment, share)

"""Rows: who does what when, and what is in which machine.

Responsible for a schedule as cooks and machines see it (domain K7, K10). Refuses to find places, and to draw anything.
"""

from collections import defaultdict
from collections.abc import Iterator

from service.kitchen.capacity.question import Question
from service.kitchen.capacity.scheduled import Cook, Duty, HandsOnWork, Machine, MachineRow, MachineWork
from service.kitchen.measures.calendar import MINUTE, Calendar
from service.kitchen.planning.minutes import moment_of
from service.kitchen.schedule.answer import Schedule, Stay
from service.kitchen.schedule.problem import WHOLE, Equipment


def duties_of(question: Question, schedule: Schedule, calendar: Calendar) -> Iterator[Duty]:
    """Who is on shift on each date from the first on, and who works on the one before, with what they do."""
    work = _work_of_cooks(question, schedule)
    first = calendar.business_date(moment_of(question.problem.release))
    shifts = ((on, place, turn, hours) for place, turn in enumerate(question.turns.values()) for on, *hours in turn.hours)
    for on, _, turn, hours in sorted(shifts, key=lambda each: each[:2]):
        starts, ends = map(moment_of, hours)
        for number in range(1, turn.cooks + 1):
            done = tuple(each for each in work[turn.id, number] if starts <= each.starts < ends)
            if done or on >= first:
                yield Duty(on=on, cook=Cook(turn.name, number), stations=turn.stations, starts=starts, ends=ends, work=done)


def machine_rows(question: Question, schedule: Schedule) -> Iterator[MachineRow]:
    """What is in each machine of the site, and when it is out of order."""
    kinds = {kind.code: kind for kind in question.problem.equipment}
    rows: dict[Machine, list[MachineWork]] = {
        Machine(kind.code, number): [] for kind in kinds.values() for number in ((None,) if kind.shared else range(1, kind.count + 1))
    }
    for placed in schedule.placed:
        for stay in placed.stays:
            row = rows.setdefault(Machine(stay.equipment, stay.number), [])
            row.append(_work_of_machine(question, placed.load, stay, kinds[stay.equipment]))
    for machine, works in rows.items():
        kind = kinds[machine.equipment]
        in_order = tuple(sorted(works, key=lambda each: (each.starts, each.ends)))
        yield MachineRow(machine=machine, count=kind.count, shared=kind.shared, work=in_order)


def _work_of_cooks(question: Question, schedule: Schedule) -> dict[tuple[str, int], list[HandsOnWork]]:
    """What each cook does, by the names and numbers of the problem, by time."""
    work: dict[tuple[str, int], list[HandsOnWork]] = defaultdict(list)
    for placed in schedule.placed:
        for hands in placed.hands:
            if hands.cook is not None:
                piece = question.pieces[placed.load]
                step = piece.steps[hands.step].number
                work[hands.cook].append(HandsOnWork(piece.key, step, moment_of(hands.starts), moment_of(hands.ends)))
    for each in work.values():
        each.sort(key=lambda done: done.starts)
    return work


def _work_of_machine(question: Question, load: str, stay: Stay, kind: Equipment) -> MachineWork:
    turn_round = (0 if kind.shared else kind.turn_round) * MINUTE
    starts, ends, share = moment_of(stay.starts), moment_of(stay.ends), stay.share / WHOLE
    piece = question.pieces.get(load)
    if piece is None:
        # What is out of order is so to the last minute of its date.
        return MachineWork(None, 0, starts, ends + turn_round, ends + turn_round, share)
    return MachineWork(piece.key, piece.steps[stay.step].number, starts, ends, ends + turn_round, share)

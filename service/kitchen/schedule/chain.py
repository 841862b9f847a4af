"""The steps of a load as a chain: segments of fixed length, and between them rests that may last longer or shorter (K6).

Responsible for where in its segment each step begins, what needs hands, and what is in which equipment from where to where
(K7). Refuses to know when anything stands and who is free.
"""

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from service.kitchen.schedule.gaps import FUTURE, PAST
from service.kitchen.schedule.problem import NO_REST, LoadStep, Minute, Rest


class Mark(NamedTuple):
    """A moment of a chain: so many minutes after the start of a segment."""

    segment: int
    offset: int


class Piece(NamedTuple):
    """Hands at a station, within a segment; of no minutes where something is put in or taken out (K2)."""

    offset: int
    minutes: int
    station: str


class Occupied(NamedTuple):
    """Steps in a row in one equipment, from ``step`` to before ``until``: one stay, of the largest share (K7).

    ``station`` puts it in and takes it out (K2).
    """

    step: int
    until: int
    begins: Mark
    ends: Mark
    equipment: str
    share: int
    station: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """Steps that follow one another without a choice.

    ``minutes``: from its start to where its ``rest`` begins, which lasts until the next segment; of the last to when the load
    is ready. ``pieces`` need hands, ``handlings`` somebody
    on shift. ``stays`` lie wholly in it. ``arriving`` is the stay that is under way when it starts: it ends in this
    segment, or goes on (``passing``). ``entered``: where in it the stay begins that is under way when it ends.
    """

    minutes: int
    rest: Rest
    pieces: tuple[Piece, ...]
    handlings: tuple[Piece, ...]
    stays: tuple[Occupied, ...]
    arriving: Occupied | None
    passing: bool
    entered: int | None


class Chain(NamedTuple):
    """``marks``: the start of each step, and last of all when the load is ready.

    ``earliest`` and ``latest``: of each segment, when it may start, as its steps say.
    """

    segments: tuple[Segment, ...]
    marks: tuple[Mark, ...]
    stays: tuple[Occupied, ...]
    earliest: tuple[Minute, ...]
    latest: tuple[Minute, ...]


def chain_of(steps: Sequence[LoadStep], equipment: Container[str] | None = None) -> Chain:
    """The chain of a load's steps; equipment that is not among that of the site, where it is told, sets no limit (K1)."""
    marks = [Mark(0, 0)]
    for step in steps:
        segment, offset = marks[-1]
        marks.append(Mark(segment + 1, 0) if step.rest.varies else Mark(segment, offset + step.active + step.rest.target))
    stays = tuple(_stays(steps, marks, equipment))
    segments = tuple(_segment(number, steps, marks, stays) for number in range(marks[-1].segment + 1))
    earliest, latest = [PAST] * len(segments), [FUTURE] * len(segments)
    for step, (number, offset) in zip(steps, marks, strict=False):
        if step.not_before is not None:
            earliest[number] = max(earliest[number], step.not_before - offset)
        if step.not_after is not None:
            latest[number] = min(latest[number], step.not_after - offset)
    return Chain(segments, tuple(marks), stays, tuple(earliest), tuple(latest))


def _stays(steps: Sequence[LoadStep], marks: Sequence[Mark], equipment: Container[str] | None) -> Iterator[Occupied]:
    for code, group in groupby(range(len(steps)), lambda number: steps[number].equipment):
        numbers = list(group)
        lasts = any(steps[number].active or steps[number].rest.most for number in numbers)
        if code is not None and lasts and (equipment is None or code in equipment):
            share = max(steps[number].share for number in numbers)
            step, until = numbers[0], numbers[-1] + 1
            yield Occupied(step, until, marks[step], marks[until], code, share, steps[step].station)


def _segment(number: int, steps: Sequence[LoadStep], marks: Sequence[Mark], stays: Sequence[Occupied]) -> Segment:
    mine = [(mark.offset, step) for mark, step in zip(marks, steps, strict=False) if mark.segment == number]
    last = number == marks[-1].segment
    offset, step = mine[-1] if mine else (0, None)
    arriving = next((stay for stay in stays if stay.begins.segment < number <= stay.ends.segment), None)
    edges = [(mark, stay.station) for stay in stays for mark in (stay.begins, stay.ends)]
    return Segment(
        minutes=marks[-1].offset if last or step is None else offset + step.active,
        rest=NO_REST if last or step is None else step.rest,
        pieces=tuple(Piece(offset, step.active, step.station) for offset, step in mine if step.active),
        handlings=tuple(Piece(mark.offset, 0, station) for mark, station in edges if mark.segment == number),
        stays=tuple(stay for stay in stays if stay.begins.segment == stay.ends.segment == number),
        arriving=arriving,
        passing=arriving is not None and arriving.ends.segment > number,
        entered=next((stay.begins.offset for stay in stays if stay.begins.segment == number < stay.ends.segment), None),
    )

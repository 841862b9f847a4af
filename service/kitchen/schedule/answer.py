"""What a schedule answers: where each load stands, why, what finds no place, and what would help.

Responsible for the values that this room gives back (K9 to K16), all times in whole minutes as in the problem. Refuses to
know how they are found and how they are told.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

from service.kitchen.schedule.problem import Minute


class Cook(NamedTuple):
    """One pair of hands: the name of a shift, and a number from 1."""

    shift: str
    number: int


class Hands(NamedTuple):
    """A hands-on piece of a step, numbered from 0; without a cook where none sets a limit, or none was free for begun work."""

    step: int
    starts: Minute
    ends: Minute
    cook: Cook | None


class Stay(NamedTuple):
    """Equipment taken from the start of a step, numbered from 0; ``number`` from 1, None where it is shared (K7).

    It is None too where begun work found no machine free.
    """

    step: int
    starts: Minute
    ends: Minute
    equipment: str
    number: int | None
    share: int


@dataclass(frozen=True, slots=True)
class Because:
    """What keeps a load from being a minute later (K16).

    ``due``: ``loads`` names whose step draws on it, none where it is due by itself. ``equipment`` or ``station``: ``name`` with
    the loads that have it then. ``hours``: those of the station ``name``. ``step``: one of its steps may begin no later.
    """

    code: Literal["due", "equipment", "station", "hours", "step", "begun"]
    name: str | None = None
    loads: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A load with its place: the start of each step, when it is ready and due, who and what has it.

    ``held``: minutes from ready to its first use (K14). ``slack``: minutes that it could begin earlier (K15).
    """

    load: str
    starts: tuple[Minute, ...]
    ready: Minute
    due: Minute | None
    hands: tuple[Hands, ...]
    stays: tuple[Stay, ...]
    held: int
    slack: int
    because: Because


class Lack(NamedTuple):
    """What a load left out lacks: an equipment, the cooks of a station, or the hours of one (K12)."""

    kind: Literal["equipment", "station", "hours"]
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """A load left out (K12).

    ``starts``: of its steps where it stands: by the hours alone, else as planned, else None. ``lacks``: what it would find a
    place without. ``begins`` and ``due``: the stretch between the start that it would then have, None where hours alone leave
    no place, and its due, None where nothing that draws on it stands anywhere. ``short``: by how many minutes its due would
    have to be later, up to 12 hours; else None. ``taken_by``: the loads that have what it lacks in that stretch, by time.
    ``under``: the left-out load that it supplies and is told under. ``works_for``: all that it goes into, itself first.
    """

    load: str
    starts: tuple[Minute, ...] | None
    lacks: tuple[Lack, ...]
    begins: Minute | None
    due: Minute | None
    short: int | None
    taken_by: tuple[str, ...]
    under: str | None
    works_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Help:
    """A single change by which fewer loads are left out (K13): how many, of those that count, is ``left_out``.

    ``begins_earlier``: the shift ``name`` by ``minutes``. ``needed_later``: what the left-out loads work for, by ``minutes``.
    ``one_more_cook`` in the shift ``name``; ``one_more_machine`` of the equipment ``name``.
    """

    code: Literal["begins_earlier", "needed_later", "one_more_cook", "one_more_machine"]
    name: str | None
    minutes: int | None
    left_out: int


@dataclass(frozen=True)
class Schedule:
    """Every load of the problem either placed or left out, in the problem's order; ``attempts`` of all service dates (K11)."""

    placed: tuple[Placed, ...]
    left_out: tuple[Conflict, ...]
    attempts: int

    @cached_property
    def place(self) -> dict[str, Placed]:
        """The placed loads by their ids."""
        return {placed.load: placed for placed in self.placed}

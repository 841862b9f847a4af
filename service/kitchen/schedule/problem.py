"""What a schedule is asked for: the machines and shifts of one site, and the loads that are to find a place.

Responsible for the values that everything in this room is computed from, and for refusing what contradicts itself.
Refuses to know where they come from: plans, dates and amounts have become whole minutes and names before.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from graphlib import TopologicalSorter
from typing import Literal, NamedTuple

WHOLE = 1_000_000
"""All of one machine, in millionths: the unit of ``LoadStep.share``."""

Minute = int
"""A moment: whole minutes since one that the caller chooses. A later one is greater; it may be negative."""


@dataclass(frozen=True, slots=True)
class Equipment:
    """The machines of one kind (K7): how many, the minutes of turn-round after a load, and whether loads share them."""

    code: str
    count: int
    turn_round: int = 0
    shared: bool = False


@dataclass(frozen=True, slots=True)
class Shift:
    """So many cooks at some stations; each has all of ``hours``: from and until of each day's shift, in order (K2).

    A cook of a shift is told by its name and a number from 1. Names are unique in a problem. A shift without cooks still
    names its stations, so that nothing is done there in its hours.
    """

    name: str
    stations: tuple[str, ...]
    cooks: int
    hours: tuple[tuple[Minute, Minute], ...]


class Rest(NamedTuple):
    """The minutes that a step rests after its hands-on time: at least, at best, at most (K6)."""

    least: int
    target: int
    most: int

    @property
    def varies(self) -> bool:
        """Whether it is a window: what follows may begin sooner or later."""
        return self.least < self.most


NO_REST = Rest(0, 0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadStep:
    """One step of a load: ``active`` minutes of hands at a station, then a rest.

    ``station`` is the one after the station map. One that no shift names sets no limit, nor does ``equipment`` that the
    problem does not list (K1). ``share`` is what it takes of one shared machine, in millionths, rounded down. It begins no
    earlier than ``not_before`` (something already under way that it draws on is ready then) and no later than ``not_after``
    (the last minute of a counted lot that it draws on, K8).
    """

    active: int
    rest: Rest = NO_REST
    station: str
    equipment: str | None = None
    share: int = WHOLE
    not_before: Minute | None = None
    not_after: Minute | None = None


class Keeps(NamedTuple):
    """How long a load is usable once ready (T6): so many minutes ("h"), or to the end of the business date so many on ("d")."""

    unit: Literal["h", "d"]
    amount: int


class Serves(NamedTuple):
    """That a load gives to the step, numbered from 0, of another load; without ``keeps`` it is usable for good."""

    load: str
    step: int
    keeps: Keeps | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What goes through its steps together.

    ``service``: the number of its run's service date, the nearest the least (K9). ``order``: who is first of those due alike:
    item, date of the run, and less the number of the load. ``due``: when guests or pars need it; None where only loads draw
    on it. ``not_ready_before``: else guests or pars would get it past its use-by; ``not_ready_after``: the end of the business
    date of its run (K8). ``run``: a name for the loads of one run, which guests need together (K13); None: it is the only
    one. ``serves``: the steps of other loads that draw on it. ``planned``: the starts of its steps in the
    plan, where it stands if hours alone leave no place for it (K12). ``begun``: the starts of its steps where work on it is
    under way: it stays there, whatever the rules say, and takes a cook and machines as far as there are any (K17).
    """

    id: str
    service: int
    order: tuple[str | int, ...]
    steps: tuple[LoadStep, ...]
    due: Minute | None = None
    not_ready_before: Minute | None = None
    not_ready_after: Minute | None = None
    run: str | int | None = None
    serves: tuple[Serves, ...] = ()
    planned: tuple[Minute, ...] | None = None
    begun: tuple[Minute, ...] | None = None


class Draw(NamedTuple):
    """One of ``Load.serves``, with both ends."""

    supply: str
    load: str
    step: int
    keeps: Keeps | None


@dataclass(frozen=True, kw_only=True)
class Problem:
    """All that a schedule depends on.

    ``release``: the moment before which nothing begins: the start of F or, where it is later, ``at`` (K9 e).
    ``day_starts``: the starts of business dates in a row, from the one before ``release`` to the one after the last due.
    Raises ValueError where its parts contradict each other, and where loads draw on one another in a circle.
    """

    release: Minute
    day_starts: tuple[Minute, ...]
    equipment: tuple[Equipment, ...]
    shifts: tuple[Shift, ...]
    loads: tuple[Load, ...]

    def __post_init__(self) -> None:
        for contradiction in _contradictions(self):
            raise ValueError(contradiction)
        TopologicalSorter({load.id: [serves.load for serves in load.serves] for load in self.loads}).prepare()

    @cached_property
    def load(self) -> dict[str, Load]:
        """The loads by their ids."""
        return {load.id: load for load in self.loads}

    @cached_property
    def draws_on(self) -> dict[str, tuple[Draw, ...]]:
        """By the id of a load, what draws on it."""
        return {load.id: tuple(Draw(load.id, *serves) for serves in load.serves) for load in self.loads}

    @cached_property
    def draws_of(self) -> dict[str, tuple[Draw, ...]]:
        """By the id of a load, what it draws."""
        drawn: dict[str, list[Draw]] = {load.id: [] for load in self.loads}
        for draws in self.draws_on.values():
            for draw in draws:
                drawn[draw.load].append(draw)
        return {id_: tuple(draws) for id_, draws in drawn.items()}

    @cached_property
    def supplies(self) -> dict[str, tuple[str, ...]]:
        """By the id of a load, what it draws on."""
        return {id_: tuple(dict.fromkeys(draw.supply for draw in draws)) for id_, draws in self.draws_of.items()}

    def served(self, loads: Iterable[str]) -> tuple[str, ...]:
        """Loads by their ids, then all that they work for, the nearest first."""
        served = dict.fromkeys(loads)
        queue = list(served)
        for id_ in queue:
            new = dict.fromkeys(draw.load for draw in self.draws_on[id_] if draw.load not in served)
            served |= new
            queue += new
        return tuple(served)


def _contradictions(problem: Problem) -> Iterator[str]:
    for what, names in (
        ("loads", [load.id for load in problem.loads]),
        ("shifts", [shift.name for shift in problem.shifts]),
        ("kinds of equipment", [kind.code for kind in problem.equipment]),
    ):
        if len(set(names)) < len(names):
            yield f"two {what} have one name"
    if list(problem.day_starts) != sorted(set(problem.day_starts)):
        yield "the starts of business dates are not in order"
    for kind in problem.equipment:
        if kind.count < 0 or kind.turn_round < 0:
            yield f"{kind.code}: a count or a turn-round is below nil"
    for shift in problem.shifts:
        edges = [edge for hours in shift.hours for edge in hours]
        if shift.cooks < 0 or edges != sorted(edges):
            yield f"{shift.name}: its hours are not in order, or it has fewer than no cooks"
    steps = {load.id: len(load.steps) for load in problem.loads}
    for load in problem.loads:
        yield from _contradictions_of(load, steps)


def _contradictions_of(load: Load, steps: Mapping[str, int]) -> Iterator[str]:
    if not load.steps:
        yield f"{load.id} has no step"
    if load.due is None and not load.serves and load.begun is None:
        yield f"{load.id} is due for nothing"
    if any(steps.get(serves.load, 0) <= serves.step for serves in load.serves):
        yield f"{load.id} serves a step that there is not"
    if any(starts is not None and len(starts) != len(load.steps) for starts in (load.planned, load.begun)):
        yield f"{load.id} has not as many starts as steps"
    for step in load.steps:
        if step.active < 0 or step.share < 0 or not 0 <= step.rest.least <= step.rest.target <= step.rest.most:
            yield f"{load.id}: a time or share is below nil, or a rest not from least over target to most"

"""Scheduled: a plan with the place of every load of its runs, in moments.

Responsible for the values that lists and schedules read (domain K9 to K17). Refuses to know how places are found, and how
anything is told.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Literal, NamedTuple

from service.kitchen.measures.calendar import UseBy
from service.kitchen.planning.demand import Need

Fed = tuple[tuple[Need, float], ...]
"""Needs, each with the part of it that is meant, in the stock kind."""


class LoadKey(NamedTuple):
    """A load as others know it: the id of its run, and its number from 1."""

    run: str
    number: int


class Cook(NamedTuple):
    """One pair of hands: the name of a shift as the site states it, and a number from 1."""

    shift: str
    number: int


class Machine(NamedTuple):
    """One machine of an equipment, after the site's map; without a number where it is shared, or none was free for begun work."""

    equipment: str
    number: int | None


class PlacedStep(NamedTuple):
    """A step of a load, by its number in the recipe (of making ready: 1): hands from ``starts`` to ``rests``, then a rest.

    ``cook`` is None where the step needs no hands or its station sets no limit, ``machine`` where it takes no equipment that the
    site lists. A step that continues a stay has the machine of that stay (K7).
    """

    number: int
    starts: datetime
    rests: datetime
    ends: datetime
    cook: Cook | None
    machine: Machine | None


class Because(NamedTuple):
    """What keeps a load from being a minute later (K16).

    ``due``: ``loads`` draw on it, or it is due by itself (none). ``equipment`` or ``station``: ``name`` with the loads that have it
    then; an equipment without loads is out of order then. ``hours``: those of the station ``name``. ``step``: one of its steps
    may begin no later. ``begun``: it is under way.
    """

    code: Literal["due", "equipment", "station", "hours", "step", "begun"]
    name: str | None
    loads: tuple[LoadKey, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduledLoad:
    """One load of a run, ``number`` of ``of`` (K4).

    ``quantity`` is in the stock kind of the run's item; of a cut it is its first form's. ``given`` are the parts of needs that it
    meets, first made, first used (K8). ``on`` is the business date of its start, ``service`` its run's service date. ``steps``
    are those that are not done yet (K17). What does not fit stands at the times of the plan (K12): it has no slack, is not held,
    and nobody does it. ``due`` is None where nothing that draws on it stands anywhere.
    """

    key: LoadKey
    of: int
    quantity: float
    given: Fed
    on: date
    service: date
    starts: datetime
    ready: datetime
    due: datetime | None
    held: timedelta
    slack: timedelta | None
    fits: bool
    steps: tuple[PlacedStep, ...]
    because: Because | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduledStage:
    """One stage of a run over all of its loads (K17): its first start, their last end, and whether all of them fit.

    ``on`` is the business date of that start. ``use_by`` is the earliest of the loads' (T6), of the run's item (of a cut: its
    first form); ``steps`` are the stage's steps of the first load. ``slack`` is that of the tightest load, None where one does
    not fit.
    """

    number: int
    on: date
    starts: datetime
    ready: datetime
    use_by: UseBy
    fits: bool
    slack: timedelta | None
    steps: tuple[PlacedStep, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduledRun:
    """The loads of a run in their order, and its stages by number; a stage that is reported as done is not among them (K17)."""

    loads: tuple[ScheduledLoad, ...]
    stages: Mapping[int, ScheduledStage]


class Lack(NamedTuple):
    """What a load left out lacks: an equipment, the cooks of a station, or the hours of one (K12)."""

    kind: Literal["equipment", "station", "hours"]
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """A load left out (K12).

    ``begins`` to ``until`` is the stretch from the start that it would have without the limit to its due; either may be unknown.
    ``short``: how much later its due would have to be, None beyond 12 hours. ``taken_by``: the loads that have what it lacks then.
    ``under``: the left-out load that it supplies and is told under. ``at_risk``: what it would have given to guests and pars, and to
    runs; for whom that is, ``Shares`` tells.
    """

    load: LoadKey
    lacks: tuple[Lack, ...]
    begins: datetime | None
    until: datetime | None
    short: timedelta | None
    taken_by: tuple[LoadKey, ...]
    under: LoadKey | None
    at_risk: Fed


class Help(NamedTuple):
    """A single change by which fewer loads are left out, which was tried (K13); ``left_out`` is how many then are.

    ``begins_earlier``: the shift ``name``, ``by`` so much. ``needed_later``: what the left-out loads work for, ``by`` so much.
    ``one_more_cook`` in the shift ``name``; ``one_more_machine`` of the equipment ``name``.
    """

    code: Literal["begins_earlier", "needed_later", "one_more_cook", "one_more_machine"]
    name: str | None
    by: timedelta | None
    left_out: int


class HandsOnWork(NamedTuple):
    """A hands-on piece: a step of a load, from when to when."""

    load: LoadKey
    step: int
    starts: datetime
    ends: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """A cook in one shift of a business date, with all that he does in it, by time."""

    on: date
    cook: Cook
    stations: tuple[str, ...]
    starts: datetime
    ends: datetime
    work: tuple[HandsOnWork, ...]

    @property
    def active(self) -> timedelta:
        """How long hands are busy."""
        return sum((each.ends - each.starts for each in self.work), timedelta())


class MachineWork(NamedTuple):
    """What is in a machine from when to when, and when the next load may go in (K7); without a load it is out of order.

    ``step`` is the one with which the load goes in. ``share`` is what it takes of one shared machine, from 0 to 1.
    """

    load: LoadKey | None
    step: int
    starts: datetime
    ends: datetime
    free_again: datetime
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineRow:
    """A machine with all that goes into it over the plan, by time; of shared equipment one row stands for all of its machines."""

    machine: Machine
    count: int
    shared: bool
    work: tuple[MachineWork, ...]


@dataclass(frozen=True, kw_only=True)
class Scheduled:
    """A plan's schedule: by the ids of its runs and of reported ones that are not finished, who and what does them when.

    ``release``: the moment before which nothing begins. ``duties`` are by date, then as the shifts are stated, then by number;
    ``machines`` as the site lists them. ``attempts``: of all service dates (K11). ``tried`` finds what would help some loads.
    """

    release: datetime
    runs: Mapping[str, ScheduledRun]
    conflicts: tuple[Conflict, ...]
    duties: tuple[Duty, ...]
    machines: tuple[MachineRow, ...]
    attempts: int
    tried: Callable[[Collection[LoadKey]], tuple[Help, ...]] = field(repr=False, compare=False)

    def helps(self, loads: Iterable[ScheduledLoad]) -> tuple[Help, ...]:
        """What would help some loads, in the order of K13: by up to a dozen schedules, where any of them is left out."""
        return self.tried({load.key for load in loads})

    @cached_property
    def loads(self) -> tuple[ScheduledLoad, ...]:
        """The loads of all runs, by start."""
        return tuple(sorted((load for run in self.runs.values() for load in run.loads), key=lambda load: (load.starts, load.key)))

    def load(self, key: LoadKey) -> ScheduledLoad:
        """A load by its key."""
        return next(load for load in self.runs[key.run].loads if load.key == key)

    def stage(self, run: str, number: int) -> ScheduledStage | None:
        """A stage of a run; None where it is done."""
        found = self.runs.get(run)
        return None if found is None else found.stages.get(number)

    def evening_before(self, date_: date) -> tuple[ScheduledLoad, ...]:
        """The loads for a service date that begin on an earlier business date, by start."""
        return tuple(load for load in self.loads if load.service == date_ and load.on < date_)

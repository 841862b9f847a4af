"""Runs: one making of an item for one or more needs, its batches, stages, draws and what it gives.

Responsible for the value that planning produces for everything made or made ready (domain P4 to P8,
P11, T2, T8). Refuses to decide when a run opens or closes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from math import isinf
from typing import NamedTuple

from service.errors import BadAmount
from service.kitchen.book.item import Item
from service.kitchen.book.lines import LineAmount
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Par
from service.kitchen.book.step import Step
from service.kitchen.measures.batches import Batch
from service.kitchen.measures.calendar import FOREVER, ZERO, Calendar, UseBy
from service.kitchen.planning.demand import Need, Share
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.staffing import Staffing


class TimedStep(NamedTuple):
    """A step of a run with the moment it starts."""

    number: int
    step: Step
    starts: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """The part of a run that one station does on one date (T8); ``station`` is the one before the site's map."""

    number: int
    station: str
    on: date
    starts: datetime
    ready: datetime
    steps: tuple[TimedStep, ...] = ()

    def holds(self, step: int | None) -> bool:
        """Whether a line used in that step belongs to the stage; lines without a step belong to the first (T8)."""
        if step is None:
            return self.number == 1
        return any(each.number == step for each in self.steps)

    def takes(self, draw: "Draw") -> bool:
        """Whether the stage takes a draw of its run; what is drawn by no line belongs to the only stage there is."""
        return draw.line is None or self.holds(draw.line.line.step)


def times_of(version: Version, ready: datetime) -> tuple[datetime, ...]:
    """When the steps of a version start, and last of all when it is ready (T2)."""
    times = [ready - version.lead]
    for step in version.steps[:-1]:
        times.append(times[-1] + step.duration)
    return (*times, ready) if version.steps else (ready,)


def stages_of(version: Version, times: Sequence[datetime], calendar: Calendar) -> tuple[Stage, ...]:
    """The stages of a run whose steps start at some times, the last of which is when it is ready (T8).

    A new one begins where the station changes or a step starts on a later date.
    """
    if not version.steps:
        return (Stage(number=1, station=version.station, on=calendar.business_date(times[0]), starts=times[0], ready=times[-1]),)
    groups: list[list[TimedStep]] = []
    on = date.min
    for number, (step, at) in enumerate(zip(version.steps, times, strict=False), 1):
        today = calendar.business_date(at)
        if not groups or step.station != groups[-1][-1].step.station or today > on:
            groups.append([])
        groups[-1].append(TimedStep(number, step, at))
        on = today
    return tuple(
        Stage(
            number=number,
            station=group[0].step.station,
            on=calendar.business_date(group[0].starts),
            starts=group[0].starts,
            # One step ends when the next one starts.
            ready=times[group[-1].number],
            steps=tuple(group),
        )
        for number, group in enumerate(groups, 1)
    )


@dataclass(slots=True, kw_only=True)
class Output:
    """What a run makes of one item: need = have + quantity − surplus; a par's part is in the need (P9, P16)."""

    item: Item
    need: float = 0.0
    have: float = 0.0
    asked: float = 0.0
    for_pars: float = 0.0
    quantity: float = 0.0
    surplus: float = 0.0
    use_by: UseBy = FOREVER


class Draw(NamedTuple):
    """What a run takes of one item at one moment; ``line`` tells by which line, with the amounts in each batch."""

    item: Item
    amount: float
    at: datetime
    line: LineAmount | None = None


# Told apart as objects: runs are keys of tables, and comparing all that they hold would only take long.
@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Run:
    """One making: of a recipe in batches, or of the forms of one cut (P8).

    It draws by the ``lines`` of a recipe at the ``times`` of its steps, or what is told (``drawn``). ``fed`` holds the needs that
    it was made for with its part of each, ``pars`` the pars that it works for, its own and those of the runs that take from it
    (P16); ``key`` is what others know it by. Of a fixed run it is known for whom it was made (``shares``, by item), and which
    ``allergens`` it contains and may contain.
    """

    item: Item
    on: date
    at: datetime
    id: str
    outputs: tuple[Output, ...]
    stages: tuple[Stage, ...]
    version: Version | None = None
    batches: tuple[tuple[Batch, float], ...] = ()
    lines: tuple[LineAmount, ...] = ()
    times: Sequence[datetime] = ()
    drawn: tuple[Draw, ...] = ()
    gives: tuple[tuple[Item, float], ...] = ()
    pars: tuple[Par, ...] = ()
    fed: tuple[tuple[Need, float], ...] = field(default=(), repr=False)
    shares: Mapping[Item, tuple[Share, ...]] | None = field(default=None, repr=False)
    allergens: tuple[frozenset[str], frozenset[str]] | None = None
    key: RunKey = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """All needs and lots that come of the run share one key."""
        object.__setattr__(self, "key", RunKey(self.item, self.id))

    @property
    def weighed(self) -> Sequence[LineAmount]:
        """The lines that it draws by."""
        return self.lines or [draw.line for draw in self.drawn if draw.line is not None]

    @property
    def draws(self) -> tuple[Draw, ...]:
        """What it draws, of a recipe by each line over all batches, at the time of its step (S2, T2, P6).

        Reckoned when asked: most runs of a large plan are on no list that is asked for. Raises BadAmount.
        """
        return self.drawn or tuple(map(self._draw, self.lines))

    def _draw(self, amount: LineAmount) -> Draw:
        line, drawn = amount.line, sum(batch.count * amount.in_batch(factor) for batch, factor in self.batches)
        # Publishing refuses what leads here; what was published before it did may.
        if isinf(drawn) and self.version is not None:
            detail = f"{self.version.title} asks for more of {line.item.label} than a number can tell: publish it anew"
            raise BadAmount(detail, "out_of_range")
        return Draw(line.item, drawn, self.times[line.step - 1 if line.step else 0], amount)

    @property
    def order(self) -> tuple[date, tuple[str, bool], datetime, str]:
        """By date, item, time and id."""
        return (self.on, self.item.order, self.at, self.id)

    @property
    def feeds(self) -> frozenset[str]:
        """The ids of the runs that it is made for."""
        return frozenset(need.drawn_by.id for need, _ in self.fed if need.drawn_by is not None)

    @property
    def main(self) -> Output:
        """What the run is named by: the recipe, or the first form of the cut."""
        return self.outputs[0]

    @property
    def quantity(self) -> float:
        """All that the run makes of its items together, in the stock kind."""
        return sum(output.quantity for output in self.outputs)

    def output(self, item: Item) -> Output:
        """What the run makes of one of its items."""
        return next(each for each in self.outputs if each.item == item)

    @property
    def ready(self) -> datetime:
        """When the last step ends: by the hours of a site that may be before it is needed (K3)."""
        return self.stages[-1].ready

    def last_start(self, stage: Stage, staffing: Staffing | None = None) -> datetime:
        """The last moment at which a stage can begin for the run to be ready still, each rest from then on cut to its ``min`` (P7).

        Of a run that has a place in the hours of its site it is the last one in them (K3).
        """
        if self.version is None or not stage.steps:
            return stage.starts
        if staffing is not None and staffing.bound(self.version).limiting:
            last = staffing.last_start(self.version, stage.steps[0].number, self.at)
            if last is not None and last >= stage.starts:
                return last
        return self.at - sum((step.shortest for step in self.version.steps[stage.steps[0].number - 1 :]), ZERO)

    def need(self, draw: Draw, amount: float, calendar: Calendar, *, settled: bool = False) -> Need:
        """So much of a draw as a need of its item (P6); ``settled`` where it was taken already."""
        return Need(
            item=draw.item,
            at=draw.at,
            amount=amount,
            drawn_by=self.key,
            label=self.item.label,
            on=calendar.business_date(draw.at),
            settled=settled,
            pars=self.pars,
            # When prep starts follows how much it makes (T2), and a name must not (P15 f).
            named=self.at if self.version is None else None,
        )

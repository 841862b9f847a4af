"""Reported work: what a kitchen said of a run or a pull stays as it is, and what follows for the rest.

Responsible for domain P15: fixed runs as lots, what their stages drew, and what is still to be done of
them. Refuses to know who reported, and where prints and reports are kept.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import FOREVER, Calendar
from service.kitchen.planning.demand import Need, Outlet
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.runs import Draw, Run, RunKey, Stage, scaled
from service.kitchen.planning.stock import NIL, Lot

DOING, DONE, OPEN = "doing", "done", "open"


@dataclass(frozen=True, slots=True)
class Report:
    """What was said of a stage or a pull: ``doing`` or ``done``, when, how much it made, and what it drew.

    ``made`` is of the run's main item (of a pull: what came out of store), ``drawn`` of the one item that the stage draws,
    both in the stock kind. ``assumed`` marks a printed task of a past date that nobody reported (P15 e).
    """

    state: str
    at: datetime
    made: float | None = None
    drawn: float | None = None
    note: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class FixedRun:
    """A run that a report fixed, as printed or listed then, with the reports of its stages by number (P15 a)."""

    run: Run
    reports: Mapping[int, Report]

    @property
    def ratio(self) -> float:
        """What was made of the run against what was planned: by the last stage that says so, else as planned (P15 d)."""
        said = [report.made for _, report in sorted(self.reports.items()) if report.made is not None]
        planned = self.run.main.quantity
        return said[-1] / planned if said and planned > 0 else 1.0

    def drew(self, stage: Stage, draw: Draw) -> float:
        """What a reported stage took of an item: as reported, else planned × made ÷ planned quantity (P15 c)."""
        report = self.reports[stage.number]
        if report.drawn is not None:
            whole = sum(each.amount for each in self.run.draws if each.item == draw.item and stage.takes(each))
            return report.drawn * draw.amount / whole if whole > 0 else 0.0
        planned = self.run.main.quantity
        made = report.made if report.made is not None else planned
        return draw.amount * made / planned if planned > 0 else draw.amount

    def counted_in(self, counted_at: datetime | None) -> bool:
        """Whether a count of its item already found what the run made (P15 d).

        It could once the last stage was done; while that is only begun, or not reported, once the run was to be ready.
        """
        if counted_at is None:
            return False
        report = self.reports.get(self.run.stages[-1].number)
        if report is not None and report.state == DONE:
            return counted_at > report.at
        return counted_at > (self.run.at if report is None else max(report.at, self.run.at))

    def over(self, start: datetime) -> bool:
        """Whether nothing of the run can be used any more at a moment, so that finishing it makes no sense."""
        return not any(output.use_by.moment > start or output.use_by.covers(start) for output in self.run.outputs)


@dataclass(frozen=True, slots=True)
class FixedPull:
    """A pull that a report fixed: what came out of store is in the kitchen."""

    pull: Pull
    report: Report


class Served(NamedTuple):
    """What a lot was to give to guests; ``source`` is the run that made the lot, None where a count found it."""

    need: Need
    source: RunKey | None


@dataclass(frozen=True, slots=True)
class FixedUse:
    """What lots gave to guests, as printed or reported; what other runs drew of them their own reports tell."""

    item: Item
    amount: float
    guests: tuple[Served, ...]
    report: Report | None = None

    @property
    def ratio(self) -> float:
        """What was used against what was to be used."""
        said = self.report.made if self.report is not None else None
        return 1.0 if said is None or self.amount <= 0 else said / self.amount


@dataclass(frozen=True, slots=True)
class Fixed:
    """All work of a site that reports and prints have fixed."""

    runs: tuple[FixedRun, ...] = ()
    pulls: tuple[FixedPull, ...] = ()
    uses: tuple[FixedUse, ...] = ()
    said: Mapping[str, Report] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reported:
    """What reported work means for a plan: lots, needs of work still to be done, and needs already settled (P15).

    ``said`` holds what was reported of a task by its id, for the lists that show it. ``bygone`` lots were counted and are
    past use when the plan begins: only what was settled before can have come from them.
    """

    runs: tuple[FixedRun, ...] = ()
    pulls: tuple[FixedPull, ...] = ()
    lots: tuple[Lot, ...] = ()
    bygone: tuple[Lot, ...] = ()
    needs: tuple[Need, ...] = ()
    ordinals: Mapping[tuple[Item, date], frozenset[int]] = field(default_factory=dict)
    said: Mapping[str, Report] = field(default_factory=dict)


NOTHING_REPORTED = Reported()


def take_in(
    catalogue: Catalogue, calendar: Calendar, fixed: Fixed, counted: Mapping[Item, datetime], first: date, bygone: Iterable[Lot] = ()
) -> Reported:
    """What reported work means for a plan from ``first``; ``counted`` tells when each item was last counted.

    A plan counts the guests of ``first`` and later (P1). Those of earlier dates have been served: what a fixed run or use
    had for them is taken from the lots again, so that food that was eaten is not on hand. A run of which nothing can be
    used any more is not asked to be finished.
    """
    runs = sorted(fixed.runs, key=lambda each: each.run.key.order)
    pulls = sorted(fixed.pulls, key=lambda each: (each.pull.on, each.pull.item.order, each.pull.ordinal))
    lots: list[Lot] = []
    needs: list[Need] = []
    ordinals: dict[tuple[Item, date], frozenset[int]] = defaultdict(frozenset)
    standing: list[FixedRun] = []
    for each in runs:
        over = each.over(calendar.start(first))
        lots += _made(catalogue, calendar, each, counted)
        needs += [need for need in _drawn(calendar, each, counted) if need.settled or not over]
        ordinals[each.run.item, each.run.on] |= {each.run.ordinal}
        if not over:
            standing.append(each)
    for one in pulls:
        lots += _pulled(catalogue, calendar, one, counted)
        ordinals[one.pull.item, one.pull.on] |= {one.pull.ordinal}
    needs += _served(calendar, runs, fixed.uses, counted, first)
    return Reported(tuple(standing), tuple(pulls), tuple(lots), tuple(bygone), tuple(needs), dict(ordinals), fixed.said)


def _served(
    calendar: Calendar, runs: Iterable[FixedRun], uses: Iterable[FixedUse], counted: Mapping[Item, datetime], first: date
) -> Iterable[Need]:
    """What guests of dates before ``first`` have eaten, unless the item was counted after they were served.

    What a run was to give to guests and what a use says that its lot gave to them is the same food: the use is the later word.
    """
    eaten: dict[tuple[Item, datetime, Outlet, RunKey | None], float] = defaultdict(float)
    for use in uses:
        for need, source in use.guests:
            if need.outlet is not None:
                eaten[need.item, need.at, need.outlet, source] += need.amount * use.ratio
    later = set(eaten)
    for each in runs:
        left = {output.item: output.quantity * each.ratio for output in each.run.outputs}
        for need, amount in sorted(each.run.fed, key=lambda fed: fed[0].order):
            if need.outlet is None and need.drawn_by is None:
                continue  # A par takes nothing (P16).
            got = min(amount, left[need.item])
            left[need.item] -= got
            if need.outlet is not None and (need.item, need.at, need.outlet, each.run.key) not in later:
                eaten[need.item, need.at, need.outlet, each.run.key] += got
    for (item, at, outlet, _), amount in eaten.items():
        since = counted.get(item)
        if amount > 0 and outlet.on < first and (since is None or since <= at):
            yield Need(item, at, amount, outlet=outlet, on=calendar.business_date(at), settled=True)


def _made(catalogue: Catalogue, calendar: Calendar, fixed: FixedRun, counted: Mapping[Item, datetime]) -> Iterable[Lot]:
    """The run as lots of what it makes and gives, ready as planned, unless counted since (P15 d)."""
    run = fixed.run
    number = run.version.number if run.version else None
    for output in run.outputs:
        amount = output.quantity * fixed.ratio
        if amount > 0 and not fixed.counted_in(counted.get(output.item)):
            yield Lot(output.item, amount, run.at, output.use_by, number, run.on, run)
    for item, given in run.gives:
        amount = given * fixed.ratio
        if amount > 0 and not fixed.counted_in(counted.get(item)):
            keeps = catalogue.ingredients[item.code].keeps
            yield Lot(item, amount, run.at, FOREVER if keeps is None else calendar.use_by(run.at, keeps), None, run.on, run)


def _drawn(calendar: Calendar, fixed: FixedRun, counted: Mapping[Item, datetime]) -> Iterable[Need]:
    """What a fixed run takes: settled by reported stages from lots not counted since, asked for by the others (P15 b, c)."""
    run = fixed.run
    for stage in run.stages:
        report = fixed.reports.get(stage.number)
        for draw in run.draws:
            if not stage.takes(draw):
                continue
            amount = draw.amount if report is None else fixed.drew(stage, draw)
            since = counted.get(draw.item)
            if amount <= NIL * draw.amount or (report is not None and since is not None and since > _drawn_at(stage, draw, report)):
                continue
            yield Need(
                draw.item,
                draw.at,
                amount,
                scaled(run.shares, amount / run.quantity),
                None,
                run,
                run.item.label,
                None,
                calendar.business_date(draw.at),
                report is not None,
            )


def _drawn_at(stage: Stage, draw: Draw, report: Report) -> datetime:
    """When a count could know what a stage drew: at its report; as printed, where nobody reported and it was not late (P15 c, e)."""
    return draw.at if report.assumed and report.at <= stage.ready else report.at


def _pulled(catalogue: Catalogue, calendar: Calendar, fixed: FixedPull, counted: Mapping[Item, datetime]) -> Iterable[Lot]:
    """What a reported pull brought into the kitchen, unless its ingredient was counted since."""
    pull, report = fixed.pull, fixed.report
    amount = pull.amount if report.made is None else report.made
    since = counted.get(pull.item)
    if amount > 0 and (since is None or since <= report.at):
        keeps = catalogue.ingredients[pull.item.code].keeps
        yield Lot(pull.item, amount, pull.at, FOREVER if keeps is None else calendar.use_by(pull.at, keeps), None, pull.on, pull)

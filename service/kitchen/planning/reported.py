"""Reported work: what a kitchen said of a run or a pull stays as it is.

Responsible for the values of domain P15: reports, the work that they fixed, and what each piece of it made and drew,
when. Refuses to know who reported, where prints and reports are kept, and what follows for a plan.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import FOREVER, Calendar
from service.kitchen.planning.demand import Need
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.runs import Draw, Run, Stage
from service.kitchen.planning.stock import ALWAYS, NIL, Lot, PastRun

DOING, DONE, OPEN = "doing", "done", "open"
Eaten = tuple[Item, datetime, Outlet]
"""What was eaten, when, and where it went."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What was said of a stage or a pull: ``doing`` or ``done``, when, how much was begun, made and drawn.

    ``made`` and ``begun`` are of the run's main item (of a pull, ``made`` is what came out of store), ``drawn`` of the one
    item that the stage draws, all in the stock kind. ``at`` is the moment that the report ``stated``, else its own. What was
    reported on a later date's list was ``late`` there, and still to be done.
    """

    state: str
    at: datetime
    stated: bool = False
    made: float | None = None
    begun: float | None = None
    drawn: float | None = None
    note: str = ""
    late: bool = False

    def done(self, planned: datetime) -> datetime:
        """When something was made or drawn that was planned for a moment: as stated, else as planned, but not after the report (P15 d)."""
        return self.at if self.stated or self.late else min(self.at, planned)


# What a printed task of a past date stands for that nobody reported: done as printed, each part of it when it was planned (P15 e).
AS_PRINTED = Report(state=DONE, at=datetime.max.replace(tzinfo=UTC))


class Taking(NamedTuple):
    """What something took of an item: a need that is settled, and when a count could first know of it."""

    need: Need
    done: datetime

    @property
    def counts_at(self) -> datetime:
        """The moment from which it is gone: as planned, or when it was done later."""
        return max(self.need.at, self.done)


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

    @property
    def done(self) -> datetime:
        """When a count could first find what the run made (P15 d).

        That is when its last stage was done. While that is only begun, or not reported, it is ready as planned at the earliest.
        """
        report = self.reports.get(self.run.stages[-1].number)
        if report is None:
            return max(self.run.ready, self._worked)
        done = report.done(self.run.ready)
        return done if report.state == DONE else max(done, self.run.ready)

    @property
    def _worked(self) -> datetime:
        """When somebody last worked on it."""
        reported = [stage for stage in self.run.stages if stage.number in self.reports]
        return max((self.reports[stage.number].done(stage.ready) for stage in reported), default=ALWAYS)

    @property
    def finished(self) -> bool:
        """Whether every stage is reported."""
        return all(stage.number in self.reports for stage in self.run.stages)

    def over(self, start: datetime) -> bool:
        """Whether nothing of the run can be used any more at a moment, so that finishing it makes no sense.

        Late work of which somebody still does something then is for other late work.
        """
        return self._worked < start and not any(output.use_by.lasts(start) for output in self.run.outputs)

    def made(self, catalogue: Catalogue, calendar: Calendar) -> Iterator[Lot]:
        """The run as lots of what it makes and gives, ready as planned (P15 d); by-products follow in proportion."""
        run = self.run
        number = run.version.number if run.version else None
        source = PastRun(run.id, run.feeds, run.allergens or (frozenset(), frozenset()))
        for output in run.outputs:
            if output.quantity * self.ratio > 0:
                yield Lot(
                    item=output.item,
                    amount=output.quantity * self.ratio,
                    ready=run.ready,
                    use_by=output.use_by,
                    version=number,
                    made=run.on,
                    source=source,
                    done=self.done,
                )
        for item, given in run.gives:
            if given * self.ratio > 0:
                keeps = catalogue.ingredients[item.code].keeps
                use_by = FOREVER if keeps is None else calendar.use_by(run.ready, keeps)
                yield Lot(
                    item=item,
                    amount=given * self.ratio,
                    ready=run.ready,
                    use_by=use_by,
                    version=None,
                    made=run.on,
                    source=source,
                    done=self.done,
                )

    def takings(self, calendar: Calendar) -> Iterator[Taking]:
        """What the reported stages took (P15 c)."""
        for stage, draw in self._draws():
            report = self.reports.get(stage.number)
            amount = 0.0 if report is None else _drew(self.run, stage, draw, report)
            if report is not None and amount > NIL * draw.amount:
                yield Taking(self.run.need(draw, amount, calendar, settled=True), report.done(draw.at))

    def open_needs(self, calendar: Calendar) -> Iterator[Need]:
        """What the stages that nobody reported still ask for (P15 b)."""
        for stage, draw in self._draws():
            if stage.number not in self.reports and draw.amount > 0:
                yield self.run.need(draw, draw.amount, calendar)

    def _draws(self) -> Iterator[tuple[Stage, Draw]]:
        return ((stage, draw) for stage in self.run.stages for draw in self.run.draws if stage.takes(draw))


def _drew(run: Run, stage: Stage, draw: Draw, report: Report) -> float:
    """What a reported stage took of an item: as reported, else planned × begun ÷ planned quantity (P15 c)."""
    if report.drawn is not None:
        whole = sum(each.amount for each in run.draws if each.item == draw.item and stage.takes(each))
        return report.drawn * draw.amount / whole if whole > 0 else 0.0
    planned = run.main.quantity
    # What was lost on the way was taken all the same, and what came out beyond the plan had gone in.
    begun = report.begun if report.begun is not None else max(report.made or 0.0, planned)
    return draw.amount * begun / planned if planned > 0 else draw.amount


@dataclass(frozen=True, slots=True)
class FixedPull:
    """A pull that a report fixed: what came out of store is in the kitchen."""

    pull: Pull
    report: Report

    @property
    def done(self) -> datetime:
        """When it came out of store."""
        return self.report.done(self.pull.starts)

    @property
    def amount(self) -> float:
        """What came out of store."""
        return self.pull.amount if self.report.made is None else self.report.made

    @property
    def thawed_late(self) -> datetime | None:
        """When it will be thawed, where it was reported later than its thaw had to start (P15 e)."""
        if not self.pull.thaw or self.report is AS_PRINTED:
            return None
        thawed = self.report.at + self.pull.thaw
        return thawed if thawed > self.pull.at else None

    def made(self, catalogue: Catalogue, calendar: Calendar) -> Iterator[Lot]:
        """What the pull brought into the kitchen, as purchased; it is for all of its date, whose needs may have moved since (P13)."""
        if self.amount > 0:
            pull, keeps = self.pull, catalogue.ingredients[self.pull.item.code].keeps
            use_by = FOREVER if keeps is None else calendar.use_by(pull.at, keeps)
            yield Lot(
                item=pull.item,
                amount=self.amount,
                ready=calendar.start(pull.on),
                use_by=use_by,
                version=None,
                made=pull.on,
                done=self.done,
            )


@dataclass(frozen=True, slots=True)
class Fixed:
    """Work that reports and prints have fixed, the last word on each task by its id, and the ids of what a closed date has finished."""

    runs: tuple[FixedRun, ...] = ()
    pulls: tuple[FixedPull, ...] = ()
    said: Mapping[str, Report] = field(default_factory=dict)
    finished: frozenset[str] = frozenset()

    @property
    def ids(self) -> frozenset[str]:
        """The ids that fixed work has taken (P15 f)."""
        return self.finished.union((each.run.id for each in self.runs), (each.pull.id for each in self.pulls))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """What reported work means for a plan: lots, needs of work still to be done, and needs already settled (P15).

    ``eaten`` tells what guests of the plan's own dates had of food that a later count no longer found, ``filled`` the pars that
    were full before; ``said`` what was reported of a task by its id, for the lists that show it; ``store`` is what is left in
    store, which no need is met from; ``expired`` is what counts found that may be used no more; ``ids`` are those that no new work
    can have.
    """

    runs: tuple[FixedRun, ...] = ()
    pulls: tuple[FixedPull, ...] = ()
    lots: tuple[Lot, ...] = ()
    needs: tuple[Need, ...] = ()
    eaten: Mapping[Eaten, float] = field(default_factory=dict)
    filled: Collection[Need] = ()
    said: Mapping[str, Report] = field(default_factory=dict)
    store: tuple[Lot, ...] = ()
    expired: tuple[Lot, ...] = ()
    ids: frozenset[str] = frozenset()

    def unserved(self, needs: Iterable[Need]) -> Iterator[Need]:
        """Needs of guests less what they have eaten, and of pars but for those that were full, so that nothing is asked for twice."""
        left = dict(self.eaten)
        for need in needs:
            if need in self.filled:
                continue
            key = None if need.outlet is None else (need.item, need.at, need.outlet)
            gone = 0.0 if key is None else min(left.get(key, 0.0), need.amount)
            if key is None or gone <= 0:
                yield need
                continue
            left[key] -= gone
            rest = need.amount - gone
            if rest > NIL * need.amount:
                yield need._replace(amount=rest, portions=need.portions * rest / need.amount)


NOTHING_REPORTED = Reported()

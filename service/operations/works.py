"""Works: runs and pulls as reports fixed them and prints assume them.

Responsible for turning stored work, and what was said of it, into the kitchen's values (domain P15 a, b, e). Refuses to
know what they mean for a plan, and from where they are read.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.lists.frozen import read_moment, thaw_pull, thaw_run
from service.kitchen.lists.kept import freeze_closed
from service.kitchen.measures.calendar import Calendar
from service.kitchen.planning.names import PULL, RUN, work_of
from service.kitchen.planning.past import Closed, unfinished
from service.kitchen.planning.reported import AS_PRINTED, OPEN, Fixed, FixedPull, FixedRun, Report
from service.store.closed_days import ClosedRow
from service.store.documents import Document
from service.store.reports import ReportRow


class Works:
    """Runs and pulls by id, and what was said of their tasks or is assumed of them."""

    def __init__(self, catalogue: Catalogue, calendar: Calendar) -> None:
        self.catalogue, self.calendar = catalogue, calendar
        self.said: dict[str, Report] = {}
        self._documents: dict[str, tuple[str, Document]] = {}
        self._since: dict[str, date] = {}
        self._tasks: dict[str, dict[str, tuple[Report, date]]] = {}
        self._assumed: dict[str, dict[str, date]] = {}

    def add(self, work: str, kind: str, document: Document, since: date) -> None:
        """Know a run or pull as a report has fixed it; ``since`` is the first date on which anything of it counts."""
        self._documents[work] = (kind, document)
        self._since[work] = since

    def say(self, rows: Iterable[ReportRow]) -> None:
        """Take in reports in order of their numbers: the last one of each task holds."""
        for row in rows:
            report = read_report(row.document)
            self.said[row.task] = report
            self._tasks.setdefault(row.work, {})[row.task] = (report, row.date)

    def spoken_of(self, work: str) -> bool:
        """Whether some report of the work stands, other than that it is open."""
        return any(report.state != OPEN for report, _ in self._tasks.get(work, {}).values())

    def assume(self, work: str, kind: str, printed: Document, on: date) -> None:
        """Of a print of a past date, what nobody reported counts as done as printed, unless it was late there already (P15 e).

        Prints come in order of their dates: the first date of which a task counts as done has fixed the whole run.
        """
        late = self._late(work, kind, printed["frozen"], on)
        if unsaid := [task for task in printed["tasks"] if task not in self.said and task not in late]:
            self._documents.setdefault(work, (kind, printed["frozen"]))
            self._assumed.setdefault(work, {}).update(dict.fromkeys(unsaid, on))

    def assumed_before(self, unfinished: Document) -> None:
        """What a closed date already assumed of work that it left unfinished, unless that was reported since."""
        work = unfinished["work"]
        if unsaid := {task: date.fromisoformat(on) for task, on in unfinished["assumed"].items() if task not in self.said}:
            self._documents[work] = (unfinished["kind"], unfinished["document"])
            self._assumed[work] = unsaid

    def runs(self) -> Iterable[FixedRun]:
        """The runs of which something was said or is assumed."""
        for work, (kind, document) in sorted(self._documents.items()):
            if kind == RUN and self._stands(work, document):
                run = thaw_run(self._known_rows(document), self.catalogue, work)
                own = {f"{work}.{stage.number}": stage.on for stage in run.stages}
                said = {work_of(task)[2]: report for task, report in self._said_of(work, own) if report.state != OPEN}
                assumed = dict.fromkeys((work_of(task)[2] for task in self._assumed.get(work, {})), AS_PRINTED)
                yield FixedRun(run, {**assumed, **said})

    def pulls(self) -> Iterable[FixedPull]:
        """The pulls of which something was said or is assumed."""
        for work, (kind, document) in sorted(self._documents.items()):
            if kind == PULL and self._stands(work, document):
                pull = thaw_pull(document, work)
                own = {work: self.calendar.business_date(pull.starts)}
                said = [report for _, report in self._said_of(work, own) if report.state != OPEN]
                yield FixedPull(pull, said[0] if said else AS_PRINTED)

    def closed_rows(self, days: Iterable[Closed], fixed: Fixed, finished: Mapping[str, str], reach: timedelta) -> Iterator[ClosedRow]:
        """Closed dates as they are kept: what each left, the work that was unfinished at its end, and what was finished by then.

        Of what is ``finished`` by a date its id and the date of its need are known, while late work could have the same (P15 f):
        nothing begins longer than ``reach`` before it is needed.
        """
        works: list[FixedRun | FixedPull] = [*fixed.runs, *fixed.pulls]
        for closed in days:
            unfinished_work, oldest = [], (closed.on - reach).isoformat()
            finished = {work: on for work, on in finished.items() if on >= oldest}
            for each in works:
                work = each.run if isinstance(each, FixedRun) else each.pull
                assumed = {task: on.isoformat() for task, on in self._assumed.get(work.id, {}).items() if on <= closed.on}
                if not assumed and not self._begun(work.id, closed.on):
                    continue
                if unfinished(each, self.calendar, closed.on):
                    kind, document = self._documents[work.id]
                    unfinished_work.append({"work": work.id, "kind": kind, "document": document, "assumed": assumed})
                else:
                    finished[work.id] = work.on.isoformat()
            document = {**freeze_closed(closed), "unfinished": unfinished_work, "finished": finished}
            yield ClosedRow(date=closed.on, ended_at=self.calendar.end(closed.on), document=document)

    def _begun(self, work: str, on: date) -> bool:
        """Whether work counted by a date at all; what counts later only is found by its date."""
        return self.spoken_of(work) and self._since.get(work, date.min) <= on

    def _said_of(self, work: str, dates: Mapping[str, date]) -> Iterator[tuple[str, Report]]:
        """The last word on each task of a run or pull, given their own dates: on a later date's list it was late (P7)."""
        for task, (report, on) in self._tasks.get(work, {}).items():
            yield task, replace(report, late=task in dates and on > dates[task])

    def _stands(self, work: str, document: Document) -> bool:
        return self._known(document) and (bool(self._assumed.get(work)) or self.spoken_of(work))

    def _known(self, document: Mapping[str, Any]) -> bool:
        """Whether the catalogue still knows what work is of: nothing can be said of an ingredient that was removed since."""
        item = Item.read(document["item"])
        return item.is_recipe or item.code in self.catalogue.ingredients

    def _known_rows(self, document: Document) -> Document:
        """A run without what it draws and gives of ingredients that were removed since."""
        draws = [each for each in document["draws"] if self._known(each)]
        return {**document, "draws": draws, "gives": [each for each in document["gives"] if self._known({"item": each[0]})]}

    def _late(self, work: str, kind: str, document: Document, on: date) -> set[str]:
        """Which tasks of a run or pull should have begun before a date."""
        if kind == PULL:
            return {work} if self.calendar.business_date(read_moment(document["starts"])) < on else set()
        return {f"{work}.{stage['number']}" for stage in document["stages"] if date.fromisoformat(stage["on"]) < on}


def read_report(document: Document) -> Report:
    """A stored report; one of the first release does not tell whether it stated its time."""
    made, begun, drawn = (document.get(name) and float(document[name]["amount"]) for name in ("made", "begun", "drawn"))
    at, stated = datetime.fromisoformat(document["at"]), document.get("stated", True)
    return Report(state=document["state"], at=at, stated=stated, made=made, begun=begun, drawn=drawn, note=document["note"])


def fixed_by(
    catalogue: Catalogue, calendar: Calendar, work: str, document: Document, rows: Iterable[ReportRow]
) -> FixedRun | FixedPull | None:
    """A run or pull with the last word on each of its tasks; None where nothing that was said of it stands."""
    works = Works(catalogue, calendar)
    works.add(work, work_of(work)[0], document, date.min)
    works.say(rows)
    fixed: list[FixedRun | FixedPull] = [*works.runs(), *works.pulls()]
    return fixed[0] if fixed else None

"""Reports: what kitchens said of tasks and pulls, and what of it stands in every plan from then on.

Responsible for domain P15 between the store and the kitchen: which work is fixed, as it stood on the
newest print or the list, and what counts as done although nobody reported it. Refuses to know HTTP.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.lists.frozen import thaw_pull, thaw_run, thaw_use
from service.kitchen.planning.counted import Counted, bygone
from service.kitchen.planning.reported import DONE, OPEN, Fixed, FixedPull, FixedRun, Report, Reported, take_in
from service.kitchen.planning.runs import Run
from service.limits import RANGE_DAYS
from service.store import prints, progress
from service.store.documents import Document

RUN, PULL, USE = "run", "pull", "use"
EVER = datetime.min.replace(tzinfo=UTC)
# Prints and reports hold as long as a list can reach back; what was reported, as long as something of it can be used.
BACK = timedelta(days=RANGE_DAYS)


def work_of(task: str) -> tuple[str, str, int]:
    """The kind of work that a task's id names, the id of that work, and the stage (0 for pulls and uses)."""
    kind = task.partition(".")[0]
    if kind in (PULL, USE):
        return kind, task, 0
    work, _, stage = task.rpartition(".")
    return RUN, work, int(stage) if stage.isascii() and stage.isdigit() else 0


def load_reported(session: Session, catalogue: Catalogue, site: Site, first: date, counted: Sequence[Counted]) -> Reported:
    """What prints and reports of a site mean for a plan from a date (P15); ``counted`` are the lots of each item's newest count."""
    back = first - BACK
    fixed_rows = progress.fixed_since(session, site.code, back, first)
    kept = [row.work for row in fixed_rows if row.date < back]
    reports = [*progress.since(session, site.code, back), *(each for work in kept for each in progress.of_stages(session, site.code, work))]
    said = {row.task: row.document for row in reports}
    printed = prints.newest_work(session, site.code, back, first)
    if not said and not printed:
        return Reported()
    documents = {row.work: (row.kind, row.document) for row in fixed_rows}
    active = {task for task, document in said.items() if document["state"] != OPEN}
    reported = {work_of(task)[1] for task in active}
    documents = {work: each for work, each in documents.items() if work in reported}
    calendar = site.calendar()
    assumed: dict[str, datetime] = {}
    for row in sorted(printed, key=lambda each: (each.printed_at, each.date, each.number)):
        unsaid = [task for task in row.document["tasks"] if task not in said]
        # A late task was done some time after it was printed, on the date of its list at the latest.
        assumed |= dict.fromkeys(unsaid, min(row.printed_at, calendar.end(row.date)))
        # A report fixes a run; of a use it tells that the lots gave what the newest print says.
        if (unsaid or row.work in documents) and (row.work not in reported or row.kind == USE):
            documents[row.work] = (row.kind, row.document["frozen"])
    fixed = _Reader(catalogue, said, active, assumed).fixed(documents)
    since = {each.item: each.counted_at for each in counted}
    return take_in(catalogue, calendar, fixed, since, first, bygone(catalogue, site.code, calendar, counted, first))


class _Reader:
    """Turns stored work and what was said of it into the kitchen's values."""

    def __init__(
        self,
        catalogue: Catalogue,
        said: Mapping[str, Document],
        active: Iterable[str],
        assumed: Mapping[str, datetime],
    ) -> None:
        self.catalogue = catalogue
        self.said = said
        self.assumed = assumed
        self.tasks: dict[str, list[str]] = {}
        for task in sorted({*active, *assumed}):
            self.tasks.setdefault(work_of(task)[1], []).append(task)

    def fixed(self, documents: Mapping[str, tuple[str, Document]]) -> Fixed:
        """All fixed work with its reports."""
        runs, pulls, uses = [], [], []
        for work, (kind, document) in sorted(documents.items()):
            tasks = self.tasks.get(work, [])
            if not tasks or not self._known(document):
                continue
            if kind == RUN:
                run = self._thaw(document)
                runs.append(FixedRun(run, {work_of(task)[2]: self._report(task, _ready(run, task)) for task in tasks}))
            elif kind == PULL:
                pull = thaw_pull(document)
                pulls.append(FixedPull(pull, self._report(tasks[0], pull.starts)))
            else:
                use = thaw_use(document)
                uses.append(replace(use, report=self._report(tasks[0], max((need.at for need, _ in use.guests), default=EVER))))
        return Fixed(tuple(runs), tuple(pulls), tuple(uses), {task: self._said(document) for task, document in self.said.items()})

    def _known(self, document: Document) -> bool:
        """Whether the catalogue still knows what work is of: nothing can be said of an ingredient that was removed since."""
        item = Item.read(document["item"])
        return item.is_recipe or item.code in self.catalogue.ingredients

    def _thaw(self, document: Document) -> Run:
        """A run without what it draws and gives of ingredients that were removed since."""
        rows = {"draws": [each for each in document["draws"] if self._known(each)]}
        rows["gives"] = [each for each in document["gives"] if self._known({"item": each[0]})]
        return thaw_run({**document, **rows}, self.catalogue)

    def _report(self, task: str, planned: datetime) -> Report:
        """What was said of a task, or that it counts as done as printed, by its planned end unless it was late then (P15 e)."""
        document = self.said.get(task)
        return Report(DONE, max(planned, self.assumed[task]), assumed=True) if document is None else self._said(document)

    def _said(self, document: Document) -> Report:
        amounts = {name: None if document[name] is None else float(document[name]["amount"]) for name in ("made", "drawn")}
        return Report(document["state"], datetime.fromisoformat(document["at"]), amounts["made"], amounts["drawn"], document["note"])


def _ready(run: Run, task: str) -> datetime:
    number = work_of(task)[2]
    return next((stage.ready for stage in run.stages if stage.number == number), run.at)


def frozen_document(document: dict[str, Any], tasks: Iterable[str]) -> dict[str, Any]:
    """A run, pull or use as a print keeps it: what it was, and which of its tasks the print showed."""
    return {"tasks": sorted(tasks), "frozen": document}

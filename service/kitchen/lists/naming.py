"""Naming: how the loads of a plan are named, by the task that shows them and as a cook calls them.

Responsible for one answer to that (domain K4, T8). Refuses to know when they are done.
"""

from collections.abc import Sequence

from service.kitchen.capacity.scheduled import LoadKey, Scheduled
from service.kitchen.lists.schedule_documents import LoadName
from service.kitchen.lists.wording import Words
from service.kitchen.planning.names import task_id
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run, Stage

# A sentence that names more loads is read by nobody.
MOST = 3


class Naming:
    """The names of the loads of one plan's schedule."""

    def __init__(self, plan: Plan, scheduled: Scheduled, words: Words) -> None:
        self.scheduled, self.words = scheduled, words
        self.runs: dict[str, Run] = {run.id: run for run in plan.all_runs}

    def stage(self, key: LoadKey, step: int | None = None) -> Stage:
        """The stage of a load's run that holds a step; without one, the first that it has still to go through."""
        run = self.runs[key.run]
        placed = self.scheduled.load(key).steps
        number = step if step is not None or not placed else placed[0].number
        return next((stage for stage in run.stages if stage.holds(number)), run.stages[0])

    def task(self, key: LoadKey, step: int | None = None) -> str:
        """The id of the task that shows a step of a load; without one, of the task that it begins with."""
        return task_id(key.run, self.stage(key, step).number)

    def name(self, key: LoadKey) -> LoadName:
        """A load as documents name it."""
        return {"task": self.task(key), "number": key.number}

    def item(self, key: LoadKey) -> str:
        """What a cook calls what a load is of."""
        return self.words.title(self.runs[key.run].item)

    def title(self, key: LoadKey) -> str:
        """What a cook calls a load: its item, and which of how many."""
        of = self.scheduled.load(key).of
        return self.item(key) if of == 1 else f"{self.item(key)} {key.number} of {of}"

    def titles(self, keys: Sequence[LoadKey]) -> str:
        """What a cook calls some loads, as part of a sentence: the first few of many."""
        names = [self.title(key) for key in keys[:MOST]]
        if len(keys) > MOST:
            names.append(f"{len(keys) - MOST} more")
        return ", ".join(names[:-1]) + (" and " if names[1:] else "") + "".join(names[-1:])

    def stations(self, key: LoadKey) -> set[str]:
        """The stations at which a load is worked on, after the site's map."""
        return {self.words.site.station(stage.station) for stage in self.runs[key.run].stages}

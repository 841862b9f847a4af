"""Keeping: how long what a run makes may be kept, given what went into it, and what a count found past its use.

Responsible for domain H2 on lists: food that is combined keeps the date of its earliest part. Refuses to
change planning, which goes by what an item itself keeps (T6).
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.lists.documents import Discarded
from service.kitchen.lists.wording import Words, day, end_of
from service.kitchen.measures.calendar import UseBy
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.runs import Output, Run, Stage
from service.kitchen.planning.stock import Lot, PastRun
from service.kitchen.planning.warned import Warned

COLD = "cold"


class Part(NamedTuple):
    """What a run draws at a moment, and until when that may be used; whether it is made for the run itself, or lay there."""

    at: datetime
    item: Item
    version: int | None
    use_by: UseBy
    made_for_it: bool


class Keeping:
    """What each run of a plan draws, from lots and from other runs."""

    def __init__(self, catalogue: Catalogue, uses: Iterable[Use] = (), runs: Iterable[Run] = ()) -> None:
        self.catalogue = catalogue
        self.parts: dict[str, list[Part]] = defaultdict(list)
        for use in uses:
            if (consumer := use.need.drawn_by) is not None:
                lot = use.lot
                self.parts[consumer.id].append(Part(use.need.at, lot.item, lot.version, lot.use_by, _feeds(lot.source, consumer)))
        for run in runs:
            for need, _ in run.fed:
                if need.drawn_by is not None:
                    number = run.version.number if run.version else None
                    part = Part(need.at, need.item, number, run.output(need.item).use_by, made_for_it=True)
                    self.parts[need.drawn_by.id].append(part)

    def earliest(self, run: Run, stage: Stage, own: UseBy) -> UseBy:
        """The earliest of a use-by of the run's own and those of what is drawn by the end of a stage (H2)."""
        part = self._first_to_expire(run, stage)
        return own if part is None else min(own, part.use_by)

    def exceeded(self, run: Run, stage: Stage, words: Words) -> Iterator[Warned]:
        """A warning for each item of which some would be kept, or served, past the use-by of what is in it (H2)."""
        first, cold = self._first_to_expire(run, stage), self._first_to_expire(run, stage, cold=True)
        for output in run.outputs:
            if first is not None and first.use_by < output.use_by:
                kept = output.surplus + output.for_pars
                yield from _warning(stage, output, first, (kept, "beyond what is asked for would be kept"), words)
            if cold is not None and cold.use_by < output.use_by:
                yield from _warning(stage, output, cold, _served(run, output, cold, words), words)

    def _first_to_expire(self, run: Run, stage: Stage, *, cold: bool = False) -> Part | None:
        """Of what is drawn up to the stage's last step, the first to expire: what an earlier stage put in stays in.

        What lay there keeps its date, what is made for the run only where it is combined ``cold``, to which all can be limited.
        """
        last = stage.steps[-1].starts if stage.steps else stage.starts
        parts = (part for part in self.parts.get(run.id, ()) if part.at <= last)
        keeping = (part for part in parts if self._combined_cold(run, part) or not (cold or part.made_for_it))
        return min(keeping, key=lambda part: (part.use_by, part.item.order), default=None)

    def _combined_cold(self, run: Run, part: Part) -> bool:
        """Whether a part is not cooked with what is made, which would begin another date, and this is cold food."""
        version = run.version
        if version is None:
            return True
        if version.storage not in (None, COLD):
            return False
        if version.ready_to_eat and part.item.is_recipe and not self._ready_to_eat(part):
            # Whatever the steps say, it is cooked on the way.
            return False
        cooked = next((timed.starts for stage in run.stages for timed in stage.steps if timed.number == version.last_cook), None)
        return cooked is None or part.at > cooked

    def _ready_to_eat(self, part: Part) -> bool:
        return any(each.ready_to_eat for each in self.catalogue.versions[part.item.code] if each.number == part.version)


def _warning(stage: Stage, output: Output, part: Part, told: tuple[float, str], words: Words) -> Iterator[Warned]:
    """That so much of an item outlasts a part of it; nothing where it is nothing."""
    amount, what = told
    if amount > 0:
        past = f"past {until(part.use_by, words)}, the use-by of the {words.title(part.item)} in it; use or discard it by then"
        detail = f"{words.title(output.item)}: {words.of(output.item, amount)['display']} {what} {past}"
        yield Warned(stage.on, "keeps_exceeded", detail, item=output.item)


def _feeds(source: RunKey | PastRun | None, consumer: RunKey) -> bool:
    """Whether a reported run was made for a run that draws from its lot: that counts as it did before it was reported."""
    return isinstance(source, PastRun) and consumer.id in source.feeds


def _served(run: Run, output: Output, part: Part, words: Words) -> tuple[float, str]:
    """How much of an item is eaten after a part of it has expired, and by whom: by guests, or, if it is ready to eat, in other food."""
    eaten_in_food = run.version is not None and run.version.ready_to_eat
    amounts: list[float] = []
    whom: dict[str, None] = {}
    for need, amount in run.fed:
        if need.item != output.item or part.use_by.covers(need.at):
            continue
        if need.outlet is not None:
            whom |= dict.fromkeys(words.purposes([need.outlet], [], run.on))
        elif need.drawn_by is not None and eaten_in_food:
            whom[words.title(need.drawn_by.item)] = None
        else:
            continue
        amounts.append(amount)
    return sum(amounts), f"for {', '.join(whom)} would be served"


def discarded(plan: Plan, start: datetime, words: Words) -> list[Discarded]:
    """What counts found in the kitchen that may be used no more on a date that starts at a moment, by use-by and item (H2)."""
    past = (lot for lot in plan.lots if lot.counted and not lot.use_by.lasts(start))
    rows = [(lot, lot.held(start)) for lot in (*plan.reported.expired, *past)]
    rows.sort(key=lambda row: (row[0].use_by, row[0].item.order, row[0].made or date.min, row[0].done, row[1]))
    return [_discarded(lot, left, words) for lot, left in rows if left > 0]


def _discarded(lot: Lot, left: float, words: Words) -> Discarded:
    made = f"made on {day(lot.made)}, " if lot.made is not None else ""
    counted = day(words.calendar.business_date(lot.done))
    why = f"{made}counted on {counted}, to be used by {until(lot.use_by, words)}"
    return {"item": words.item(lot.item), "quantity": words.of(lot.item, left), **words.kept(lot.use_by), "why": why}


def until(use_by: UseBy, words: Words) -> str:
    """The last moment of use as a cook says it: a moment of the clock, or the end of a business date (T6)."""
    on = words.calendar.last_date(use_by)
    return words.moment(use_by.moment) if on is None else end_of(on)

"""Keeping: how long what a run makes may be kept, given the lots that went into it.

Responsible for domain H2 on tasks: food that is combined keeps the date of its earliest part. Refuses to
change planning, which goes by what an item itself keeps (T6).
"""

from collections.abc import Iterable, Iterator
from datetime import datetime

from service.kitchen.lists.wording import Words, day, end_of
from service.kitchen.measures.calendar import UseBy
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.plan import Use
from service.kitchen.planning.runs import Run, Stage
from service.kitchen.planning.stock import Lot, PastRun
from service.kitchen.planning.warned import Warned


class Keeping:
    """The lots that each run of a plan draws, with the moment of the draw."""

    def __init__(self, uses: Iterable[Use] = ()) -> None:
        self.drawn: dict[str, list[tuple[datetime, Lot]]] = {}
        for use in uses:
            consumer = use.need.drawn_by
            if consumer is not None and not _feeds(use.lot.source, consumer):
                self.drawn.setdefault(consumer.id, []).append((use.need.at, use.lot))

    def earliest(self, run: Run, stage: Stage, own: UseBy) -> UseBy:
        """The earliest of a use-by of the run's own and those of the lots drawn by the end of a stage (H2)."""
        lot = self._first_to_expire(run, stage)
        return own if lot is None else min(own, lot.use_by)

    def exceeded(self, run: Run, stage: Stage, words: Words) -> Iterator[Warned]:
        """A warning for each item of which more is made than is needed, and which would be kept past a lot that is in it (H2)."""
        lot = self._first_to_expire(run, stage)
        for output in run.outputs:
            kept = output.surplus + output.for_pars
            if lot is None or kept <= 0 or lot.use_by >= output.use_by:
                continue
            amount = words.of(output.item, kept)["display"]
            detail = (
                f"{words.title(output.item)}: {amount} beyond what is asked for would be kept past {until(lot.use_by, words)}, "
                f"the use-by of the {words.title(lot.item)} in it; use or discard it by then"
            )
            yield Warned(stage.on, "keeps_exceeded", detail)

    def _first_to_expire(self, run: Run, stage: Stage) -> Lot | None:
        """Of the lots drawn up to the stage's last step, the first to expire: what an earlier stage put in stays in."""
        last = stage.steps[-1].starts if stage.steps else stage.starts
        return min((lot for at, lot in self.drawn.get(run.id, ()) if at <= last), key=lambda lot: lot.order, default=None)


def _feeds(source: RunKey | PastRun | None, consumer: RunKey) -> bool:
    """Whether a reported run was made for a run that draws from its lot: a report of it must not change the other's use-by."""
    return isinstance(source, PastRun) and consumer.id in source.feeds


def until(use_by: UseBy, words: Words) -> str:
    """The last moment of use as a cook says it: a moment of the clock, or the end of a business date (T6)."""
    on = words.calendar.last_date(use_by)
    if on is not None:
        return end_of(on)
    local = use_by.moment.astimezone(words.calendar.zone)
    return f"{day(local.date())} {local:%H:%M}"

"""Tasks: one stage of a run, or what lots supply, as one entry of a station's list.

Responsible for the documents of prep, make and use tasks and of pulls (domain P7 to P9, P11, T8).
Refuses to choose which of them stand on a date's list.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.kitchen.book.item import Item
from service.kitchen.capacity.loads import prep_hands_on
from service.kitchen.lists.documents import Balance, GivenRow, ProgressRow, Said, TaskEntry, Trace, Work
from service.kitchen.lists.loads import hands_on, scheduling
from service.kitchen.lists.method import batch_cards, made, step_row
from service.kitchen.lists.parts import ComputedQuantity, Portion, Scheduling
from service.kitchen.lists.telling import Begin, Telling
from service.kitchen.lists.wording import Words, as_read
from service.kitchen.measures.calendar import ZERO, whole_minutes, write_duration
from service.kitchen.measures.display import Displayed, display
from service.kitchen.planning.names import task_id
from service.kitchen.planning.runs import Draw, Output, Run, Stage
from service.kitchen.planning.warned import Warned


@dataclass(slots=True, kw_only=True)
class Task:
    """One entry with what decides its place: station, lateness, start and item."""

    station: str
    late: bool
    starts: datetime
    item: Item
    document: TaskEntry
    active: timedelta = ZERO
    guarded: bool = False
    told: tuple[Warned, ...] = ()

    @property
    def order(self) -> tuple[bool, datetime, tuple[str, bool], str]:
        """Late ones first, then by start, then by item."""
        return (not self.late, self.starts, self.item.order, self.document["id"])


def run_task(run: Run, stage: Stage, telling: Telling) -> Task:
    """The task of one stage of a run (P8, P9)."""
    words, id_ = telling.words, task_id(run.id, stage.number)
    timed, placed = telling.timing.stage(run, stage), telling.timing.placed(run, stage)
    loads = telling.timing.loads(run)
    active = whole_minutes(_hands_on(run, stage, words)) if placed is None else hands_on(placed, loads)
    progress = telling.progress(id_, run.item, only_draw(run, stage) if id_ in telling.said else None)
    work = _work(run, stage, active, progress, telling)
    scheduled: Scheduling = {} if placed is None else scheduling(run, placed, loads, words)
    said: Said = {"allergens": telling.rollup.of_run(run).document(), "progress": progress, **_trace(run, run.main, telling)}
    document: TaskEntry
    if run.version:
        rests = {} if placed is None else {step.number: step.rests for step in placed.steps}
        cards, steps = batch_cards(run, words, stage), [step_row(each, words, rests.get(each.number)) for each in timed.steps]
        document = {"id": id_, "kind": "make", **work, **scheduled, "batches": cards, "steps": steps, **said}
    else:
        document = {"id": id_, "kind": "prep", **work, **scheduled, **said}
    guarded = any(each.step.safety is not None for each in stage.steps)
    told = tuple(telling.keeping.exceeded(run, stage, words))
    return Task(
        station=words.site.station(stage.station),
        late=document["late"],
        starts=timed.starts,
        item=run.item,
        document=document,
        active=active,
        guarded=guarded,
        told=told,
    )


def _work(run: Run, stage: Stage, active: timedelta, progress: ProgressRow | None, telling: Telling) -> Work:
    """What is to be done at a stage, how much of it, by when and for what."""
    words, output, timing = telling.words, run.main, telling.timing
    timed, placed = timing.stage(run, stage), timing.placed(run, stage)
    own = output.use_by if placed is None else min(output.use_by, placed.use_by)
    # The rests that may be cut short are those of the plan.
    begin = Begin(timed.on, timed.starts, timed.starts + (run.last_start(stage, timing.staffing) - stage.starts))
    return {
        "item": words.item(run.item),
        "version": run.version.number if run.version else None,
        "stage": {"number": stage.number, "of": len(run.stages)},
        **_balance(output, made(run, words), words),
        "draw": _draw(run, stage, words),
        "gives": _gives(run, stage, telling),
        "start_by": words.calendar.write(timed.starts),
        "ready_by": words.calendar.write(timed.ready),
        **words.kept(telling.keeping.earliest(run, stage, own)),
        "active": write_duration(active),
        **telling.standing(begin, lambda: telling.shares.of_run(run), progress),
        "for": words.purposes(telling.shares.outlets_of_run(run), run.pars, max(timed.on, telling.first)),
    }


def _balance(output: Output, quantity: ComputedQuantity, words: Words) -> Balance:
    """Need = have + quantity − surplus (P9); what is as much as the quantity reads like it (D3)."""
    item = output.item
    return {
        "need": as_read(words.of(item, output.need), quantity),
        "have": as_read(words.of(item, output.have), quantity),
        "quantity": quantity,
        "surplus": as_read(words.of(item, output.surplus), quantity),
    }


def draws_of(run: Run, stage: Stage) -> dict[Item, list[Draw]]:
    """What a stage takes, by item, as authored (T8, P6)."""
    draws: dict[Item, list[Draw]] = {}
    for draw in run.draws:
        if draw.line is None or stage.holds(draw.line.line.step):
            draws.setdefault(draw.item, []).append(draw)
    return draws


def only_draw(run: Run, stage: Stage) -> Item | None:
    """The item that a stage takes, where it takes just one."""
    draws = list(draws_of(run, stage))
    return draws[0] if len(draws) == 1 else None


def _draw(run: Run, stage: Stage, words: Words) -> list[Portion]:
    """What a stage takes in all, each item once, as authored (P6); totals are the sums of the batches as displayed (D3)."""
    return [{"item": words.item(item), "quantity": _drawn(run, item, draws, words)} for item, draws in draws_of(run, stage).items()]


def _drawn(run: Run, item: Item, draws: Sequence[Draw], words: Words) -> ComputedQuantity:
    kind = words.kind(item)
    amount = sum(draw.amount for draw in draws)
    parts: list[tuple[int, Displayed]] = []
    for draw in draws:
        if draw.line is None or draw.line.shown_kind != kind:
            # What was authored in another kind is displayed in that: such texts cannot be added up to this one.
            return words.of(item, amount)
        for batch, factor in run.batches:
            shown = display(draw.line.shown_in_batch(factor), kind, words.system, critical=draw.line.line.critical)
            parts.append((batch.count, shown))
    return words.sum(amount, kind, parts, words.pieces(item, amount))


def _gives(run: Run, stage: Stage, telling: Telling) -> list[GivenRow]:
    """What every form of a cut and every by-product gets; by-products come with the last stage (P5, P8)."""
    words = telling.words
    rows: list[GivenRow] = []
    if len(run.outputs) > 1:
        rows = [
            {
                "item": words.item(output.item),
                **_balance(output, words.of(output.item, output.quantity), words),
                **_trace(run, output, telling),
            }
            for output in run.outputs
        ]
    if stage.number < len(run.stages):
        return rows
    given: dict[Item, float] = {}
    for item, amount in run.gives:
        given[item] = given.get(item, 0.0) + amount
    rows.extend({"item": words.item(item), "quantity": words.of(item, amount)} for item, amount in given.items())
    return rows


def _trace(run: Run, output: Output, telling: Telling) -> Trace:
    """Why a run makes as much of one item: which runs take from it, and for whom (P11); nothing unless that is asked for."""
    words = telling.words
    if not telling.trace:
        return {}
    fed: dict[Item, float] = {}
    for need, amount in run.fed:
        if need.drawn_by is not None and need.item == output.item:
            fed[need.drawn_by.item] = fed.get(need.drawn_by.item, 0.0) + amount
    return {
        "feeds": [{"item": words.item(consumer), "quantity": words.of(output.item, amount)} for consumer, amount in fed.items()],
        "shares": telling.share_rows(telling.shares.of_output(run, output.item), output.item),
    }


def _hands_on(run: Run, stage: Stage, words: Words) -> timedelta:
    """Hands-on time of a stage: of its steps, or of making ready all that the run gives."""
    if run.version:
        return sum((each.step.active for each in stage.steps), ZERO)
    return prep_hands_on(run, words.catalogue)

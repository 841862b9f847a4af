"""Method: how a run is cooked, as its task tells it.

Responsible for how much a run makes, for what to weigh for each batch, and for the steps with their clock times (domain S2, T1, D3).
Refuses to know which task they stand on.
"""

from datetime import datetime

from service.kitchen.book.lines import LineAmount
from service.kitchen.lists.documents import BatchCard, BatchLine, StepRow, WindowMoments
from service.kitchen.lists.parts import ComputedQuantity
from service.kitchen.lists.wording import Words, written
from service.kitchen.measures.calendar import write_duration
from service.kitchen.measures.display import display
from service.kitchen.planning.runs import Run, Stage, TimedStep
from service.kitchen.safety.safety import effective
from service.limits import DECIMALS


def made(run: Run, words: Words) -> ComputedQuantity:
    """How much a run makes: what is cooked reads as the sum of its batches as displayed (D3)."""
    kind = words.kind(run.item)
    parts = [(batch.count, display(batch.quantity, kind, words.system)) for batch, _ in run.batches]
    return words.sum(run.main.quantity, kind, parts) if parts else words.of(run.item, run.main.quantity)


def batch_cards(run: Run, words: Words, stage: Stage | None = None) -> list[BatchCard]:
    """What to weigh for each batch of a run, or of one of its stages; identical batches once."""
    kind = words.kind(run.item)
    amounts = [amount for amount in run.weighed if stage is None or stage.holds(amount.line.step)]
    return [
        {
            "count": batch.count,
            "quantity": words.quantity(batch.quantity, kind),
            "factor": round(factor, DECIMALS),
            "lines": [_batch_line(each, factor, words) for each in amounts],
        }
        for batch, factor in run.batches
    ]


def _batch_line(amount: LineAmount, factor: float, words: Words) -> BatchLine:
    line = amount.line
    return {
        "item": words.item(line.item),
        "quantity": _weighed(amount, factor, words),
        "step": line.step,
        "critical": line.critical,
        "note": line.note,
    }


def _weighed(amount: LineAmount, factor: float, words: Words) -> ComputedQuantity:
    """What a line takes for a batch, in the kind that it was authored in (D3)."""
    exact, kind = amount.shown_in_batch(factor), amount.shown_kind
    shown = display(exact, kind, words.system, critical=amount.line.critical)
    return written(exact, kind, shown, words.pieces(amount.line.item, amount.in_batch(factor)))


def step_row(timed: TimedStep, words: Words, rests: datetime | None = None) -> StepRow:
    """A step with its clock times; a passive window as moments (T1), from when it ``rests``, which a load may do later (K5)."""
    step, write = timed.step, words.calendar.write
    rests = rests or timed.starts + step.active
    passive = step.passive
    window: WindowMoments | None = None
    if passive.least is not None and passive.most is not None:
        window = {"min": write(rests + passive.least), "target": write(rests + passive.target), "max": write(rests + passive.most)}
    return {
        "number": timed.number,
        "text": step.text,
        "why": step.why,
        "starts": write(timed.starts),
        "active": write_duration(step.active),
        "passive": write_duration(passive.target),
        "window": window,
        "set_to": None if step.set_to is None else step.set_to.shown(words.system),
        "safety": None if step.safety is None else effective(step.safety, words.system),
    }

"""Tasks: one stage of a run, or what lots supply, as one entry of a station's list.

Responsible for the documents of prep, make and use tasks and of pulls (domain P7 to P9, P11, T8).
Refuses to choose which of them stand on a date's list.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from service.kitchen.book.ingredient import Form
from service.kitchen.book.item import Item
from service.kitchen.explained.shares import Shares, merged, portions_at_risk
from service.kitchen.lists.keeping import Keeping
from service.kitchen.lists.wording import Json, Words, whole_minutes
from service.kitchen.measures.batches import round_up
from service.kitchen.measures.calendar import ZERO, write_duration
from service.kitchen.measures.display import Displayed, display
from service.kitchen.planning.demand import Outlet, Share, Warned
from service.kitchen.planning.names import task_id
from service.kitchen.planning.reported import Report
from service.kitchen.planning.runs import Draw, Output, Run, Stage, TimedStep
from service.kitchen.safety.allergens import Rollup
from service.kitchen.safety.safety import effective


@dataclass(slots=True)
class Task:
    """One entry with what decides its place: station, lateness, start and item."""

    station: str
    late: bool
    starts: datetime
    item: Item
    document: Json
    active: timedelta = ZERO
    guarded: bool = False
    told: tuple[Warned, ...] = ()

    @property
    def order(self) -> tuple[bool, datetime, tuple[str, bool], str]:
        """Late ones first, then by start, then by item."""
        return (not self.late, self.starts, self.item.order, str(self.document["id"]))


@dataclass(frozen=True, slots=True)
class Reader:
    """Whom a list is written for: its wording, the first date of the plan, and whether shares and feeds are told."""

    words: Words
    rollup: Rollup
    first: date
    trace: bool
    shares: Shares
    most: Mapping[Outlet, float] = field(default_factory=dict)
    said: Mapping[str, Report] = field(default_factory=dict)
    keeping: Keeping = field(default_factory=Keeping)

    def late(self, on: date) -> bool:
        """Whether work of a business date should have begun before the first one (P7)."""
        return on < self.first

    def progress(self, id_: str, made: Item, drawn: Item | None = None) -> Json | None:
        """What was reported of a task or pull (P15)."""
        report = self.said.get(id_)
        if report is None:
            return None
        return {
            "state": report.state,
            "made": None if report.made is None else self.words.of(made, report.made),
            "begun": None if report.begun is None else self.words.of(made, report.begun),
            "drawn": None if report.drawn is None or drawn is None else self.words.of(drawn, report.drawn),
            "at": self.words.calendar.write(report.at),
            "note": report.note,
        }

    def standing(self, on: date, shares: Callable[[], Iterable[Share]], progress: Json | None = None) -> Json:
        """Whether unreported work of a date is late, and then the menu items and portions that it puts at risk (P7)."""
        late = self.late(on) and (progress is None or progress["state"] == "open")
        risks = portions_at_risk(shares(), self.most) if late else []
        return {
            "late": late,
            "at_risk": [{**_outlet(outlet), "portions": round_up(portions)} for outlet, portions in risks if portions > 0],
        }

    def traced(self, shares: Iterable[Share], item: Item) -> list[Json]:
        """Shares as rows that sum to the quantity; what is for nobody is one row of nulls (P11)."""
        empty: Json = {"menu_item": None, "date": None, "period": None, "event": None}
        return [
            {**(empty if share.outlet is None else _outlet(share.outlet)), "quantity": self.words.of(item, share.amount)}
            for share in merged(shares)
        ]


def _outlet(outlet: Outlet) -> Json:
    return {"menu_item": outlet.menu_item, "date": outlet.on.isoformat(), "period": outlet.period, "event": outlet.event}


def run_task(run: Run, stage: Stage, reader: Reader) -> Task:
    """The task of one stage of a run (P8, P9)."""
    words = reader.words
    site = words.site
    parts = [(batch.count, display(batch.quantity, words.kind(run.item), words.system)) for batch, _ in run.batches]
    output = run.main
    document: Json = {
        "id": task_id(run.id, stage.number),
        "kind": "make" if run.version else "prep",
        "item": words.item(run.item),
        "version": run.version.number if run.version else None,
        "stage": {"number": stage.number, "of": len(run.stages)},
        **_amounts(output, words, parts),
        "draw": _draw(run, stage, words),
        "gives": _gives(run, stage, reader),
        "start_by": words.calendar.write(stage.starts),
        "ready_by": words.calendar.write(stage.ready),
        "use_by": words.use_by(reader.keeping.earliest(run, stage, output.use_by)),
    }
    active = whole_minutes(sum((each.step.active for each in stage.steps), ZERO) if run.version else _hands_on(run, words))
    document["active"] = write_duration(active)
    progress = reader.progress(document["id"], run.item, only_draw(run, stage))
    document |= reader.standing(stage.on, lambda: reader.shares.of_run(run), progress)
    document["for"] = words.purposes(reader.shares.outlets_of_run(run), run.pars, max(stage.on, reader.first))
    if run.version:
        document["batches"] = batch_cards(run, words, stage)
        document["steps"] = [_step(each, words) for each in stage.steps]
    document["allergens"] = reader.rollup.of_run(run).document()
    document["progress"] = progress
    if reader.trace:
        document |= _traced(run, output, reader)
    guarded = any(each.step.safety is not None for each in stage.steps)
    told = tuple(reader.keeping.exceeded(run, stage, words))
    return Task(site.station(stage.station), document["late"], stage.starts, run.item, document, active, guarded, told)


def _amounts(output: Output, words: Words, parts: Sequence[tuple[int, Displayed]] = ()) -> Json:
    """Need = have + quantity − surplus (P9)."""
    item, kind = output.item, words.kind(output.item)
    return {
        "need": words.of(item, output.need),
        "have": words.of(item, output.have),
        "quantity": words.sum(output.quantity, kind, parts) if parts else words.of(item, output.quantity),
        "surplus": words.of(item, output.surplus),
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


def _draw(run: Run, stage: Stage, words: Words) -> list[Json]:
    """What a stage takes in all, each item once, as authored (P6); totals are the sums of the batches as displayed (D3)."""
    draws = draws_of(run, stage)
    return [{"item": words.item(item), "quantity": _drawn(run, item, found, words)} for item, found in draws.items()]


def _drawn(run: Run, item: Item, draws: Sequence[Draw], words: Words) -> Json:
    kind = words.kind(item)
    amount = sum(draw.amount for draw in draws)
    parts: list[tuple[int, Displayed]] = []
    for draw in draws:
        if draw.line is None or draw.line.shown_kind != kind:
            return words.quantity(amount, kind)
        for batch, factor in run.batches:
            shown = display(draw.line.shown_in_batch(factor), kind, words.system, critical=draw.line.line.critical)
            parts.append((batch.count, shown))
    return words.sum(amount, kind, parts)


def _gives(run: Run, stage: Stage, reader: Reader) -> list[Json]:
    """What every form of a cut and every by-product gets; by-products come with the last stage (P5, P8)."""
    words = reader.words
    rows: list[Json] = []
    if len(run.outputs) > 1:
        rows = [
            {"item": words.item(output.item), **_amounts(output, words), **(_traced(run, output, reader) if reader.trace else {})}
            for output in run.outputs
        ]
    if stage.number < len(run.stages):
        return rows
    given: dict[Item, float] = {}
    for item, amount in run.gives:
        given[item] = given.get(item, 0.0) + amount
    return rows + [{"item": words.item(item), "quantity": words.of(item, amount)} for item, amount in given.items()]


def _traced(run: Run, output: Output, reader: Reader) -> Json:
    """Why a run makes as much of one item: which runs take from it, and for whom (P11)."""
    words = reader.words
    fed: dict[Item, float] = {}
    for need, amount in run.fed:
        if need.drawn_by is not None and need.item == output.item:
            fed[need.drawn_by.item] = fed.get(need.drawn_by.item, 0.0) + amount
    return {
        "feeds": [{"item": words.item(consumer), "quantity": words.of(output.item, amount)} for consumer, amount in fed.items()],
        "shares": reader.traced(reader.shares.of_output(run, output.item), output.item),
    }


def batch_cards(run: Run, words: Words, stage: Stage | None = None) -> list[Json]:
    """What to weigh for each batch of a run, or of one of its stages; identical batches once."""
    kind = words.kind(run.item)
    lines = [draw.line for draw in run.draws if draw.line is not None and (stage is None or stage.holds(draw.line.line.step))]
    return [
        {
            "count": batch.count,
            "quantity": words.quantity(batch.quantity, kind),
            "factor": factor,
            "lines": [
                {
                    "item": words.item(each.line.item),
                    "quantity": words.quantity(each.shown_in_batch(factor), each.shown_kind, critical=each.line.critical),
                    "step": each.line.step,
                    "critical": each.line.critical,
                    "note": each.line.note,
                }
                for each in lines
            ],
        }
        for batch, factor in run.batches
    ]


def _step(timed: TimedStep, words: Words) -> Json:
    """A step with its clock times; a passive window as moments (T1)."""
    step, write = timed.step, words.calendar.write
    rests = timed.starts + step.active
    passive = step.passive
    window = None
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
        "safety": None if step.safety is None else effective(step.safety, words.system),
    }


def _hands_on(run: Run, words: Words) -> timedelta:
    """Hands-on time of making forms ready: set_up + time × EP ÷ per, over the forms that the run gives."""
    ingredient = words.catalogue.ingredients[run.item.code]
    spent = ZERO
    for output in run.outputs:
        form: Form | None = words.catalogue.form(output.item)
        if form is not None and form.active is not None:
            per = float(ingredient.conversions(form.code).to_stock(form.active.per))
            spent += form.active.set_up + form.active.time * (output.quantity / per)
    return spent

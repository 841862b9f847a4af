"""Loads: what goes through a task's steps together, as rows of the task, and what a list tells of its site's capacity.

Responsible for the documents of loads, cooks and capacity on a list, and for the warnings of what does not fit and of what is held
too long (domain K12, K14, K17). Refuses to place anything.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta

from service.kitchen.capacity.scheduled import Cook, Duty, Machine, PlacedStep, Scheduled, ScheduledLoad, ScheduledStage
from service.kitchen.lists.method import made
from service.kitchen.lists.naming import Naming
from service.kitchen.lists.parts import ComputedQuantity, CookRow, CookShift, LoadRow, LoadStepRow, MachineRow, Scheduling
from service.kitchen.lists.wording import Words, as_read
from service.kitchen.measures.calendar import ZERO, spoken, write_duration
from service.kitchen.planning.names import task_id
from service.kitchen.planning.runs import Run
from service.kitchen.planning.warned import Warned


def scheduling(run: Run, placed: ScheduledStage, loads: Sequence[ScheduledLoad], words: Words) -> Scheduling:
    """What a task tells of its schedule: whether all of its loads fit, the slack of the tightest, and each load."""
    numbers = {step.number for step in placed.steps}
    return {
        "fits": placed.fits,
        "slack": None if placed.slack is None else write_duration(placed.slack),
        "loads": [_load(run, load, numbers, words) for load in loads],
    }


def _load(run: Run, load: ScheduledLoad, numbers: set[int], words: Words) -> LoadRow:
    write = words.calendar.write
    return {
        "number": load.key.number,
        "of": load.of,
        "quantity": load_quantity(run, load, words),
        "starts": write(load.starts),
        "ready": write(load.ready),
        "due": None if load.due is None else write(load.due),
        "held": write_duration(load.held),
        "slack": None if load.slack is None else write_duration(load.slack),
        "fits": load.fits,
        "steps": [_step(step, words) for step in load.steps if step.number in numbers],
    }


def load_quantity(run: Run, load: ScheduledLoad, words: Words) -> ComputedQuantity:
    """How much of its run's item a load is; one that is all of the run reads like it (D3)."""
    return as_read(words.of(run.item, load.quantity), made(run, words))


def _step(step: PlacedStep, words: Words) -> LoadStepRow:
    write = words.calendar.write
    return {
        "number": step.number,
        "starts": write(step.starts),
        "rests": write(step.rests),
        "ends": write(step.ends),
        "cook": None if step.cook is None else cook_row(step.cook),
        "equipment": None if step.machine is None else machine_row(step.machine),
    }


def cook_row(cook: Cook) -> CookRow:
    """A cook as a document: the shift, and which of its cooks."""
    return {"shift": cook.shift, "number": cook.number}


def machine_row(machine: Machine) -> MachineRow:
    """A machine as a document: the equipment, and which of its machines; None of shared ones."""
    return {"equipment": machine.equipment, "number": machine.number}


def hands_on(placed: ScheduledStage, loads: Iterable[ScheduledLoad]) -> timedelta:
    """Hands-on time of a stage over all of its loads (K5)."""
    numbers = {step.number for step in placed.steps}
    steps = (step for load in loads for step in load.steps if step.number in numbers)
    return sum((step.rests - step.starts for step in steps), ZERO)


def cooks_at(station: str, on: date, scheduled: Scheduled, words: Words) -> list[CookShift]:
    """The cooks who are at a station on a business date, and how long their hands are busy, at whatever station."""
    return [cook_shift(duty, words) for duty in scheduled.duties if duty.on == on and station in duty.stations]


def cook_shift(duty: Duty, words: Words) -> CookShift:
    """A cook's shift as a document."""
    write = words.calendar.write
    return {
        **cook_row(duty.cook),
        "from": write(duty.starts),
        "until": write(duty.ends),
        "active": write_duration(duty.active),
    }


def loads_on(scheduled: Scheduled, on: date, first: date) -> list[ScheduledLoad]:
    """The loads that begin on a date's list, in order of start; what should have begun before the plan stands on its first (P7)."""
    return [load for load in scheduled.loads if max(load.on, first) == on]


def capacity_warnings(on: date, loads: Sequence[ScheduledLoad], naming: Naming) -> Iterator[Warned]:
    """What finds no place on a date, and what stands ready longer than it may be held (K12, K14)."""
    left_out = [load for load in loads if not load.fits]
    if left_out:
        names = ", ".join(naming.title(load.key) for load in left_out)
        what = "1 load finds" if len(left_out) == 1 else f"{len(left_out)} loads find"
        yield Warned(on, "does_not_fit", f"{what} no place: {names}; the schedule says what would help", number=len(left_out))
    held: dict[str, list[ScheduledLoad]] = {}
    for load in loads:
        hold = hold_of(naming.runs[load.key.run])
        if hold is not None and load.fits and load.held > hold:
            held.setdefault(load.key.run, []).append(load)
    for id_, too_long in held.items():
        yield _held_too_long(on, naming.runs[id_], too_long, naming.words)


def hold_of(run: Run) -> timedelta | None:
    """How long the result of a run may be held; None where its recipe does not say."""
    return None if run.version is None else run.version.hold


def _held_too_long(on: date, run: Run, loads: Sequence[ScheduledLoad], words: Words) -> Warned:
    each = "; ".join(
        f"load {load.key.number} of {load.of} is ready at {words.moment(load.ready)} and first used {said(load.held)} later"
        for load in loads
    )
    detail = f"{words.title(run.item)} may be held {said(hold_of(run) or ZERO)}: {each}"
    return Warned(on, "held_too_long", detail, task=task_id(run.id, run.stages[-1].number), item=run.item)


def said(span: timedelta) -> str:
    """A stretch of time as a cook says it."""
    return spoken(write_duration(span))

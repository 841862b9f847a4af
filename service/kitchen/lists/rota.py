"""Rota: what each cook and each machine of a site has to do on a date, and whether a date's loads fit.

Responsible for that part of lists and schedules (domain K7, K10, K15). Refuses to place anything, and to draw it.
"""

from collections.abc import Sequence
from datetime import date

from service.kitchen.capacity.scheduled import Duty, MachineRow, MachineWork, Scheduled, ScheduledLoad
from service.kitchen.lists.loads import cook_shift, load_quantity
from service.kitchen.lists.naming import Naming
from service.kitchen.lists.parts import CapacityRow, CookDay, CookWork, MachineDay, MachineStay, StayMoments
from service.kitchen.measures.calendar import write_duration


def capacity_of(scheduled: Scheduled, on: date, loads: Sequence[ScheduledLoad], naming: Naming) -> CapacityRow:
    """Whether a date's loads fit, how many are left out, its reserve: the smallest slack (K15); and all cooks and machines."""
    left_out = sum(not load.fits for load in loads)
    reserve = min((load.slack for load in loads if load.slack is not None), default=None)
    return {
        "fits": left_out == 0,
        "reserve": None if reserve is None else write_duration(reserve),
        "left_out": left_out,
        "cooks": [_cook(duty, naming) for duty in scheduled.duties if duty.on == on],
        "equipment": [_machine(row, on, naming) for row in scheduled.machines],
    }


def _cook(duty: Duty, naming: Naming) -> CookDay:
    write = naming.words.calendar.write
    work: list[CookWork] = [
        {
            "task": naming.task(piece.load, piece.step),
            "load": piece.load.number,
            "step": piece.step,
            "title": naming.item(piece.load),
            "starts": write(piece.starts),
            "ends": write(piece.ends),
        }
        for piece in duty.work
    ]
    return {**cook_shift(duty, naming.words), "stations": list(duty.stations), "work": work}


def _machine(row: MachineRow, on: date, naming: Naming) -> MachineDay:
    """A machine with what is in it, or waits for its turn-round, on a date."""
    starts, ends = naming.words.calendar.start(on), naming.words.calendar.end(on)
    return {
        "equipment": row.machine.equipment,
        "name": naming.words.catalogue.equipment_name(row.machine.equipment),
        "number": row.machine.number,
        "shared": row.shared,
        "count": row.count,
        "work": [_stay(each, naming, shared=row.shared) for each in row.work if each.starts < ends and each.free_again > starts],
    }


def _stay(stay: MachineWork, naming: Naming, *, shared: bool) -> MachineStay:
    write = naming.words.calendar.write
    moments: StayMoments = {"starts": write(stay.starts), "ends": write(stay.ends), "free_again": write(stay.free_again)}
    if stay.load is None:
        return {"task": None, "load": None, "title": "out of order", "quantity": None, "share": None, **moments}
    return {
        "task": naming.task(stay.load, stay.step),
        "load": stay.load.number,
        "title": naming.item(stay.load),
        "quantity": load_quantity(naming.runs[stay.load.run], naming.scheduled.load(stay.load), naming.words),
        "share": round(stay.share, 3) if shared else None,
        **moments,
    }

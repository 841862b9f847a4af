"""Worked examples of capacity, worked out by hand on paper first: ``worked.json``, and how it is read.

Moments are minutes of the business date, 04:00 its start; a case's ``expect`` tells starts, ready, hands and machines of each
load. Whoever builds a problem by hand for a test begins here too.
"""

import json
from pathlib import Path
from typing import Any

from service.kitchen.schedule.problem import WHOLE, Equipment, Keeps, Load, LoadStep, Problem, Rest, Serves, Shift

CASES: list[dict[str, Any]] = json.loads((Path(__file__).parent / "worked.json").read_text(encoding="utf-8"))


def problem_of(case: dict[str, Any]) -> Problem:
    """The problem of a case in the shape of ``worked.json``."""
    return Problem(
        release=case["release"],
        day_starts=tuple(case["day_starts"]),
        equipment=tuple(Equipment(**kind) for kind in case["equipment"]),
        shifts=tuple(shift_of(shift) for shift in case["shifts"]),
        loads=tuple(load_of(load) for load in case["loads"]),
    )


def shift_of(shift: dict[str, Any]) -> Shift:
    hours = tuple((begins, ends) for begins, ends in shift["hours"])
    return Shift(name=shift["name"], stations=tuple(shift["stations"]), cooks=shift["cooks"], hours=hours)


def load_of(load: dict[str, Any]) -> Load:
    return Load(
        id=load["id"],
        run=load["run"],
        service=load["service"],
        order=tuple(load["order"]),
        due=load["due"],
        not_ready_before=load["not_ready_before"],
        steps=tuple(step_of(step) for step in load["steps"]),
        serves=tuple(Serves(serves["load"], serves["step"], Keeps(*serves["keeps"])) for serves in load["serves"]),
    )


def step_of(step: dict[str, Any]) -> LoadStep:
    return LoadStep(
        active=step["active"],
        rest=Rest(*step["passive"]),
        station=step["station"],
        equipment=step["equipment"],
        share=round(step["share"] * WHOLE),
    )

"""The worked examples of capacity, number by number."""

from typing import Any

import pytest

from service.kitchen.schedule.answer import Placed
from service.kitchen.schedule.problem import Problem
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.worked import CASES, problem_of


def told(problem: Problem, placed: Placed) -> dict[str, Any]:
    """A placed load as ``worked.json`` tells it: a number only where there is more than one."""
    cooks = {shift.name: shift.cooks for shift in problem.shifts}
    counts = {kind.code: kind.count for kind in problem.equipment}
    hands = [(piece, piece.cook) for piece in placed.hands if piece.cook]
    return {
        "starts": list(placed.starts),
        "ready": placed.ready,
        "hands": [[piece.step, piece.starts, piece.ends, named(*cook, cooks[cook.shift])] for piece, cook in hands],
        "machines": [
            [stay.step, stay.starts, stay.ends, named(stay.equipment, stay.number, counts[stay.equipment])] for stay in placed.stays
        ],
    }


def named(name: str, number: int | None, count: int) -> str:
    return f"{name} {number}" if count > 1 else name


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_each_load_stands_where_it_was_worked_out_by_hand(case: dict[str, Any]) -> None:
    problem = problem_of(case)
    found = schedule(problem)
    assert {placed.load: told(problem, placed) for placed in found.placed} == case["expect"]["loads"]
    assert [conflict.load for conflict in found.left_out] == case["expect"]["left_out"]
    assert found.attempts == case["expect"]["attempts"]
    assert {placed.load: placed.slack for placed in found.placed} == case["slack"]
    assert {placed.load: placed.held for placed in found.placed} == case["held"]

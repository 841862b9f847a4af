"""What a problem refuses."""

import dataclasses

import pytest

from service.kitchen.schedule.problem import Draw, Keeps, Load, LoadStep, Problem, Rest, Serves, Shift
from tests.kitchen.schedule.worked import CASES, problem_of

STEP = LoadStep(active=10, station="veg")
ONE = Load(id="onion", service=0, order=("onion",), due=600, steps=(STEP,))


def asked(*loads: Load, shifts: tuple[Shift, ...] = ()) -> Problem:
    return Problem(release=0, day_starts=(240, 1680), equipment=(), shifts=shifts, loads=loads)


def test_draws_are_told_from_both_ends() -> None:
    problem = problem_of(next(case for case in CASES if case["name"].startswith("W6")))
    first, second = Draw("dough", "loaf 1", 0, Keeps("h", 120)), Draw("dough", "loaf 2", 0, Keeps("h", 120))
    assert problem.draws_on["dough"] == (first, second)
    assert problem.draws_of == {"dough": (), "loaf 1": (first,), "loaf 2": (second,)}


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"steps": ()}, "no step"),
        ({"due": None}, "due for nothing"),
        ({"serves": (Serves("soup", 0),)}, "a step that there is not"),
        ({"serves": (Serves("onion", 1),)}, "a step that there is not"),
        ({"planned": (1, 2)}, "as many starts as steps"),
        ({"begun": ()}, "as many starts as steps"),
        ({"steps": (LoadStep(active=-1, station="veg"),)}, "below nil"),
        ({"steps": (LoadStep(active=1, rest=Rest(5, 4, 9), station="veg"),)}, "below nil"),
    ],
)
def test_a_load_that_contradicts_itself_is_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        asked(dataclasses.replace(ONE, **changes))  # type: ignore[arg-type]  # Any field may be the wrong one.


def test_two_loads_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="two loads"):
        asked(ONE, ONE)


def test_hours_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="not in order"):
        asked(ONE, shifts=(Shift("Early", ("veg",), 1, ((600, 300),)),))

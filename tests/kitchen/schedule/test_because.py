"""What keeps a load from being a minute later (K16)."""

from service.kitchen.schedule.answer import Because
from service.kitchen.schedule.problem import Equipment, Keeps, Problem, Serves
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.kitchens import hands, load, problem, resting, shift
from tests.kitchen.schedule.worked import CASES, problem_of


def reasons(asked: Problem) -> dict[str, Because]:
    return {placed.load: placed.because for placed in schedule(asked).placed}


def example(name: str) -> dict[str, Because]:
    return reasons(problem_of(next(case for case in CASES if case["name"].startswith(name))))


def test_k16_pies_wait_for_the_oven_one_behind_the_other() -> None:
    assert example("W1 ") == {
        "pie 3": Because("due"),
        "pie 2": Because("equipment", "oven", ("pie 3",)),
        "pie 1": Because("equipment", "oven", ("pie 2",)),
    }


def test_potatoes_are_peeled_before_the_cook_has_the_last_pies() -> None:
    assert example("W3")["potatoes"] == Because("station", "hot-line", ("pie 3",))


def test_the_evening_before_has_its_reasons() -> None:
    """W7: carrot because of its due, celery because of the hours, onion because veg has celery."""
    assert example("W10") == {
        "soup": Because("due"),
        "carrot": Because("due", loads=("soup",)),
        "celery": Because("hours", "veg"),
        "onion": Because("station", "veg", ("celery",)),
    }


def test_rolls_wait_for_the_prover() -> None:
    assert example("W9 prover of 20 trays (1)")["roll"] == Because("equipment", "prover", ("croissant",))


def test_what_found_its_place_later_is_no_reason() -> None:
    """Peas take the cook right behind the pie's carving, but only after the pie was placed where the bread left it the oven."""
    asked = problem(
        load("bread", resting(60, "oven"), due=200),
        load("pie", resting(60, "oven"), hands(10), due=190),
        load("peas", hands(20), due=160),
        shifts=(shift("Early", 0, 300),),
        equipment=(Equipment("oven", 1, 10),),
    )
    assert schedule(asked).place["pie"].ready == schedule(asked).place["peas"].starts[0] == 140
    assert reasons(asked)["pie"] == Because("equipment", "oven", ("bread",))


def test_a_step_that_may_begin_no_later_is_a_reason() -> None:
    assert reasons(problem(load("soup", hands(10, not_after=40), due=100))) == {"soup": Because("step")}


def test_all_cooks_of_a_station_are_told_who_have_something_else() -> None:
    asked = problem(
        load("a", hands(30), due=100),
        load("b", hands(40), due=100),
        load("c", hands(10), due=100),
        shifts=(shift("Early", 0, 200, cooks=2),),
    )
    assert reasons(asked)["c"] == Because("station", "veg", ("b", "a"))


def test_of_several_machines_all_are_told() -> None:
    asked = problem(*(load(name, resting(60, "oven"), due=200) for name in "abc"), equipment=(Equipment("oven", 2, 10),))
    assert reasons(asked)["c"] == Because("equipment", "oven", ("a", "b"))


def test_the_earliest_draw_is_the_reason_of_a_supply() -> None:
    asked = problem(
        load("stew", hands(10), due=100),
        load("pie", hands(10), due=90),
        load("onion", hands(10), serves=(Serves("stew", 0, Keeps("d", 1)), Serves("pie", 0, Keeps("d", 1)))),
    )
    assert reasons(asked)["onion"] == Because("due", loads=("pie",))

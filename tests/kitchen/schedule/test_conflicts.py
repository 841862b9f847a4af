"""What is told of loads that do not fit, and what would help (K12, K13)."""

from dataclasses import replace

import pytest

from service.kitchen.schedule.answer import Conflict, Help, Lack, Schedule
from service.kitchen.schedule.helps import helps
from service.kitchen.schedule.problem import Equipment, Keeps, Problem, Serves
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.kitchens import DAY, hands, load, problem, resting, shift
from tests.kitchen.schedule.worked import CASES, problem_of

OVEN = Equipment("oven", 1, 10)


def w6() -> Problem:
    return problem_of(next(case for case in CASES if case["name"].startswith("W7")))


def only(answer: Schedule) -> Conflict:
    (conflict,) = answer.left_out
    return conflict


def test_k12_the_kitchen_opens_at_half_past_eight() -> None:
    """W6 of the worked examples: load 1 would have to go in at 08:05; without the oven's limit it would at 10:45."""
    assert only(schedule(w6())) == Conflict(
        load="pie 1",
        starts=(645, 715),
        lacks=(Lack("equipment", "oven"),),
        begins=645,
        due=735,
        short=80,
        taken_by=("pie 3",),
        under=None,
        works_for=("pie 1",),
    )


def test_k13_what_helps_the_kitchen_that_opens_at_half_past_eight() -> None:
    assert helps(w6(), schedule(w6())) == (
        Help("begins_earlier", "Day", 30, 0),
        Help("needed_later", None, 30, 0),
        Help("one_more_machine", "oven", None, 0),
    )


def test_what_keeps_two_hours_finds_no_place_in_a_row_of_three() -> None:
    """W1 with pies that keep PT2H: load 1 may not be ready before 10:15."""
    whole = problem_of(CASES[0])
    asked = replace(whole, loads=tuple(replace(pie, not_ready_before=735 - 120) for pie in whole.loads))
    conflict = only(schedule(asked))
    assert (conflict.load, conflict.lacks, conflict.taken_by) == ("pie 1", (Lack("equipment", "oven"),), ("pie 3",))


def test_of_many_loads_fewer_changes_are_tried_and_the_others_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    answer = schedule(w6())
    loads = len(w6().loads)
    told = [help_.code for help_ in helps(w6(), answer)]
    for tries, count in ((0, 0), (1, 0), (2, 1), (1000, 3)):
        monkeypatch.setattr("service.kitchen.schedule.helps.TRIED", tries * loads**2)
        assert [help_.code for help_ in helps(w6(), answer)] == told[:count]


def test_nothing_helps_what_fits() -> None:
    fits = problem_of(CASES[0])
    assert helps(fits, schedule(fits)) == ()


def test_a_load_may_lack_the_cooks_of_a_station() -> None:
    asked = problem(load("mash", hands(60), due=100), load("soup", hands(60), due=100), shifts=(shift("Early", 0, 200, stations=("veg",)),))
    conflict = only(schedule(asked))
    assert (conflict.load, conflict.lacks, conflict.begins, conflict.taken_by) == ("soup", (Lack("station", "veg"),), 40, ("mash",))
    assert conflict.short == 60
    codes = [(help_.code, help_.minutes, help_.left_out) for help_ in helps(asked, schedule(asked))]
    assert codes == [("begins_earlier", 30, 0), ("needed_later", 30, 0), ("one_more_cook", None, 0)]


def test_without_a_single_limit_that_is_in_the_way_it_lacks_all_that_it_needs() -> None:
    bake = hands(10, equipment="oven")
    asked = problem(
        load("a", bake, hands(80), due=100),
        load("b", resting(95, "oven"), hands(0), due=100, not_ready_before=90),
        load("c", bake, due=90, not_ready_before=85),
        shifts=(shift("Early", 0, 100),),
        equipment=(OVEN,),
    )
    lacks = {conflict.load: conflict.lacks for conflict in schedule(asked).left_out}
    assert lacks
    assert all(lack in (Lack("equipment", "oven"), Lack("station", "veg")) for each in lacks.values() for lack in each)


@pytest.mark.parametrize(("due", "short"), [(30, 90), (119, 5), (120, None)])
def test_a_load_that_no_hours_allow_lacks_the_hours_of_its_station(due: int, short: int | None) -> None:
    asked = problem(load("soup", hands(20), due=due), shifts=(shift("Early", 100, 200),))
    if short is None:
        assert schedule(asked).left_out == ()
        return
    conflict = only(schedule(asked))
    assert (conflict.starts, conflict.lacks, conflict.begins, conflict.short) == (None, (Lack("hours", "veg"),), None, short)


def test_a_load_that_no_hours_allow_is_not_tried_again() -> None:
    asked = problem(load("soup", hands(20), due=30), shifts=(shift("Early", 100, 200),))
    assert schedule(asked).attempts == 1


def test_what_is_short_by_more_than_twelve_hours_is_told_without_a_figure() -> None:
    asked = problem(load("soup", hands(20), due=30), shifts=(shift("Early", 30 + 12 * 60, DAY),))
    assert only(schedule(asked)).short is None


def test_a_load_stands_where_it_is_planned_if_no_hours_allow_any_place() -> None:
    asked = problem(load("soup", hands(20), due=30, planned=(10,)), shifts=(shift("Early", 100, 200),))
    assert only(schedule(asked)).starts == (10,)


def test_what_supplies_a_left_out_load_and_is_left_out_is_told_under_it() -> None:
    asked = problem(
        load("stew", hands(20), due=30, planned=(10,)),
        load("onion", hands(20), serves=(Serves("stew", 0, Keeps("h", 60)),)),
        shifts=(shift("Early", 100, 200),),
    )
    told = {conflict.load: (conflict.under, conflict.works_for) for conflict in schedule(asked).left_out}
    assert told == {"stew": (None, ("stew",)), "onion": ("stew", ("onion", "stew"))}


def test_an_oven_out_of_order_is_lacked() -> None:
    asked = problem(load("pie", resting(60, "oven"), due=600), equipment=(Equipment("oven", 0, 10),))
    answer = schedule(asked)
    assert only(answer).lacks == (Lack("equipment", "oven"),)
    assert helps(asked, answer) == (Help("one_more_machine", "oven", None, 0),)


def test_a_help_that_leaves_out_as_many_is_not_told() -> None:
    asked = problem(load("soup", hands(20), due=30), shifts=(shift("Early", 300, 400), shift("Other", 0, 100, stations=("line",))))
    assert helps(asked, schedule(asked)) == ()


def test_a_shift_begins_no_earlier_than_it_ended_before() -> None:
    asked = problem(
        load("mash", hands(90), due=200), load("soup", hands(90), due=200), shifts=(shift("Round", 0, DAY - 10, days=range(2)),), release=0
    )
    assert schedule(asked).left_out == ()
    late = problem(load("soup", hands(60), due=DAY + 20), shifts=(shift("Round", 0, DAY - 10, days=range(2)),), release=DAY - 30)
    assert [(help_.code, help_.minutes) for help_ in helps(late, schedule(late))] == [("needed_later", 60)]


def test_all_loads_of_a_run_are_needed_later_together() -> None:
    """W1 with pies ready within 2 h: needing them later helps nothing, since no load may be ready so much earlier than another."""
    whole = w6()
    asked = replace(whole, loads=tuple(replace(pie, not_ready_before=735 - 120) for pie in whole.loads))
    assert [help_.code for help_ in helps(asked, schedule(asked))] == ["one_more_machine"]

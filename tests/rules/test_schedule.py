"""The worked examples of K: the places of loads, and what is told of them."""

from dataclasses import replace

from service.kitchen.schedule.answer import Because, Help, Lack, Schedule
from service.kitchen.schedule.helps import helps
from service.kitchen.schedule.problem import Problem
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.kitchens import hands, load, problem, shift
from tests.kitchen.schedule.worked import CASES, problem_of
from tests.rules.page import untold


def clock(minute: int) -> str:
    """A minute of a business date as a clock time."""
    return f"{minute // 60 % 24:02}:{minute % 60:02}"


def worked(name: str) -> Problem:
    return problem_of(next(case for case in CASES if case["name"].startswith(name)))


def starts(answer: Schedule) -> dict[str, str]:
    """By load the clock time at which its first step begins."""
    return {placed.load: clock(placed.starts[0]) for placed in answer.placed}


def test_k9_peeling_stands_before_the_last_pies() -> None:
    answer = schedule(worked("W3"))
    assert [starts(answer)[f"pie {number}"] for number in (1, 2, 3)] == ["08:05", "09:25", "10:45"]
    assert untold("K9", "go in at 08:05, 09:25 and 10:45") == []
    assert [clock(piece.starts) for piece in answer.place["mash"].hands] == ["11:02", "11:52", "12:12"]
    assert untold("K9", "hands at 11:02, 11:52 and 12:12") == []
    peeling = answer.place["potatoes"]
    assert (clock(peeling.starts[0]), clock(peeling.ready)) == ("09:45", "10:45")
    assert untold("K9", "Peeling is from 09:45 to 10:45") == []


def test_k10_the_cook_of_fewest_stations_works_unless_one_has_begun() -> None:
    both = shift("First", 0, 400, stations=("veg", "line"))
    asked = problem(
        load("soup", hands(10, "line"), hands(10, "veg"), due=100), load("peas", hands(10), due=50), shifts=(both, shift("Second", 0, 400))
    )
    told = {placed.load: [piece.cook.shift for piece in placed.hands if piece.cook] for placed in schedule(asked).placed}
    assert told == {"soup": ["First", "First"], "peas": ["Second"]}
    assert untold("K10", "Peas at veg are for the second", "at veg is for the first throughout") == []


def test_k11_what_was_left_out_is_placed_first() -> None:
    asked = problem(
        load("mash", hands(60), due=600), load("soup", hands(60), due=600, not_ready_before=590), shifts=(shift("Early", 360, 600),)
    )
    answer = schedule(asked)
    assert (starts(answer), answer.attempts) == ({"mash": "08:00", "soup": "09:00"}, 2)
    assert untold("K11", "In the second attempt it is from 09:00, and mash from 08:00") == []


def test_k12_pies_that_do_not_fit_lack_the_oven() -> None:
    (conflict,) = schedule(worked("W7")).left_out
    assert (conflict.load, conflict.lacks, conflict.taken_by) == ("pie 1", (Lack("equipment", "oven"),), ("pie 3",))
    assert untold("K12", "It lacks the oven, which pie 3 has") == []
    assert (clock(conflict.begins or 0), clock(conflict.due or 0), conflict.short) == ("10:45", "12:15", 80)
    assert untold("K12", "opens at 08:30", "between 10:45 and 12:15", "short by 80 minutes") == []


def test_k13_three_single_changes_would_help_the_pies() -> None:
    asked = worked("W7")
    told = helps(asked, schedule(asked))
    assert told == (
        Help("begins_earlier", "Day", 30, 0),
        Help("needed_later", None, 30, 0),
        Help("one_more_machine", "oven", None, 0),
    )
    assert untold("K13", "begins 30 minutes earlier", "needed 30 minutes later", "one more oven") == []


def test_k14_pies_are_held_until_they_are_needed() -> None:
    answer = schedule(worked("W1 "))
    assert [answer.place[f"pie {number}"].held for number in (1, 2, 3)] == [160, 80, 0]
    assert untold("K14", "held for 160, 80 and 0 minutes") == []


def test_k15_all_pies_could_begin_earlier_by_as_much() -> None:
    asked = worked("W1 ")
    assert {placed.slack for placed in schedule(asked).placed} == {125}
    assert untold("K15", "opens at 06:00", "could begin 125 minutes earlier") == []
    keeping = replace(asked, loads=tuple(replace(pie, not_ready_before=735 - 240) for pie in asked.loads))
    assert {placed.slack for placed in schedule(keeping).placed} == {80}
    assert untold("K15", "If pies keep four hours, it is 80") == []


def test_k16_each_load_says_what_keeps_it() -> None:
    answer = schedule(worked("W10"))
    told = {id_: (clock(answer.place[id_].starts[0]), answer.place[id_].because) for id_ in ("carrot", "celery", "onion")}
    assert told == {
        "carrot": ("06:00", Because("due", loads=("soup",))),
        "celery": ("13:20", Because("hours", "veg")),
        "onion": ("12:30", Because("station", "veg", ("celery",))),
    }
    assert untold("K16", "Carrot is from 06:00, because the soup draws on it") == []
    assert untold("K16", "Celery is from 13:20 of the day before, because of the hours of veg") == []
    assert untold("K16", "Onion is from 12:30, because veg has celery") == []

"""What the sheet tells of a task's loads, and of who does it."""

from typing import Any, cast

import pytest

from service.api.sheets import words
from service.api.sheets.clock import Clock, date_of
from service.kitchen.lists.documents import TaskEntry

CLOCK = Clock(date_of("2026-12-03"))


def at(clock: str) -> str:
    return f"2026-12-03T{clock}:00-06:00"


def step(starts: str, ends: str, oven: int | None = None, cook: int | None = None) -> dict[str, Any]:
    return {
        "starts": at(starts),
        "ends": at(ends),
        "equipment": None if oven is None else {"equipment": "deck-oven", "number": oven},
        "cook": None if cook is None else {"shift": "Early", "number": cook},
    }


def load(*steps: dict[str, Any], of: int = 3, held: str = "PT0S", fits: bool = True) -> dict[str, Any]:
    moments = {"starts": steps[0]["starts"], "ready": steps[-1]["ends"]}
    return {"number": 1, "of": of, "quantity": {"display": "8 trays"}, "held": held, "fits": fits, "steps": list(steps), **moments}


def task(*loads: dict[str, Any]) -> TaskEntry:
    return cast(TaskEntry, {"kind": "make", "loads": list(loads)})


BAKE = step("08:05", "09:15", oven=1)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (load(BAKE, held="PT2H40M"), "08:05 in, 09:15 out, deck oven 1, 8 trays, held 2 h 40 min"),
        (load(step("08:00", "08:05"), BAKE), "start 08:00, 08:05 in, 09:15 out, deck oven 1, 8 trays"),
        (load(BAKE, step("09:15", "09:30")), "08:05 in, 09:15 out, deck oven 1, ready 09:30, 8 trays"),
        # Steps in a row in one machine are one stay.
        (load(BAKE, step("09:15", "09:40", oven=1)), "08:05 in, 09:40 out, deck oven 1, 8 trays"),
        (load(BAKE, step("09:15", "09:40", oven=2)), "08:05 in, 09:15 out, deck oven 1, 09:15 in, 09:40 out, deck oven 2, 8 trays"),
        # Of the only load the task itself tells start, end and quantity.
        (load(step("08:00", "08:05"), BAKE, step("09:15", "09:30"), of=1), "08:05 in, 09:15 out, deck oven 1"),
        (load(step("08:00", "08:05")), "08:00 to 08:05, 8 trays"),
        (load(step("08:00", "08:05"), fits=False), "NO PLACE, see the front page: 08:00 to 08:05, 8 trays"),
    ],
)
def test_a_load_tells_when_it_goes_where_and_how_long_it_is_held(row: Any, told: str) -> None:
    assert words.load(row, CLOCK) == told


def test_loads_are_told_where_a_task_has_several_or_one_in_a_machine_or_without_a_place() -> None:
    by_hand = step("08:00", "08:05")
    told = [task(load(by_hand, of=2), load(by_hand, of=2)), task(load(BAKE, of=1)), task(load(by_hand, of=1, fits=False))]
    assert [len(words.loads(each)) for each in told] == [2, 1, 1]
    assert words.loads(task(load(by_hand, of=1))) == []


def test_a_task_names_its_cooks_once_as_they_begin() -> None:
    late, early = load(step("10:00", "10:10", cook=1), step("10:10", "10:20", cook=2)), load(step("08:00", "08:05", cook=2))
    assert words.cooks(task(late, early)) == "Early 2, Early 1"
    assert words.cooks(task(load(BAKE))) == ""

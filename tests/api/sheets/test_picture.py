"""Where the rows and boxes of a day's picture lie, and what they tell."""

from typing import Any, cast

import pytest

from service.api.sheets.calendar import schedule_calendar
from service.api.sheets.clock import Clock, date_of
from service.api.sheets.picture import EDGE, NARROW, WIDE, Box, Picture, of_list, of_schedule
from service.kitchen.lists.documents import PrepList
from service.kitchen.lists.schedule_documents import Schedule

CLOCK = Clock(date_of("2026-12-03"))


def at(clock: str, day: int = 3) -> str:
    return f"2026-12-{day:02}T{clock}:00-06:00"


def piece(task: str, title: str, starts: str, ends: str, load: int = 1) -> dict[str, Any]:
    return {"task": task, "load": load, "step": 1, "title": title, "starts": at(starts), "ends": at(ends)}


def stay(task: str, title: str, starts: str, ends: str, free: str | None = None, load: int = 1) -> dict[str, Any]:
    quantity = {"amount": 8, "unit": "each", "display": "8 each"}
    moments = {"starts": at(starts), "ends": at(ends), "free_again": at(free or ends)}
    return {"task": task, "load": load, "title": title, "quantity": quantity, "share": None, **moments}


def cook(number: int, *work: dict[str, Any], station: str = "hot-line") -> dict[str, Any]:
    duty = {"shift": "Early", "number": number, "from": at("06:00"), "until": at("14:00"), "active": "PT1H"}
    return {**duty, "stations": [station], "work": list(work)}


def machine(*work: dict[str, Any], name: str = "Oven", number: int | None = 1, shared: bool = False) -> dict[str, Any]:
    return {"equipment": "oven", "name": name, "number": number, "shared": shared, "count": 1, "work": list(work)}


def load(number: int, of: int, *, fits: bool = True) -> dict[str, Any]:
    return {"number": number, "of": of, "fits": fits, "starts": at("09:00"), "ready": at("10:00")}


def listed(cooks: list[Any], machines: list[Any], *tasks: dict[str, Any]) -> PrepList:
    stations = [{"code": "hot-line", "name": "Hot line", "tasks": list(tasks)}]
    capacity = {"fits": True, "reserve": None, "left_out": 0, "cooks": cooks, "equipment": machines}
    return cast(PrepList, {"date": "2026-12-03", "stations": stations, "capacity": capacity})


def task(id_: str, title: str, *loads: dict[str, Any]) -> dict[str, Any]:
    return {"id": id_, "kind": "make", "item": {"recipe": id_, "title": title}, "loads": list(loads)}


PIE = task("pie", "Fish pie", load(1, 2), load(2, 2))


def drawn(cooks: list[Any], machines: list[Any], *tasks: dict[str, Any], station: str | None = None) -> Picture:
    numbers = {each["id"]: number for number, each in enumerate(tasks, start=1)}
    found = of_list(listed(cooks, machines, *tasks), CLOCK, numbers, station)
    assert found is not None
    return found


def boxes(picture: Picture) -> list[list[Box]]:
    return [row.boxes for row in picture.rows]


def test_a_list_without_a_capacity_has_no_picture() -> None:
    assert of_list(cast(PrepList, {"date": "2026-12-03", "stations": []}), CLOCK, {}) is None


def test_hours_run_from_the_first_opening_to_the_last_closing() -> None:
    found = drawn([cook(1)], [], PIE)
    assert [hour for _, hour in found.hours] == ["06", "07", "08", "09", "10", "11", "12", "13", "14"]
    first, last = found.hours[0][0], found.hours[-1][0]
    assert last == WIDE - EDGE
    (row,) = found.rows
    assert (row.name, row.bands) == ("Early 1", [(first, round(last - first, 1))])
    assert found.told == "What 1 cooks and 0 machines do, hour by hour from 06:00 to 14:00"


def test_names_have_as_much_room_as_the_longest_of_them() -> None:
    short, long = (drawn([cook(1)], [machine(name=name)], PIE) for name in ("Oven", "A deck oven on the left"))
    assert short.hours[0][0] < long.hours[0][0] < WIDE / 5


def test_a_piece_lies_at_its_hours_and_bears_number_title_and_load_where_they_fit() -> None:
    found = drawn([cook(1, piece("pie", "Fish pie", "08:00", "10:00", 2), piece("pie", "Fish pie", "10:00", "10:02"))], [], PIE)
    ((first, second),) = boxes(found)
    hour = (found.hours[-1][0] - found.hours[0][0]) / 8
    assert first.x == pytest.approx(found.hours[0][0] + 2 * hour, abs=0.1)
    assert first.width == pytest.approx(2 * hour, abs=0.1)
    assert (first.look, first.label) == ("hands", "1 Fish pie 2/2")
    assert first.told == "1 Fish pie 2/2, 08:00 to 10:00, step 1"
    # The second is too narrow: its number stands after it.
    assert (second.label, second.label_x > second.x + second.width, second.side) == ("1", True, False)


@pytest.mark.parametrize(
    ("ends", "label", "side"),
    [
        ("08:45", "1 Fish pie 2/2", False),
        ("08:35", "1 Fish p… 2/2", False),
        ("08:20", "1 2/2", False),
        ("08:10", "1", False),
        ("08:04", "1", True),
        ("08:03", "", False),
    ],
)
def test_a_box_bears_as_much_as_it_holds(ends: str, label: str, *, side: bool) -> None:
    found = drawn([cook(1, piece("pie", "Fish pie", "08:00", ends, 2), piece("pie", "Fish pie", ends, "10:00", 2))], [], PIE)
    box = boxes(found)[0][0]
    assert (box.label, box.side) == (label, side)


def test_what_is_on_another_list_has_its_title_and_no_number() -> None:
    found = drawn([cook(1, piece("bun", "Bun", "08:00", "09:00"), piece("bun", "Bun", "10:00", "10:02"))], [], PIE)
    assert [box.label for box in boxes(found)[0]] == ["Bun", ""]


def test_work_outside_of_the_hours_is_not_drawn() -> None:
    work = [stay("pie", "Fish pie", "05:00", "06:30"), stay("bun", "Bun", "15:00", "16:00")]
    found = drawn([cook(1)], [machine(*work)], PIE)
    (box,) = boxes(found)[1]
    assert (box.x, box.told.split(",")[0]) == (found.hours[0][0], "1 Fish pie 1/2")


def test_a_machine_has_its_turn_round_after_its_box() -> None:
    found = drawn([cook(1)], [machine(stay("pie", "Fish pie", "08:00", "09:00", "09:30"))], PIE)
    (box,) = boxes(found)[1]
    assert box.look == "stay"
    assert box.after == pytest.approx(box.width / 2, abs=0.1)
    assert box.told == "1 Fish pie 1/2, 08:00 to 09:00, 8 each, free again 09:30"


def test_what_stands_side_by_side_has_as_many_rows() -> None:
    work = [stay("pie", "Fish pie", "08:00", "09:00"), stay("roll", "Roll", "08:30", "09:30"), stay("bun", "Bun", "09:00", "10:00")]
    found = drawn([cook(1)], [machine(*work, name="Prover", number=None, shared=True)], PIE)
    assert [row.name for row in found.rows] == ["Early 1", "Prover", "Prover"]
    assert [[box.told.split(",")[0] for box in row] for row in boxes(found)[1:]] == [["1 Fish pie 1/2", "Bun"], ["Roll"]]
    assert {box.look for row in boxes(found)[1:] for box in row} == {"shared"}


def test_what_finds_no_place_stands_in_the_last_row() -> None:
    found = drawn([cook(1)], [machine()], task("pie", "Fish pie", load(1, 2, fits=False), load(2, 2)))
    assert [row.name for row in found.rows] == ["Early 1", "Oven 1", "no place"]
    (box,) = boxes(found)[-1]
    assert (box.look, box.label) == ("left-out", "1 Fish pie 1/2")
    assert box.told.endswith("no place found")


def test_what_finds_no_place_and_would_rest_over_night_makes_the_picture_no_wider() -> None:
    rests = load(1, 1, fits=False) | {"starts": at("12:00"), "ready": at("06:00", 4)}
    found = drawn([cook(1)], [], task("dough", "Dough", rests))
    assert [hour for _, hour in found.hours][-1] == "14"
    assert boxes(found)[-1][0].width > 0


def test_a_station_sees_the_cooks_and_machines_that_work_for_it() -> None:
    machines = [machine(stay("pie", "Fish pie", "08:00", "09:00")), machine(stay("bun", "Bun", "08:00", "09:00"), number=2)]
    cooks = [cook(1, piece("bun", "Bun", "06:00", "07:00"), piece("pie", "Fish pie", "08:00", "09:00")), cook(2), cook(3, station="bakery")]
    found = drawn(cooks, machines, PIE, station="hot-line")
    assert [row.name for row in found.rows] == ["Early 1", "Oven 1"]
    assert found.width == NARROW
    # What a cook does for others keeps him, and is not the station's own.
    assert [box.look for box in boxes(found)[0]] == ["elsewhere", "hands"]


def schedule() -> Schedule:
    loads = [
        {"task": "pie", "number": number, "of": 2, "title": "Fish pie", "fits": number == 1, "starts": at("08:00"), "ready": at("09:00")}
        for number in (1, 2)
    ]
    work = {
        "cooks": [cook(1, piece("pie", "Fish pie", "08:00", "08:10"))],
        "equipment": [machine(stay("pie", "Fish pie", "08:00", "09:00"))],
    }
    return cast(Schedule, {"site": "mill-street", "date": "2026-12-03", "from": "2026-12-02", "loads": loads, **work})


def test_a_schedule_has_the_same_picture() -> None:
    found = of_schedule(schedule(), CLOCK, {"pie": 1})
    assert found is not None
    assert [row.name for row in found.rows] == ["Early 1", "Oven 1", "no place"]


def test_a_calendar_has_an_entry_for_each_piece_of_work_with_who_or_what_does_it() -> None:
    """RFC 5545: 3.6.1 (VEVENT), 3.8.1.10 (RESOURCES)."""
    lines = schedule_calendar(schedule(), "Mill Street, the café").decode().split("\r\n")
    assert lines[:3] == ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//kitchen prep//schedule//EN"]
    assert [line for line in lines if line.startswith("RESOURCES")] == ["RESOURCES:Early 1", "RESOURCES:Oven 1"]
    assert [line for line in lines if line.startswith("DTSTART")] == ["DTSTART:20261203T140000Z"] * 2
    assert [line for line in lines if line.startswith("DTEND")] == ["DTEND:20261203T141000Z", "DTEND:20261203T150000Z"]
    assert lines.count("SUMMARY:Fish pie 1 of 2") == 2
    assert "LOCATION:Mill Street\\, the café" in lines
    assert len({line for line in lines if line.startswith("UID")}) == 2

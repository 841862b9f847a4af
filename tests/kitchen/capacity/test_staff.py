"""The cooks and machines of a site, date by date (K1, K2, K7)."""

from datetime import date
from typing import Any

from service.kitchen.book.capacity import read_capacity
from service.kitchen.capacity.scheduled import Lack, Scheduled
from service.kitchen.capacity.staff import dates_between, turns_of
from service.kitchen.planning.plan import Plan
from tests.kitchen.capacity.doable import clock, loads_of, scheduled, staffed, starts
from tests.kitchen.larder import MON, TUE, WED, Document, kitchen, machines, recipe, shift, step
from tests.kitchen.plans import only_run, plan_needs, wanted

EARLY = shift("hot-line", "06:00", "14:00", cooks=2, name="Early")


def different(shifts: list[Document] | None = None, equipment: dict[str, int] | None = None) -> Any:
    counts = None if equipment is None else [{"equipment": code, "count": count} for code, count in equipment.items()]
    return read_capacity({"shifts": shifts, "equipment": counts, "note": ""})


def roast(on: date = TUE, *shifts: Document, capacities: dict[date, Any] | None = None, count: int = 2) -> tuple[Plan, Scheduled]:
    """Two loads of an hour in the oven, each put in by a cook in ten minutes, wanted at noon."""
    steps = [step("PT10M", "PT50M", equipment="oven")]
    made = recipe("roast", "1 each", steps=steps, batch={"multiple": "1 each", "largest": "1 each"}, keeps="P1D")
    catalogue = kitchen(made, staffed(*(shifts or [EARLY]), equipment=[machines("oven", count, "1 each", turn_round="PT10M")]))
    planned = plan_needs(catalogue, [wanted("recipe roast", 2, on, "12:00")])
    return planned, scheduled(planned, catalogue, capacities=capacities)


def test_with_a_cook_short_work_is_done_one_after_the_other() -> None:
    planned, found = roast()
    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe roast"))] == [["11:00"], ["11:00"]]
    short = shift("hot-line", "06:00", "14:00", name="Early")
    planned, found = roast(capacities={TUE: different([short])})
    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe roast"))] == [["10:50"], ["11:00"]]
    assert [(each.on, each.cook.shift, each.cook.number) for each in found.duties if each.on <= WED] == [
        (TUE, "Early", 1),
        (WED, "Early", 1),
        (WED, "Early", 2),
    ]


def test_on_a_closing_day_nothing_is_begun() -> None:
    """What keeps is made the day before."""
    planned, found = roast(WED, capacities={WED: different([])})
    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe roast"))] == [["13:00"], ["13:00"]]
    assert all(duty.on != WED for duty in found.duties)
    _, found = roast(TUE, capacities={TUE: different([])})
    assert [conflict.lacks for conflict in found.conflicts] == [(Lack("hours", "hot-line"),)] * 2


def test_a_station_that_no_shift_of_the_site_names_has_no_limit_whoever_works_there_on_a_date() -> None:
    place = staffed(EARLY)
    dated = different([shift("veg hot-line", "06:00", "07:00", name="Extra"), shift("veg", "06:00", "07:00", name="Veg")])
    turns = turns_of(place, {TUE: dated}, dates_between(TUE, TUE))
    assert [(turn.id, turn.stations) for turn in turns] == [("Early", ("hot-line",)), ("Extra", ("hot-line",))]


def test_shifts_of_one_name_are_told_apart_and_those_of_a_date_are_the_usual_ones_where_they_are_alike() -> None:
    weekend = shift("hot-line", "08:00", "12:00", weekdays=(6, 7), name="Early")
    later = different([shift("hot-line", "07:00", "15:00", cooks=2, name="Early")])
    turns = turns_of(staffed(EARLY, weekend), {TUE: later}, dates_between(MON, WED))
    assert [(turn.id, turn.name, turn.cooks, [on for on, *_ in turn.hours]) for turn in turns] == [
        ("Early", "Early", 2, [MON, TUE, WED]),
        ("Early (2)", "Early", 1, []),
    ]


def test_hours_that_reach_into_the_next_ones_are_those_of_another_shift() -> None:
    night = shift("hot-line", "20:00", "02:00", name="Night")
    long = different([shift("hot-line", "20:00", "21:00", name="Night"), shift("hot-line", "20:30", "22:00", name="Night")])
    turns = turns_of(staffed(night), {TUE: long}, dates_between(MON, TUE))
    assert [(turn.id, [on for on, *_ in turn.hours]) for turn in turns] == [("Night", [MON, TUE]), ("Night (2)", [TUE])]


def test_a_shift_lasts_over_midnight_and_is_of_the_business_date_that_it_began_on() -> None:
    turns = turns_of(staffed(shift("hot-line", "20:00", "02:00", name="Night")), {}, dates_between(TUE, TUE))
    planned, found = roast(TUE, shift("hot-line", "20:00", "12:00", cooks=2, name="Night"))
    assert [(clock(duty.starts), clock(duty.ends), duty.on, bool(duty.work)) for duty in found.duties][:2] == [
        ("20:00 -1", "12:00", MON, True),
        ("20:00 -1", "12:00", MON, True),
    ]
    assert len(turns[0].hours) == 1
    assert all(load.fits for load in loads_of(found, only_run(planned, "recipe roast")))


def test_an_oven_that_is_out_of_order_takes_nothing_on_its_date() -> None:
    planned, found = roast(capacities={TUE: different(equipment={"oven": 1})})
    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe roast"))] == [["09:50"], ["11:00"]]
    rows = {row.machine.number: [(clock(work.starts), clock(work.ends), work.load) for work in row.work] for row in found.machines}
    assert ("04:00", "04:00 +1", None) in rows[1]
    assert [load is not None for _, _, load in rows[2]] == [True, True]


def test_without_any_oven_it_is_the_oven_that_is_lacked_and_no_load_that_has_it() -> None:
    _, found = roast(capacities={TUE: different(equipment={"oven": 0})})
    assert [(conflict.lacks, conflict.taken_by) for conflict in found.conflicts] == [((Lack("equipment", "oven"),), ())] * 2
    assert [row.machine.number for row in found.machines] == [1, 2]


def test_what_is_out_of_order_yields_no_load_of_the_plan() -> None:
    planned, found = roast(capacities={TUE: different(equipment={"oven": 1})})
    assert list(found.runs) == [only_run(planned, "recipe roast").id]
    assert len(found.loads) == 2


def test_a_machine_more_than_usual_is_there_on_its_date_alone() -> None:
    planned, found = roast(capacities={TUE: different(equipment={"oven": 2})}, count=1)
    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe roast"))] == [["11:00"], ["11:00"]]
    planned, found = roast(WED, capacities={TUE: different(equipment={"oven": 2})}, count=1)
    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe roast"))] == [["09:50 +1"], ["11:00 +1"]]

"""The worked examples of K: loads, their hands-on time, steps and equipment, when they are due, and what reports leave of them."""

from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.capacity.loads import loads_of, prep_times
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.measures.calendar import write_duration
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from tests.kitchen.capacity.doable import asked, at_minute, clock, minutes, only_load, posed, scheduled, staffed, starts
from tests.kitchen.capacity.doable import loads_of as scheduled_loads
from tests.kitchen.larder import (
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    kitchen,
    line,
    machines,
    menu_item,
    only_site,
    recipe,
    shift,
    step,
)
from tests.kitchen.plans import forecast, only_run, plan_forecasts, plan_needs, wanted
from tests.kitchen.reports import fixed_run, plan_after, said
from tests.rules.page import number, untold

TRAY = {"multiple": "1 tray"}


def bread(active: str | Document | None, largest: str | None, load: str) -> tuple[Catalogue, Plan, Version]:
    """22 trays of bread, or 36 in batches of 12, in an oven with such a load."""
    batch = TRAY if largest is None else {**TRAY, "largest": largest}
    made = recipe("bread", "1 tray", equivalents=["1 tray = 1 each"], steps=[step(active, "PT1H", equipment="oven")], batch=batch)
    catalogue = kitchen(made, staffed(equipment=[machines("oven", 1, load)]))
    return catalogue, plan_needs(catalogue, [wanted("recipe bread", 36 if largest == "12 tray" else 22, TUE, "12:00")]), made


def cut(largest: str | None, load: str, active: str | Document | None = None) -> tuple[list[float], list[int]]:
    """The loads of the bread, and how many minutes each of them needs hands."""
    catalogue, planned, made = bread(active, largest, load)
    found = loads_of(only_run(planned, "recipe bread"), catalogue, only_site(catalogue))
    hands = [made.steps[0].hands_on(each.quantity, each.batches, made.conversions) // minutes(1) for each in found]
    return [each.quantity for each in found], hands


def test_k4_a_run_is_cut_into_full_loads_or_goes_in_whole_batches() -> None:
    assert cut(None, "8 tray")[0] == [8, 8, 6]
    assert cut("6 tray", "12 tray")[0] == [12, 10]
    assert cut("12 tray", "8 tray")[0] == [8, 8, 8, 8, 4]
    assert untold("K4", "loads of 8, 8 and 6", "batches of 6, 6, 5 and 5 are loads of 12 and 10", "loads of 8, 8, 8, 8 and 4") == []


def test_k5_hands_are_needed_for_batches_at_a_rate_or_for_two_hours_at_most() -> None:
    assert cut("12 tray", "8 tray", "PT15M") == ([8, 8, 8, 8, 4], [10, 10, 10, 10, 5])
    assert untold("K5", "Batches of 12, 12 and 12 trays in loads of 8, 8, 8, 8 and 4 take 10, 10, 10, 10 and 5 minutes") == []
    rate = {"set_up": "PT5M", "per": {"amount": 1, "unit": "tray"}, "time": "PT2M"}
    assert cut(None, "8 tray", rate) == ([8, 8, 6], [21, 21, 17])
    assert untold("K5", "At a rate of 5 minutes and 2 for each tray, loads of 8, 8 and 6 take 21, 21 and 17") == []
    catalogue, run = onion()
    found = loads_of(run, catalogue, only_site(catalogue))
    assert [number(each.quantity / 1000) for each in found] == ["11.75", "11.75"]
    assert [prep_times(run, catalogue, each)[0] for each in found] == [minutes(76)] * 2
    assert untold("K5", "two loads of 11.75 kg, of 76 minutes each") == []


def onion() -> tuple[Catalogue, Run]:
    """23.5 kg of diced onion."""
    diced = ingredient("onion", form("diced", active={"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"}))
    soup = recipe("soup", "1 kg", line("onion/diced", "1 kg", step=1), steps=[step(None, "PT1H")])
    catalogue = kitchen(diced, soup, staffed())
    return catalogue, only_run(plan_needs(catalogue, [wanted("recipe soup", 23_500, TUE, "12:00")]), "onion/diced")


def test_k6_a_rest_lasts_longer_where_nobody_is_there_at_its_target() -> None:
    prove = {"min": "PT1H", "target": "PT2H", "max": "PT3H"}
    loaf = recipe("loaf", "1 each", steps=[step("PT10M", prove), step(None, "PT1H")], keeps="P1D", station="bakery")
    catalogue = kitchen(loaf, staffed(shift("bakery", "22:00", "03:30")))
    planned = plan_needs(catalogue, [wanted("recipe loaf", 1, WED, "07:00")])
    load = only_load(scheduled(planned, catalogue), planned, "recipe loaf")
    assert [clock(each.starts, WED) for each in load.steps] == ["03:20", "06:00"]
    proved = write_duration(load.steps[0].ends - load.steps[0].rests)
    assert proved == "PT2H30M"
    assert untold("K6", "shaped at 03:20, prove for 2 h 30 min, and are baked at 06:00") == []


def test_k7_two_to_a_prover_where_there_is_room() -> None:
    def proving(rolls: float) -> list[str | None]:
        made = [
            recipe(code, "1 tray", equivalents=["1 tray = 1 each"], steps=[step(None, "PT1H", equipment="prover")], station="bakery")
            for code in ("croissant", "roll")
        ]
        place = staffed(shift("bakery", "04:00", "10:00"), equipment=[machines("prover", 1, "20 tray", shared=True)])
        catalogue = kitchen(*made, place)
        needs = [wanted("recipe croissant", 12, TUE, "07:00"), wanted("recipe roll", rolls, TUE, "07:00")]
        planned = plan_needs(catalogue, needs)
        found = scheduled(planned, catalogue)
        return [clock(only_load(found, planned, f"recipe {code}").starts) for code in ("croissant", "roll")]

    assert proving(10) == ["06:00", "05:00"]
    assert proving(8) == ["06:00", "06:00"]
    assert untold("K7", "croissants from 06:00 until 07:00, rolls from 05:00 until 06:00", "8 trays of rolls do") == []


def test_k8_a_dough_is_due_when_the_first_load_is_shaped_and_not_ready_too_early_for_the_second() -> None:
    place: Any = staffed(
        shift("bakery", "03:00", "11:00", cooks=2),
        equipment=[machines("oven", 1, "8 each", turn_round="PT10M"), machines("mixer", turn_round="PT5M")],
        day_starts="03:00",
    )
    dough = recipe("dough", "10 kg", steps=[step("PT20M", "PT1H15M", equipment="mixer")], keeps="PT2H", station="bakery")
    steps = [step("PT10M", "PT1H"), step(None, "PT1H10M", equipment="oven"), step(None, "PT2H")]
    loaf = recipe("loaf", "8 each", line("recipe dough", "5 kg", step=1), steps=steps, station="bakery", batch={"largest": "8 each"})
    catalogue = kitchen(dough, loaf, place)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 16, TUE, "11:00", where=place)])
    found = scheduled(planned, catalogue)
    first, second = scheduled_loads(found, only_run(planned, "recipe loaf"))
    assert (starts(second)[0], starts(first)[0], clock(first.ready)) == ("06:40", "05:20", "09:40")
    assert untold("K8", "The second is shaped at 06:40, the first at 05:20, and it stands ready from 09:40") == []
    mixed = only_load(found, planned, "recipe dough")
    assert (clock(mixed.due), clock(mixed.starts)) == ("05:20", "03:45")
    assert untold("K8", "due at 05:20", "must not be ready before 04:40", "It is mixed at 03:45") == []
    (posed_dough,) = posed(asked(planned, catalogue), "recipe dough")
    assert {(each.keeps and each.keeps.amount) for each in posed_dough.serves} == {120}
    assert clock(second.starts - minutes(120)) == "04:40"
    assert at_minute(posed_dough.due) is None


def test_k17_what_is_being_done_has_its_cook_and_what_is_done_has_nobody() -> None:
    cooked = recipe("stew", "1 kg", steps=[step("PT30M", station="veg"), step("PT10M", "PT50M")], keeps="P1D")
    catalogue = kitchen(cooked, menu_item("stew", ("stew", "1 kg")), staffed(shift("veg hot-line", "06:00", "14:00")))
    guests = [forecast(TUE, "stew", 10)]
    run = only_run(plan_forecasts(catalogue, guests), "recipe stew")

    def reported(when: str, state: str) -> Scheduled:
        fixed = fixed_run(catalogue, run, {1: said(at(TUE, when), state)})
        return scheduled(plan_after(catalogue, guests, fixed), catalogue)

    (load,) = scheduled_loads(reported("10:15", "doing"), run)
    assert [(clock(each.starts), clock(each.rests), each.cook is not None) for each in load.steps] == [
        ("10:15", "10:45", True),
        ("11:00", "11:10", True),
    ]
    assert untold("K17", "The cutting was begun at 10:15: it has its cook until 10:45, and cooking starts at 11:00") == []
    found = reported("10:40", "doing")
    (load,) = scheduled_loads(found, run)
    assert (clock(load.steps[0].ends), [each.short for each in found.conflicts]) == ("11:10", [minutes(10)])
    assert untold("K17", "Begun at 10:40 it ends at 11:10", "short by 10 minutes") == []
    found = reported("10:00", "done")
    assert [each.step for duty in found.duties for each in duty.work] == [2]
    assert untold("K17", "Reported as done at 10:00, it takes nobody any more") == []

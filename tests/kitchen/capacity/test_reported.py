"""What reports leave to be done, and what is under way (K17)."""

from service.kitchen.book.capacity import Capacity
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.capacity.scheduled import Cook, Machine, Scheduled
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import Report
from service.kitchen.planning.runs import Run
from tests.kitchen.capacity.doable import clock, loads_of, minutes, scheduled, staffed, starts
from tests.kitchen.larder import TUE, WED, at, kitchen, line, machines, menu_item, recipe, shift, step
from tests.kitchen.plans import forecast, only_run, plan_forecasts
from tests.kitchen.reports import fixed_run, plan_after, said

DAY = shift("veg hot-line", "06:00", "14:00", name="Day")
OVEN = machines("oven", 1, "8 each", turn_round="PT10M")


def stew() -> Catalogue:
    """A stew that is cut at one station, in half an hour, and cooked at another, in an hour."""
    cooked = recipe("stew", "1 kg", steps=[step("PT30M", station="veg"), step("PT10M", "PT50M")], keeps="P1D")
    return kitchen(cooked, menu_item("stew", ("stew", "1 kg")), staffed(DAY))


def after(
    catalogue: Catalogue, words: str, *reports: tuple[int, Report], count: int = 10, now: str | None = None
) -> tuple[Run, Plan, Scheduled]:
    """A run of which some stages were reported, and the schedule of the plan that takes it in."""
    guests = [forecast(TUE, sold, count) for sold in catalogue.menu_items if sold != "guests"]
    run = only_run(plan_forecasts(catalogue, guests), words)
    planned = plan_after(catalogue, guests, fixed_run(catalogue, run, dict(reports)))
    return run, planned, scheduled(planned, catalogue, at=now)


def test_a_stage_that_is_done_takes_nothing_more_and_the_next_is_still_to_be_placed() -> None:
    run, _, found = after(stew(), "recipe stew", (1, said(at(TUE, "10:00"))))
    (load,) = loads_of(found, run)
    assert (starts(load), [each.number for each in load.steps], clock(load.ready), load.fits) == (["11:00"], [2], "12:00", True)
    assert found.stage(run.id, 1) is None
    stage = found.stage(run.id, 2)
    assert stage is not None
    assert (clock(stage.starts), clock(stage.ready)) == ("11:00", "12:00")
    # It could be started as soon as the first stage was done.
    assert load.slack == minutes(60)


def test_what_follows_a_stage_that_was_done_late_has_no_place() -> None:
    run, _, found = after(stew(), "recipe stew", (1, said(at(TUE, "11:20"))))
    assert [load.fits for load in loads_of(found, run)] == [False]
    assert [conflict.short for conflict in found.conflicts] == [minutes(20)]


def test_a_run_of_which_all_is_done_is_not_scheduled() -> None:
    run, _, found = after(stew(), "recipe stew", (1, said(at(TUE, "10:00"))), (2, said(at(TUE, "11:30"))))
    assert run.id not in found.runs
    assert found.loads == ()


def test_what_is_being_done_has_its_cook_from_then_on_for_the_time_planned() -> None:
    run, _, found = after(stew(), "recipe stew", (1, said(at(TUE, "10:15"), "doing")))
    (load,) = loads_of(found, run)
    assert starts(load) == ["10:15", "11:00"]
    assert [clock(each.ends) for each in load.steps] == ["10:45", "12:00"]
    assert [each.cook for each in load.steps] == [Cook("Day", 1)] * 2
    assert load.slack == minutes(15)
    (duty,) = [each for each in found.duties if each.on == TUE]
    assert [(clock(each.starts), clock(each.ends), each.step) for each in duty.work] == [("10:15", "10:45", 1), ("11:00", "11:10", 2)]


def test_what_follows_on_work_under_way_does_not_begin_before_that_ends() -> None:
    run, _, found = after(stew(), "recipe stew", (1, said(at(TUE, "10:40"), "doing")))
    (load,) = loads_of(found, run)
    assert (load.fits, clock(load.steps[0].ends)) == (False, "11:10")
    assert [conflict.short for conflict in found.conflicts] == [minutes(10)]


def test_a_stage_that_was_skipped_is_due_when_the_plan_has_it_ready() -> None:
    run, planned, found = after(stew(), "recipe stew", (2, said(at(TUE, "11:00"))))
    (load,) = loads_of(found, run)
    assert (starts(load), clock(load.due), clock(load.ready)) == (["10:30"], "11:00", "11:00")
    assert list(found.runs[run.id].stages) == [1]
    assert len(planned.runs) == 0


def test_what_the_day_before_left_undone_is_due_by_the_end_of_the_first_date() -> None:
    """Onions of Tuesday, cut and not cooked, are still cooked on Wednesday morning for its guests (P7)."""
    relish = recipe("relish", "1 kg", steps=[step("PT30M", station="veg"), step("PT10M", "PT50M")], keeps="P3D", makes_for=2)
    catalogue = kitchen(relish, menu_item("relish", ("relish", "1 kg")), staffed(DAY))
    guests = [forecast(TUE, "relish", 10), forecast(WED, "relish", 10)]
    run = only_run(plan_forecasts(catalogue, guests, until=WED), "recipe relish")
    planned = plan_after(catalogue, guests[1:], fixed_run(catalogue, run, {1: said(at(TUE, "09:00"))}), first=WED, on=WED)
    (load,) = loads_of(scheduled(planned, catalogue), run)
    assert (load.fits, clock(load.starts), clock(load.due)) == (True, "11:00 +1", "12:00 +1")


def test_an_oven_that_fails_holds_up_what_is_in_it_no_more_than_the_other_one() -> None:
    """Of two ovens one is out of order: the load under way has one, and nothing else goes in while it is there."""
    pie = recipe("pie", "1 each", steps=[step(None, "PT1H", equipment="oven")], batch={"multiple": "1 each"})
    ovens = machines("oven", 2, "8 each")
    catalogue = kitchen(pie, menu_item("pie", ("pie", "1 each")), staffed(DAY, equipment=[ovens]))
    guests = [forecast(TUE, "pie", 16)]
    run = only_run(plan_forecasts(catalogue, guests), "recipe pie")
    planned = plan_after(catalogue, guests, fixed_run(catalogue, run, {1: said(at(TUE, "10:30"), "doing")}))
    found = scheduled(planned, catalogue, capacities={TUE: Capacity(counts={"oven": 1})})
    first, second = loads_of(found, run)
    assert (clock(first.starts), first.steps[0].machine, second.fits) == ("10:30", Machine("oven", 2), False)
    assert {row.machine.number: [work.load is None for work in row.work] for row in found.machines} == {1: [True], 2: [False]}


def test_what_would_be_over_by_now_counts_as_done() -> None:
    run, _, found = after(stew(), "recipe stew", (1, said(at(TUE, "09:00"), "doing")), now="2026-12-01 09:45")
    (load,) = loads_of(found, run)
    assert (starts(load), load.slack) == (["11:00"], minutes(75))


def test_of_what_is_being_done_the_first_load_is_under_way_and_the_others_follow() -> None:
    pie = recipe("pie", "1 each", steps=[step(None, "PT1H10M", equipment="oven"), step(None, "PT20M")], batch={"multiple": "1 each"})
    catalogue = kitchen(pie, menu_item("pie", ("pie", "1 each")), staffed(DAY, equipment=[OVEN]))
    run, _, found = after(catalogue, "recipe pie", (1, said(at(TUE, "07:50"), "doing")), count=22)
    rows = [(clock(load.starts), clock(load.ready), load.steps[0].machine) for load in loads_of(found, run)]
    oven = Machine("oven", 1)
    assert rows == [("07:50", "09:20", oven), ("09:10", "10:40", oven), ("10:30", "12:00", oven)]
    assert {load.because and load.because.code for load in loads_of(found, run)} == {"begun", "equipment", "due"}

    # Taken out at 09:05, the oven can be used again too late for both of the others.
    run, _, found = after(catalogue, "recipe pie", (1, said(at(TUE, "07:55"), "doing")), count=22)
    assert [load.fits for load in loads_of(found, run)] == [True, False, True]


def test_what_draws_on_work_under_way_waits_for_it() -> None:
    """Stock that simmers from 09:30 to 10:30 is ready half an hour before the soup of noon begins; at 10:00, just then; later, not."""
    stock = recipe("stock", "1 kg", steps=[step(None, "PT1H")], keeps="P1D")
    soup = recipe("soup", "1 kg", line("recipe stock", "1 kg", step=1), steps=[step("PT10M", "PT50M")])
    catalogue = kitchen(stock, soup, menu_item("soup", ("soup", "1 kg")), staffed(DAY))
    for begun, slack in (("09:30", 30), ("10:00", 0)):
        _, planned, found = after(catalogue, "recipe stock", (1, said(at(TUE, begun), "doing")))
        (load,) = loads_of(found, only_run(planned, "recipe soup"))
        assert (starts(load), load.slack) == (["11:00"], minutes(slack))
    _, planned, found = after(catalogue, "recipe stock", (1, said(at(TUE, "10:05"), "doing")))
    assert [load.fits for load in loads_of(found, only_run(planned, "recipe soup"))] == [False]


def test_what_draws_on_work_that_was_done_late_does_not_begin_before() -> None:
    stock = recipe("stock", "1 kg", steps=[step(None, "PT1H")], keeps="P1D")
    soup = recipe("soup", "1 kg", line("recipe stock", "1 kg", step=1), steps=[step("PT10M", "PT50M")])
    catalogue = kitchen(stock, soup, menu_item("soup", ("soup", "1 kg")), staffed(DAY))
    _, planned, found = after(catalogue, "recipe stock", (1, said(at(TUE, "10:40"))))
    (load,) = loads_of(found, only_run(planned, "recipe soup"))
    assert (starts(load), load.slack) == (["11:00"], minutes(20))

"""A day that fits or does not, from the plan to who does what when: worked examples of our own, checked by hand (K4 to K16)."""

from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.capacity.scheduled import Help, Lack
from service.kitchen.measures.calendar import ZERO
from service.kitchen.planning.plan import Plan
from tests.kitchen.capacity.doable import clock, keys, loads_of, minutes, only_load, scheduled, staffed, starts
from tests.kitchen.larder import MON, TUE, form, ingredient, kitchen, line, machines, recipe, shift, step
from tests.kitchen.plans import only_run, plan_needs, wanted

OVEN = machines("oven", 1, "8 pan", turn_round="PT10M")
DAY = shift("hot-line", "06:00", "14:00", name="Day")


def pie(active: str | None = None, passive: str = "PT1H10M", **fields: Any) -> Version:
    steps = [step(active, passive, equipment="oven"), step(None, "PT20M")]
    told = {"keeps": "P1D", "batch": {"multiple": "1 pan"}, **fields}
    return recipe("pie", "1 pan", equivalents=["1 pan = 1 each"], steps=steps, **told)


def pies(place: Site, **fields: Any) -> tuple[Catalogue, Plan]:
    catalogue = kitchen(pie(**fields), place)
    return catalogue, plan_needs(catalogue, [wanted("recipe pie", 22, TUE, "12:15")])


def test_twenty_two_pans_go_through_one_oven_one_after_the_other() -> None:
    """W1."""
    catalogue, planned = pies(staffed(DAY, equipment=[OVEN]), hold="PT2H")
    found = scheduled(planned, catalogue, at="2026-12-01 06:00")
    rows = [(each.key.number, each.quantity, clock(each.starts), clock(each.steps[0].ends), clock(each.ready)) for each in found.loads]
    assert rows == [(1, 8, "08:05", "09:15", "09:35"), (2, 8, "09:25", "10:35", "10:55"), (3, 6, "10:45", "11:55", "12:15")]
    assert [each.held for each in found.loads] == [minutes(160), minutes(80), ZERO]
    assert [each.slack for each in found.loads] == [minutes(125)] * 3
    because = [(each.because.code, each.because.name, each.because.loads) for each in found.loads if each.because]
    assert because == [
        ("equipment", "oven", keys(planned, ("recipe pie", 2))),
        ("equipment", "oven", keys(planned, ("recipe pie", 3))),
        ("due", None, ()),
    ]
    stage = found.stage(only_run(planned, "recipe pie").id, 1)
    assert stage is not None
    assert (clock(stage.starts), clock(stage.ready), stage.fits, stage.slack) == ("08:05", "12:15", True, minutes(125))
    assert found.conflicts == ()


def test_what_keeps_four_hours_leaves_less_slack_and_what_keeps_two_no_place_for_the_first_load() -> None:
    """W1, K8: ready not before 08:15, or not before 10:15."""
    catalogue, planned = pies(staffed(DAY, equipment=[OVEN]), keeps="PT4H")
    found = scheduled(planned, catalogue, at="2026-12-01 06:00")
    assert [clock(each.starts) for each in found.loads] == ["08:05", "09:25", "10:45"]
    assert [each.slack for each in found.loads] == [minutes(80)] * 3
    stage = found.stage(only_run(planned, "recipe pie").id, 1)
    assert stage is not None
    assert clock(stage.use_by.moment) == "13:35"

    catalogue, planned = pies(staffed(DAY, equipment=[OVEN]), keeps="PT2H")
    (conflict,) = scheduled(planned, catalogue, at="2026-12-01 06:00").conflicts
    assert (conflict.load.number, conflict.lacks) == (1, (Lack("equipment", "oven"),))


def test_one_cook_peels_between_two_loads_of_pies_and_makes_mash_while_they_rest() -> None:
    """W2."""
    potato = ingredient(
        "potato", form("peeled", station="hot-line", active={"set_up": None, "per": {"amount": 1, "unit": "kg"}, "time": "PT1H"})
    )
    steps = [step("PT20M", "PT30M"), step("PT20M"), step("PT3M")]
    mash = recipe("mash", "1 kg", line("potato/peeled", "1 kg", step=1), steps=steps)
    # Every load is a batch, so that loading takes its 10 minutes.
    loaded = pie("PT10M", "PT1H", batch={"multiple": "1 pan", "largest": "8 pan", "split": "full"})
    catalogue = kitchen(loaded, potato, mash, staffed(DAY, equipment=[OVEN]))
    needs = [wanted("recipe pie", 22, TUE, "12:15"), wanted("recipe mash", 1000, TUE, "12:15")]
    planned = plan_needs(catalogue, needs)
    found = scheduled(planned, catalogue, at="2026-12-01 06:00")

    assert [starts(each) for each in loads_of(found, only_run(planned, "recipe pie"))] == [
        ["08:05", "09:15"],
        ["09:25", "10:35"],
        ["10:45", "11:55"],
    ]
    assert starts(only_load(found, planned, "recipe mash")) == ["11:02", "11:52", "12:12"]
    peeling = only_load(found, planned, "potato/peeled")
    assert (clock(peeling.starts), clock(peeling.ready), clock(peeling.due), peeling.held) == ("09:45", "10:45", "11:02", minutes(17))
    assert peeling.because is not None
    assert (peeling.because.name, peeling.because.loads) == ("hot-line", keys(planned, ("recipe pie", 3)))
    (duty,) = [each for each in found.duties if each.on == TUE]
    assert [(clock(each.starts), each.load.run.split(".")[2], each.step) for each in duty.work] == [
        ("08:05", "pie", 1),
        ("09:25", "pie", 1),
        ("09:45", "potato", 1),
        ("10:45", "pie", 1),
        ("11:02", "mash", 1),
        ("11:52", "mash", 2),
        ("12:12", "mash", 3),
    ]
    assert duty.active == minutes(30 + 60 + 43)


def test_a_dough_that_keeps_two_hours_is_ready_when_the_first_load_is_shaped() -> None:
    """W5."""
    place = staffed(
        shift("bakery", "03:00", "11:00", cooks=2, name="Early"),
        equipment=[machines("oven", 1, "8 each", turn_round="PT10M"), machines("mixer", turn_round="PT5M")],
        day_starts="03:00",
    )
    dough = recipe("dough", "10 kg", steps=[step("PT20M", "PT1H15M", equipment="mixer")], keeps="PT2H", station="bakery")
    steps = [step("PT10M", "PT1H"), step(None, "PT1H10M", equipment="oven"), step(None, "PT2H")]
    loaf = recipe("loaf", "8 each", line("recipe dough", "5 kg", step=1), steps=steps, station="bakery", batch={"largest": "8 each"})
    catalogue = kitchen(dough, loaf, place)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 16, TUE, "11:00", where=place)])
    found = scheduled(planned, catalogue)

    first, second = loads_of(found, only_run(planned, "recipe loaf"))
    assert (starts(first), clock(first.ready), first.held) == (["05:20", "06:30", "07:40"], "09:40", minutes(80))
    assert (starts(second), clock(second.ready), second.held) == (["06:40", "07:50", "09:00"], "11:00", ZERO)
    mixed = only_load(found, planned, "recipe dough")
    assert (clock(mixed.starts), clock(mixed.ready), clock(mixed.due)) == ("03:45", "05:20", "05:20")
    assert {each.slack for each in found.loads} == {minutes(45)}


def test_the_kitchen_opens_too_late_for_three_loads_and_it_is_told_what_would_help() -> None:
    """W6."""
    catalogue, planned = pies(staffed(shift("hot-line", "08:30", "14:00", name="Day"), equipment=[OVEN]))
    found = scheduled(planned, catalogue)
    assert [(each.key.number, each.fits) for each in loads_of(found, only_run(planned, "recipe pie"))] == [(1, False), (2, True), (3, True)]
    (conflict,) = found.conflicts
    assert (conflict.load, conflict.lacks, conflict.taken_by) == (
        *keys(planned, ("recipe pie", 1)),
        (Lack("equipment", "oven"),),
        keys(planned, ("recipe pie", 3)),
    )
    assert (clock(conflict.begins), clock(conflict.until), conflict.short) == ("10:45", "12:15", minutes(80))
    assert [(need.label, amount) for need, amount in conflict.at_risk] == [("guests", 8)]
    assert found.helps(found.loads) == (
        Help("begins_earlier", "Day", minutes(30), 0),
        Help("needed_later", None, minutes(30), 0),
        Help("one_more_machine", "oven", None, 0),
    )
    stage = found.stage(only_run(planned, "recipe pie").id, 1)
    assert stage is not None
    assert (stage.fits, stage.slack) == (False, None)


def test_what_one_cook_cannot_cut_in_the_morning_is_cut_the_evening_before() -> None:
    """W7."""
    place = staffed(shift("veg", "06:00", "14:00", name="Veg"))
    cut = {"carrot": "PT1H", "onion": "PT50M", "celery": "PT40M"}
    vegetables = [
        ingredient(code, form("cut", active={"set_up": time, "per": {"amount": 1, "unit": "kg"}, "time": "PT0S"}))
        for code, time in cut.items()
    ]
    soup = recipe("soup", "1 L", *(line(f"{code}/cut", "1 kg", step=1) for code in cut), steps=[step(None, "PT1H")])
    catalogue = kitchen(*vegetables, soup, place)
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, "08:00")], first=MON)
    found = scheduled(planned, catalogue)

    places = {code: only_load(found, planned, f"{code}/cut") for code in cut}
    assert {code: (clock(each.starts), clock(each.ready)) for code, each in places.items()} == {
        "carrot": ("06:00", "07:00"),
        "celery": ("13:20 -1", "14:00 -1"),
        "onion": ("12:30 -1", "13:20 -1"),
    }
    assert [each.key for each in found.evening_before(TUE)] == list(keys(planned, ("onion/cut", 1), ("celery/cut", 1)))
    assert {code: each.because and (each.because.code, each.because.name, each.because.loads) for code, each in places.items()} == {
        "carrot": ("due", None, keys(planned, ("recipe soup", 1))),
        "celery": ("hours", "veg", ()),
        "onion": ("station", "veg", keys(planned, ("celery/cut", 1))),
    }
    assert {each.service for each in found.loads} == {TUE}
    assert [each.on for each in found.loads] == [MON, MON, TUE, TUE]

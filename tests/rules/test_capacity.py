"""The worked examples of K: hours in the plan."""

from datetime import date
from typing import Any

from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.planning.plan import Plan
from tests.kitchen.larder import TUE, WED, Document, ingredient, kitchen, line, machines, recipe, shift, site, step
from tests.kitchen.plans import list_of, only_run, plan_needs, tasks_of, wanted
from tests.rules.page import untold


def needed(where: Site, version: Version, by: str, *things: Any) -> Plan:
    """The plan of some of a recipe by a time of Wednesday."""
    return plan_needs(kitchen(where, version, *things), [wanted(f"recipe {version.recipe}", 10_000, WED, by, where=where)])


def clocks(planned: Plan, words: str) -> list[tuple[date, str]]:
    """The date and clock time at which each step of a run starts, and at last when it is ready."""
    run = only_run(planned, words)
    moments = [*(each.starts for stage in run.stages for each in stage.steps), run.ready]
    local = [moment.astimezone(site().calendar().zone) for moment in moments]
    return [(each.date(), f"{each:%H:%M}") for each in local]


def test_k1_a_station_without_shifts_sets_no_limit() -> None:
    soup = recipe("soup", "10 L", steps=[step("PT30M")], keeps="P1D")
    for shifts in ([], [shift("bakery", "09:00", "17:00")]):
        assert clocks(needed(site(shifts=shifts), soup, "07:00"), "recipe soup")[0] == (WED, "06:30")
    assert untold("K1", "takes 30 minutes on the hot line and is needed at 07:00", "it starts at 06:30") == []
    limited = site(shifts=[shift("hot-line", "06:45", "14:00")])
    assert clocks(needed(limited, soup, "07:00"), "recipe soup")[0] == (TUE, "13:30")
    assert untold("K1", "from 06:45", "at 13:30, where the day's shift ends at 14:00") == []


def test_k2_pork_is_put_in_and_taken_out_while_somebody_is_there() -> None:
    rest: Document = {"min": "PT5H", "target": "PT6H", "max": "PT7H"}
    pork = recipe("pork", "10 kg", steps=[step("PT20M", rest, equipment="oven"), step("PT30M", "PT40M")], keeps="P1D")
    where = site(shifts=[shift("hot-line", "05:00", "22:00", cooks=2)], equipment=[machines("oven")])
    assert clocks(needed(where, pork, "07:30"), "recipe pork") == [(TUE, "21:40"), (WED, "05:00"), (WED, "06:10")]
    assert untold("K2", "It goes in at 21:40 of the day before, is taken out at 05:00 and ready at 06:10") == []
    assert clocks(needed(site(), pork, "07:30"), "recipe pork")[:2] == [(WED, "00:00"), (WED, "06:20")]
    assert untold("K2", "Carving at 06:20 would want it in the oven at 00:00") == []


def test_k3_loaves_are_shaped_before_the_bakery_shuts() -> None:
    retard: Document = {"min": "PT10H", "target": "PT12H", "max": "PT16H"}
    steps = [step("PT30M", "PT15M"), step(None, retard), step("PT12M", "PT42M", equipment="oven"), step(None, "PT1H")]
    loaf = recipe("loaf", "10 kg", line("recipe dough", "9 kg", step=1), steps=steps, station="bakery")
    dough = recipe("dough", "9 kg", line("flour", "6 kg"), station="hot-line")
    shifts = [shift("bakery", "02:00", "10:00"), shift("bakery", "09:00", "15:00")]
    where = site(shifts=shifts, equipment=[machines("oven")])
    planned = needed(where, loaf, "07:00", dough, ingredient("flour"))
    assert clocks(planned, "recipe loaf") == [(TUE, "14:30"), (TUE, "15:15"), (WED, "05:06"), (WED, "06:00"), (WED, "07:00")]
    assert untold("K3", "They are baked at 05:06", "shaped at 14:30 of the day before", "retarded from 15:15 for 13 h 51 min") == []
    assert clocks(planned, "recipe dough") == [(TUE, "14:30")]
    assert untold("K3", "The dough in them is needed at 14:30") == []
    # Each stage stands on the list of its date.
    for on, start in ((TUE, "2026-12-01T14:30:00-05:00"), (WED, "2026-12-02T05:06:00-05:00")):
        listed = tasks_of(list_of(planned, kitchen(where, loaf, dough, ingredient("flour")), on), "make")
        assert [each["start_by"] for each in listed if each["item"]["recipe"] == "loaf"] == [start]
    at_best = needed(site(equipment=[machines("oven")]), loaf, "07:00", dough, ingredient("flour"))
    assert clocks(at_best, "recipe loaf")[0] == (TUE, "16:21")
    assert untold("K3", "Retarding for 12 hours would want them shaped until 17:06") == []

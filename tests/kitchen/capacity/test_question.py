"""When each load is due, what it works for, and for how long that keeps (K8, K9)."""

from typing import Any

import pytest

from service.errors import TooManyLoads
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.capacity import work
from service.kitchen.capacity.loads import loads_of
from service.kitchen.capacity.scheduling import schedule_plan
from service.kitchen.planning.runs import Run
from service.kitchen.schedule.problem import Keeps, Serves
from tests.kitchen.capacity.doable import asked, at_minute, posed, scheduled, staffed, works_for
from tests.kitchen.larder import THU, TUE, WED, at, form, ingredient, kitchen, line, machines, only_site, par, recipe, shift, site, step
from tests.kitchen.plans import counted, counts, only_run, plan_needs, runs_of, wanted

PLACE = staffed(
    shift("hot-line veg", "06:00", "20:00", name="Day"), equipment=[machines("oven", 1, "8 each"), machines("kettle", 1, "4 kg")]
)


def loaf(**fields: Any) -> Version:
    """Loaves in loads of eight, each with a tenth of a kilo of dough, drawn at their second step."""
    steps = [step("PT5M"), step("PT10M", "PT1H", equipment="oven")]
    told = {"keeps": "P1D", "batch": {"multiple": "1 each"}, "steps": steps, **fields}
    return recipe("loaf", "1 each", line("recipe dough", "0.1 kg", step=2), **told)


def dough(**fields: Any) -> Version:
    told = {"keeps": "P1D", "batch": {"largest": "4 kg"}, "steps": [step("PT20M", equipment="kettle")], **fields}
    return recipe("dough", "10 kg", **told)


def test_every_load_of_a_run_that_serves_guests_is_due_at_the_first_of_them() -> None:
    catalogue = kitchen(loaf(makes_for=2), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 10, TUE, "12:00"), wanted("recipe loaf", 10, TUE, "18:00")])
    found = posed(asked(planned, catalogue), "recipe loaf")
    assert [at_minute(load.due) for load in found] == ["12:00"] * 3


def test_other_loads_are_due_when_what_draws_on_them_begins() -> None:
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 10, TUE, "12:00")])
    question = asked(planned, catalogue)
    (mixed,) = posed(question, "recipe dough")
    assert mixed.due is None
    assert mixed.serves == tuple(Serves(load.id, 1, Keeps("d", 1)) for load in posed(question, "recipe loaf"))


def test_what_is_made_first_is_used_first_over_the_quantity_of_the_run() -> None:
    """80 loaves in ten loads take 8 kg of dough in two batches: the first batch is for the first five of them."""
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 80, TUE, "12:00")])
    question = asked(planned, catalogue)
    first, second = posed(question, "recipe dough")
    assert works_for(question, first) == [("loaf", number, 1) for number in range(1, 6)]
    assert works_for(question, second) == [("loaf", number, 1) for number in range(6, 11)]


def test_a_load_that_takes_of_two_waits_for_both() -> None:
    """72 loaves in nine loads: the fifth takes of both batches."""
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 72, TUE, "12:00")])
    question = asked(planned, catalogue)
    assert [[number for _, number, _ in works_for(question, load)] for load in posed(question, "recipe dough")] == [
        [1, 2, 3, 4, 5],
        [5, 6, 7, 8, 9],
    ]


def test_needs_are_served_in_the_order_of_the_plan() -> None:
    """Dough for loaves of noon, then for those of the evening, though rolls come before them by name."""
    bun = recipe("bun", "1 each", line("recipe dough", "0.1 kg", step=1), batch={"multiple": "1 each"}, steps=[step("PT10M", "PT1H")])
    catalogue = kitchen(loaf(), dough(), bun, PLACE)
    planned = plan_needs(catalogue, [wanted("recipe bun", 40, TUE, "18:00"), wanted("recipe loaf", 40, TUE, "12:00")])
    question = asked(planned, catalogue)
    first, second = posed(question, "recipe dough")
    assert {code for code, _, _ in works_for(question, first)} == {"loaf"}
    assert {code for code, _, _ in works_for(question, second)} == {"bun"}


def carrot() -> Ingredient:
    """Batons and dice of the same pieces, above two hours for 30 kg, and trim."""
    slow = {"set_up": None, "per": {"amount": 1, "unit": "kg"}, "time": "PT10M"}
    forms = [
        form(code, "0.4", cut="squared", active=slow, gives={"carrot-trim": "0.1"} if code == "batons" else None)
        for code in ("batons", "dice")
    ]
    return ingredient("carrot", *forms)


def test_what_a_cut_or_a_by_product_gives_is_ready_when_the_whole_run_is() -> None:
    stock = recipe("stock", "1 kg", line("carrot-trim", "1 kg", step=1), steps=[step("PT10M")])
    stew = recipe(
        "stew", "1 kg", line("carrot/batons", "1 kg", step=1), line("carrot/dice", "1 kg", step=2), steps=[step("PT5M"), step("PT5M")]
    )
    catalogue = kitchen(carrot(), ingredient("carrot-trim"), stock, stew, PLACE)
    planned = plan_needs(catalogue, [wanted("recipe stew", 15_000, TUE, "12:00"), wanted("recipe stock", 1_000, TUE, "18:00")])
    question = asked(planned, catalogue)
    found = posed(question, "carrot/batons")
    assert len(found) == 3
    for load in found:
        assert works_for(question, load) == [("stew", 1, 0), ("stew", 1, 1), ("stock", 1, 0)]


def test_one_form_alone_is_used_as_it_is_made() -> None:
    slow = {"set_up": None, "per": {"amount": 1, "unit": "kg"}, "time": "PT10M"}
    leek = ingredient("leek", form("rings", active=slow))
    soup = recipe("soup", "1 kg", line("leek/rings", "1 kg", step=1), steps=[step("PT1H", equipment="kettle")])
    catalogue = kitchen(leek, soup, PLACE)
    planned = plan_needs(catalogue, [wanted("recipe soup", 24_000, TUE, "12:00")])
    question = asked(planned, catalogue)
    assert [[number for _, number, _ in works_for(question, load)] for load in posed(question, "leek/rings")] == [[1, 2, 3], [4, 5, 6]]


def test_what_stands_ready_for_a_par_is_due_then_and_goes_to_whom_its_lots_give_it() -> None:
    place = staffed(
        shift("hot-line", "06:00", "20:00", name="Day"),
        equipment=[machines("oven", 1, "8 each")],
        pars=[par("recipe loaf", "16 each", "10:00")],
    )
    sandwich = recipe("sandwich", "1 each", line("recipe loaf", "1 each", step=1), batch={"multiple": "1 each"}, steps=[step("PT5M")])
    catalogue = kitchen(loaf(), dough(), sandwich, place)
    needs = [
        wanted("recipe sandwich", 4, WED, "12:00"),
        wanted("recipe loaf", 0, TUE, "10:00")._replace(amount=16, outlet=None, portions=0.0, par=place.pars[0]),
    ]
    planned = plan_needs(catalogue, needs)
    question = asked(planned, catalogue)
    first, second = posed(question, "recipe loaf")
    assert (at_minute(first.due), at_minute(second.due)) == ("10:00", "10:00")
    assert [code for code, _, _ in works_for(question, first)] == ["sandwich"]
    assert works_for(question, second) == []


def test_what_lots_of_its_surplus_give_comes_after_the_needs_of_a_run() -> None:
    """16 loaves are made where 10 are wanted; of the second load six are for Wednesday's sandwiches, drawn at 11:55."""
    sandwich = recipe("sandwich", "1 each", line("recipe loaf", "1 each", step=1), batch={"multiple": "1 each"}, steps=[step("PT5M")])
    catalogue = kitchen(loaf(batch={"multiple": "8 each"}), dough(), sandwich, PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 10, TUE, "12:00"), wanted("recipe sandwich", 6, WED, "12:00")])
    question = asked(planned, catalogue)
    first, second = posed(question, "recipe loaf")
    assert works_for(question, first) == []
    assert works_for(question, second) == [("sandwich", 1, 0)]


def test_a_load_of_which_nobody_takes_is_due_with_its_run() -> None:
    catalogue = kitchen(loaf(), dough(batch={"smallest": "8 kg"}), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, TUE, "12:00")])
    question = asked(planned, catalogue)
    used, spare = posed(question, "recipe dough")
    assert used.due is None
    assert (at_minute(spare.due), spare.serves) == ("10:50", ())


def test_no_load_is_ready_so_early_that_guests_get_it_past_its_use_by() -> None:
    """Kept for hours it counts from when it is ready, kept for days to the end of a business date."""
    catalogue = kitchen(loaf(keeps="PT3H"), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, TUE, "12:00")])
    (load,) = posed(asked(planned, catalogue), "recipe loaf")
    assert at_minute(load.not_ready_before) == "09:00"

    catalogue = kitchen(loaf(keeps="P1D", makes_for=2), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, TUE, "12:00"), wanted("recipe loaf", 8, WED, "12:00")])
    first, second = posed(asked(planned, catalogue), "recipe loaf")
    assert (at_minute(first.not_ready_before), at_minute(second.not_ready_before)) == ("04:00 -1", "04:00")


def test_no_load_is_due_after_the_business_date_of_its_run() -> None:
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, TUE, "12:00")])
    (load,) = posed(asked(planned, catalogue), "recipe loaf")
    assert at_minute(load.not_ready_after) == "04:00 +1"


def test_a_step_that_draws_on_a_counted_lot_does_not_begin_after_its_use_by() -> None:
    """Of three hours the last moment serves, of days the first one after it does not (T6)."""
    soup = recipe("soup", "1 each", line("recipe dough", "1 kg", step=2), steps=[step("PT5M"), step("PT10M")])
    for keeps, last in (("PT6H", "12:00"), ("P0D", "03:59 +1")):
        catalogue = kitchen(soup, dough(keeps=keeps), PLACE)
        lots = counts(catalogue, PLACE, [counted("recipe dough", "5 kg", at(TUE, "06:00"), TUE)], TUE).lots
        planned = plan_needs(catalogue, [wanted("recipe soup", 1, TUE, "11:00")], lots)
        (load,) = posed(asked(planned, catalogue), "recipe soup")
        assert [at_minute(each.not_after) for each in load.steps] == [None, last]
        assert [each.not_before for each in load.steps] == [None, None]


def test_the_service_date_of_a_run_is_the_first_that_it_works_for() -> None:
    """Dough for Wednesday's and Thursday's loaves, mixed on Wednesday, is for Wednesday; what is for nobody is for its own date."""
    catalogue = kitchen(loaf(), dough(keeps="P3D", makes_for=3), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, THU, "12:00"), wanted("recipe loaf", 8, WED, "12:00")])
    question = asked(planned, catalogue)
    assert question.services == {
        only_run(planned, "recipe dough").id: WED,
        **{run.id: on for run, on in zip(runs_of(planned, "recipe loaf"), (WED, THU), strict=True)},
    }
    assert [load.service for load in posed(question, "recipe dough")] == [1]


def test_those_due_alike_are_in_order_of_item_then_date_then_the_last_load_first() -> None:
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 16, WED, "12:00"), wanted("recipe loaf", 16, TUE, "12:00")])
    question = asked(planned, catalogue)
    loads = sorted(question.problem.loads, key=lambda load: load.order)
    told = [
        (question.pieces[load.id].run.item.code, question.pieces[load.id].run.on, question.pieces[load.id].load.number) for load in loads
    ]
    assert told == [("dough", TUE, 1), ("dough", WED, 1), ("loaf", TUE, 2), ("loaf", TUE, 1), ("loaf", WED, 2), ("loaf", WED, 1)]


def test_nothing_begins_before_the_first_date_or_the_moment_that_the_caller_gives() -> None:
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, TUE, "12:00")])
    assert at_minute(asked(planned, catalogue).problem.release) == "04:00"
    assert at_minute(asked(planned, catalogue, at="2026-11-30 12:00").problem.release) == "04:00"
    assert at_minute(asked(planned, catalogue, at="2026-12-01 09:40").problem.release) == "09:40"


def test_work_is_done_where_the_site_does_it_and_in_the_equipment_that_it_has() -> None:
    place = staffed(
        shift("hot-line", "06:00", "20:00", name="Day"),
        equipment=[machines("deck-oven", 1, "8 each", shared=True)],
        station_map={"bakery": "hot-line"},
        equipment_map={"oven": "deck-oven"},
    )
    catalogue = kitchen(loaf(station="bakery"), dough(), place)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 6, TUE, "12:00")])
    (load,) = posed(asked(planned, catalogue), "recipe loaf")
    assert [(each.station, each.equipment, each.share) for each in load.steps] == [
        ("hot-line", None, 1_000_000),
        ("hot-line", "deck-oven", 750_000),
    ]


def test_a_recipe_without_steps_is_due_and_takes_nobody() -> None:
    salad = recipe("salad", "1 kg", line("recipe dough", "1 kg"))
    catalogue = kitchen(salad, dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe salad", 1_000, TUE, "12:00")])
    found = scheduled(planned, catalogue)
    (load,) = found.runs[only_run(planned, "recipe salad").id].loads
    assert (load.starts, load.ready, load.steps, load.fits) == (at(TUE, "12:00"), at(TUE, "12:00"), (), True)
    (mixed,) = found.runs[only_run(planned, "recipe dough").id].loads
    assert mixed.ready == at(TUE, "12:00")


def test_a_site_that_states_neither_shifts_nor_equipment_has_no_schedule() -> None:
    """K1."""
    catalogue = kitchen(loaf(), dough(), site())
    planned = plan_needs(catalogue, [wanted("recipe loaf", 8, TUE, "12:00")])
    assert schedule_plan(planned, catalogue, only_site(catalogue), {}) is None


def test_a_plan_of_more_loads_than_are_scheduled_is_refused_as_soon_as_that_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    catalogue = kitchen(loaf(), dough(), PLACE)
    planned = plan_needs(catalogue, [wanted("recipe loaf", 16, TUE, "12:00"), wanted("recipe loaf", 16, WED, "12:00")])
    cut: list[str] = []

    def cutting(run: Run, catalogue: Catalogue, place: Site) -> Any:
        cut.append(run.id)
        return loads_of(run, catalogue, place)

    monkeypatch.setattr(work, "loads_of", cutting)
    monkeypatch.setattr(work, "LOADS_SCHEDULED", 10)
    asked(planned, catalogue)
    assert len(cut) == len(planned.runs)
    cut.clear()
    monkeypatch.setattr(work, "LOADS_SCHEDULED", 1)
    with pytest.raises(TooManyLoads):
        asked(planned, catalogue)
    assert len(cut) == 1

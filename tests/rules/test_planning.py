"""The worked examples of P: demand, lots, runs, pulls, pars and reported work."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.lists.orders import order_lines
from service.kitchen.measures.calendar import quarter_begun
from service.kitchen.planning.guests import Override, OverrideKey
from service.kitchen.planning.plan import Plan
from tests.kitchen.larder import (
    FRI,
    SAT,
    THU,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    item,
    kitchen,
    line,
    menu_item,
    near,
    only_site,
    par,
    reading,
    recipe,
    site,
    step,
)
from tests.kitchen.plans import (
    counted,
    counts,
    drawn,
    forecast,
    horizon_of,
    list_of,
    lot,
    made_for,
    only_run,
    plan_forecasts,
    plan_needs,
    pulled_for,
    pulls_of,
    runs_of,
    tasks_of,
    wanted,
)
from tests.kitchen.prices import bought, pack
from tests.kitchen.reports import fixed_run, plan_after, said
from tests.rules.page import kilos, litres, number, untold

BOWL = menu_item("bowl", ("soup", "250 mL"))


def sauces(*amounts: tuple[date, float], lots: Iterable[Any] = (), **fields: Any) -> Plan:
    """A plan of so many litres of a sauce for noon of some dates."""
    needs = [wanted("recipe sauce", 1000 * amount, on, "12:00") for on, amount in amounts]
    return plan_needs(kitchen(recipe("sauce", "10 L", **fields)), needs, lots)


def made(planned: Plan, words: str = "recipe sauce") -> list[float]:
    return [run.quantity for run in runs_of(planned, words)]


def bowls(overrides: Mapping[OverrideKey, Override] | None = None) -> float:
    """The soup that two tills and perhaps an override ask for."""
    catalogue = kitchen(recipe("soup", "10 L"), BOWL, site(buffer="0.05"))
    tills = [forecast(TUE, "bowl", 70, source="east"), forecast(TUE, "bowl", 30, source="west")]
    (need,) = plan_forecasts(catalogue, tills, overrides=overrides).needs
    return need.amount


def test_p1_counts_are_added_and_raised_by_a_buffer() -> None:
    assert untold("P1", f"{number(bowls() / 250)} bowls, {litres(bowls())}") == []


def test_p1_an_override_joins_or_replaces_them() -> None:
    key = (TUE, "lunch", "bowl", None)
    assert untold("P1", f"`add` 8 makes it {litres(bowls({key: Override(add=8)}))}") == []
    assert untold("P1", f"`count` 60 makes it {litres(bowls({key: Override(count=60)}))}") == []
    assert untold("P1", f"`add` −8 {litres(bowls({key: Override(add=-8)}))}") == []


def test_p1_whole_pieces_are_needed() -> None:
    catalogue = kitchen(recipe("roll", "12 each"), menu_item("basket", ("roll", "1 each", "0.5")))
    (need,) = plan_forecasts(catalogue, [forecast(TUE, "basket", 7)]).needs
    assert untold("P1", f"{number(need.amount)} rolls are needed") == []


def test_p1_what_is_not_on_the_menu_is_not_cooked() -> None:
    catalogue = kitchen(recipe("roll", "12 each"), menu_item("basket", ("roll", "1 each"), sold=(None, TUE)))
    planned = plan_forecasts(catalogue, [forecast(WED, "basket", 7)], on=WED)
    assert (planned.runs, [each.code for each in planned.warnings]) == ((), ["not_on_menu"])
    assert untold("P1", "Of a dish that is sold until Tuesday, Wednesday's list cooks nothing") == []


def test_p2_guests_come_before_pars() -> None:
    catalogue = kitchen(
        recipe("sauce", "10 L"), menu_item("glass", ("sauce", "100 mL")), site(pars=[par("recipe sauce", "3 L", "12:00", [2])])
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 20)], [counted("recipe sauce", "4 L", at(TUE, "05:00"))])
    (use,) = planned.uses
    assert untold("P2", f"The guests get {litres(use.amount)} of them; the par finds {litres(use.lot.left)}") == []
    assert untold("P2", f"{litres(only_run(planned, 'recipe sauce').quantity)} is made") == []


def test_p3_the_first_to_expire_goes_first() -> None:
    planned = sauces((WED, 2), lots=[lot("recipe sauce", 5000, FRI), lot("recipe sauce", 1000, WED)])
    assert [use.amount for use in planned.uses] == [1000, 1000]
    assert [reading(use.lot.use_by.moment) for use in planned.uses] == ["2026-12-03 04:00", "2026-12-05 04:00"]
    assert untold("P3", "2 L for Wednesday take 1 L of each") == []


def test_p4_a_run_takes_the_needs_inside_its_window() -> None:
    wishes = [(TUE, 10), (WED, 6), (THU, 4)]
    first, second = made(sauces(*wishes, makes_for=2, keeps="P2D"))
    assert untold("P4", f"{litres(first)} for Tuesday and {litres(second)} for Thursday") == []
    assert len(made(sauces(*wishes, makes_for=2, keeps="P0D"))) == 3
    assert untold("P4", "If it kept P0D there would be three") == []


def test_p5_surplus_is_a_lot_that_keeps() -> None:
    planned = sauces((TUE, 12), (WED, 8), batch={"multiple": "5 L"}, keeps="P1D")
    (first, _), (use,) = runs_of(planned, "recipe sauce"), planned.uses
    assert use.lot.source == first.key
    assert untold("P5", f"{litres(first.quantity)} are made; {litres(use.lot.amount)} are a lot") == []
    assert (reading(use.lot.ready), reading(use.lot.use_by.moment)) == ("2026-12-01 12:00", "2026-12-03 04:00")
    assert untold("P5", "until Thursday, 04:00", f"first {litres(use.amount)} come from it") == []


def test_p6_draws_are_added_up_over_the_batches() -> None:
    soup = recipe("soup", "10 L", line("onion", "1 kg"), line("bay", "2 each", scaling={"rule": "per_batch"}), batch={"largest": "10 L"})
    catalogue = kitchen(ingredient("onion"), ingredient("bay", kind="count"), soup)
    run = only_run(plan_needs(catalogue, [wanted("recipe soup", 16_000, TUE, "12:00")]), "recipe soup")
    ((batch, _),) = run.batches
    assert batch.count == 2
    assert untold("P6", f"two batches of {litres(batch.quantity)}") == []
    assert untold("P6", f"they draw {kilos(drawn(run, 'onion'))} of onions and {number(drawn(run, 'bay'))} bay leaves") == []


def test_p7_what_should_have_begun_stands_on_the_first_list() -> None:
    catalogue = kitchen(recipe("dough", "10 kg", steps=[step(None, "PT20H")]), menu_item("roll", ("dough", "100 g")))
    (task,) = tasks_of(list_of(plan_forecasts(catalogue, [forecast(TUE, "roll", 30)]), catalogue))
    (risk,) = task["at_risk"]
    assert (task["late"], task["start_by"]) == (True, "2026-11-30T16:00:00-05:00")
    assert untold("P7", "at 16:00 on Monday", f"{risk['portions']} portions at risk") == []


def test_p7_what_should_have_begun_by_now_is_overdue_until_it_cannot_be_ready_any_more() -> None:
    rest = {"min": "PT2H", "target": "PT3H", "max": "PT4H"}
    catalogue = kitchen(recipe("braise", "10 kg", steps=[step("PT20M", rest)]), menu_item("plate", ("braise", "100 g")))
    planned = plan_forecasts(catalogue, [forecast(TUE, "plate", 30)])

    def told(clock: str) -> tuple[bool, list[str]]:
        document = list_of(planned, catalogue, quarter=quarter_begun(at(TUE, clock)))
        (task,) = tasks_of(document)
        return task["overdue"], [warning["code"] for warning in document["warnings"]]

    (task,) = tasks_of(list_of(planned, catalogue))
    assert untold("P7", f"must start at {task['start_by'][11:16]} for noon") == []
    assert (told("08:44"), told("08:45")) == ((False, []), (True, ["overdue"]))
    assert untold("P7", "At 08:44 nothing is said; from 08:45 on it is overdue") == []
    assert (told("09:44"), told("09:45")) == ((True, ["overdue"]), (True, ["last_start_over", "overdue"]))
    assert untold("P7", f"Its last start is {task['last_start'][11:16]}, and from 09:45 on it cannot be ready any more") == []


def test_p8_two_recipes_share_one_task() -> None:
    soup, stew = recipe("soup", "10 L", line("onion/dice", "1.2 kg")), recipe("stew", "10 L", line("onion/dice", "2 kg"))
    catalogue = kitchen(ingredient("onion", form("dice")), soup, stew)
    planned = plan_needs(catalogue, [wanted(f"recipe {code}", 10_000, TUE, "12:00") for code in ("soup", "stew")])
    (task,) = tasks_of(list_of(planned, catalogue), "prep")
    assert untold("P8", f"one task, of {kilos(task['quantity']['amount'])}") == []


def tight_sauce() -> tuple[Catalogue, Plan]:
    """20 L for guests, 6 L there, cooked in multiples of 5 L."""
    catalogue = kitchen(recipe("sauce", "10 L", batch={"multiple": "5 L"}))
    return catalogue, plan_needs(catalogue, [wanted("recipe sauce", 20_000, TUE, "12:00")], [lot("recipe sauce", 6000)])


def test_p9_need_is_have_and_quantity_less_surplus() -> None:
    catalogue, planned = tight_sauce()
    document = list_of(planned, catalogue)
    (task,), (use,) = tasks_of(document, "make"), tasks_of(document, "use")
    told = {name: task[name]["amount"] for name in ("need", "have", "quantity", "surplus")}
    assert told["need"] == told["have"] + told["quantity"] - told["surplus"]
    assert untold("P9", f"reads {', '.join(f'{name} {litres(amount)}' for name, amount in told.items())}") == []
    assert untold("P9", f"a use of {litres(use['quantity']['amount'])}") == []


def test_p10_nothing_comes_from_nowhere_and_nothing_is_lost() -> None:
    _, planned = tight_sauce()
    there, (run,), left = 6.0, runs_of(planned, "recipe sauce"), sum(each.left for each in planned.lots) / 1000
    served = sum(need.amount for need in planned.needs) / 1000
    assert there + run.quantity / 1000 == near(served + left)
    assert untold("P10", f"{number(there)} + {number(run.quantity / 1000)} = {number(served)} + {number(left)}") == []


def test_p11_shares_add_up_to_the_quantity() -> None:
    soup = recipe("soup", "10 L", line("onion", "1 kg"), batch={"multiple": "5 L"})
    planned = plan_forecasts(
        kitchen(ingredient("onion"), soup, BOWL), [forecast(TUE, "bowl", 32), forecast(TUE, "bowl", 16, period="dinner")], on=TUE
    )
    run, (pull,) = only_run(planned, "recipe soup"), pulls_of(planned, "onion")
    parts = {share.outlet.period if share.outlet else "surplus": share.amount for share in made_for(run)}
    onions = {share.outlet.period if share.outlet else "nobody": share.amount for share in pulled_for(pull)}
    assert sum(parts.values()) == near(run.quantity)
    assert untold("P11", f"A run of {litres(run.quantity)} is for lunch with {litres(parts['lunch'])}") == []
    assert untold("P11", f"dinner with {litres(parts['dinner'])}; {litres(parts['surplus'])} are surplus") == []
    assert untold("P11", f"Its {kilos(pull.amount)} of onions are {kilos(onions['lunch'])} for lunch") == []
    assert untold("P11", f"{kilos(onions['dinner'])} for dinner and {kilos(onions['nobody'])} for nobody") == []


def numbers(*dates: date) -> list[int | None]:
    """By which versions a sauce is made that changes on Thursday and is made for two dates."""
    fields: dict[str, Any] = {"makes_for": 2, "keeps": "P2D"}
    versions: list[Version] = [recipe("sauce", "10 L", **fields), recipe("sauce", "10 L", number=2, starts_on=THU, **fields)]
    planned = plan_needs(kitchen(*versions), [wanted("recipe sauce", 1000, on, "12:00") for on in dates])
    return [run.version.number if run.version else None for run in runs_of(planned, "recipe sauce")]


def test_p12_a_run_is_made_by_the_version_of_its_first_need() -> None:
    assert (numbers(WED, THU), numbers(THU)) == ([1], [2])
    assert untold("P12", "both Wednesday and Thursday is made by version 1; one that opens on Thursday is made by version 2") == []


def test_p13_pulls_leave_out_what_is_in_the_kitchen_and_orders_what_is_in_store() -> None:
    catalogue = kitchen(bought("chicken", pack("2 kg", "10.00 EUR"), thaw="P1D"))
    planned = plan_needs(catalogue, [wanted("chicken", 10_000, THU, "12:00")], [lot("chicken", 3000)])
    (pull,) = list_of(planned, catalogue, WED)["pulls"]
    store = [counted("chicken", "4 kg", at(TUE, "05:00"), in_store=True)]
    stocked = replace(planned, reported=counts(catalogue, only_site(catalogue), store, TUE))
    (order,) = order_lines(stocked, catalogue, only_site(catalogue), (TUE, FRI))
    assert order.purchase is not None
    assert order.purchase.count == 2
    assert untold("P13", f"{kilos(pull['quantity']['amount'])} are pulled, and that stands on Wednesday's list") == []
    assert untold("P13", f"short of {kilos(order.short)}, and buys two packs, {kilos(order.order)}") == []


def bread_list(*forecasts: tuple[date, int], further: int = 0) -> Document:
    """Tuesday's list of a bread that takes 36 hours and is made for two dates, perhaps looked at further."""
    bread = recipe("bread", "10 kg", makes_for=2, keeps="P2D", steps=[step(None, "PT36H")])
    catalogue = kitchen(bread, menu_item("loaf", ("bread", "1 kg")))
    expected = [forecast(on, "loaf", count) for on, count in forecasts]
    until = horizon_of(catalogue).until + timedelta(days=further) if further else None
    return list_of(plan_forecasts(catalogue, expected, until=until), catalogue)


def test_p14_a_list_looks_as_far_as_it_must() -> None:
    wishes = [(THU, 10), (FRI, 5)]
    (task,) = tasks_of(bread_list(*wishes))
    assert task["start_by"] == "2026-12-02T00:00:00-05:00"
    assert untold("P14", f"one run of {kilos(task['quantity']['amount'])}, which starts on Wednesday at 00:00") == []
    assert bread_list(*wishes, (SAT, 8)) == bread_list(*wishes)
    assert bread_list(*wishes, (SAT, 8), further=7) == bread_list(*wishes)


def test_p16_one_run_makes_for_pars_and_guests() -> None:
    pars = [par("recipe sauce", "4 L", "09:00", [2]), par("recipe sauce", "6 L", "15:00", [2])]
    catalogue = kitchen(recipe("sauce", "10 L"), menu_item("glass", ("sauce", "100 mL")), site(pars=pars))
    planned = plan_forecasts(catalogue, [forecast(TUE, "glass", 30)])
    run, (kept,) = only_run(planned, "recipe sauce"), planned.lots
    assert untold("P16", f"4 + 3 + 2 = {litres(run.quantity)}", f"{litres(kept.amount)} of them are a lot") == []


def soup_reported(stock: Iterable[Any] = (), **fields: Any) -> Plan:
    """Soup planned for Tuesday noon as 10 L, and the plan of Wednesday once it was reported done at 12:30."""
    soup = recipe("soup", "10 L", line("onion", "2 kg"), gives={"fat": "500 g"}, keeps="P2D", batch={"multiple": "10 L"})
    catalogue = kitchen(ingredient("onion"), ingredient("fat"), soup, BOWL)
    run = only_run(plan_forecasts(catalogue, [forecast(TUE, "bowl", 40)]), "recipe soup")
    return plan_after(catalogue, [], fixed_run(catalogue, run, {1: said(at(TUE, "12:30"), **fields)}), stock=stock, on=TUE)


def onions_gone(planned: Plan) -> float:
    return sum(need.amount for need in planned.needs if need.item == item("onion"))


def there(planned: Plan, words: str) -> float:
    return sum(each.amount for each in planned.lots if each.item == item(words))


def test_p15_what_was_made_is_there_and_its_by_products_with_it() -> None:
    planned = soup_reported(made=8000)
    assert untold("P15", f"{litres(there(planned, 'recipe soup'))} are there from noon on") == []
    assert untold("P15", f"with {number(there(planned, 'fat'))} g of fat") == []


def test_p15_what_was_begun_is_gone_whatever_came_of_it() -> None:
    assert untold("P15", f"and {kilos(onions_gone(soup_reported(made=8000)))} of onions are gone") == []
    assert untold("P15", f"begun, {kilos(onions_gone(soup_reported(made=8000, begun=8000)))} are gone") == []


def test_p15_what_a_report_says_was_drawn_is_gone() -> None:
    taken = kilos(onions_gone(soup_reported(made=8000, drawn=1900)))
    assert untold("P15", f"`drawn` {taken}, {taken} are") == []


@pytest.mark.parametrize(("hour", "left"), [("13:00", 3000), ("11:00", 11_000)])
def test_p15_a_count_after_the_work_overrules_it(hour: str, left: float) -> None:
    """3 L counted after the soup was done are all there is; counted before, they are there beside it."""
    assert there(soup_reported([counted("recipe soup", "3 L", at(TUE, hour))], made=8000), "recipe soup") == left
    assert untold("P15", "A count of the soup at 13:00 overrules the 8 L, and one at 11:00 does not") == []

"""Reported work in a plan: rule P15, sentence by sentence.

The kitchen of these tests cooks stock overnight for soup: 10 L of stock take 2 kg of onions at 20:30, are strained at 10:40
at the cold line, ready at 11:00. The soup begins at 11:00, takes 8 L of stock and 1 kg of diced onion (1.25 kg as
purchased) for 10 L, and is ready at 12:00. A bowl is 250 mL: 24 bowls are 6 L of soup, made as 10 L.
"""

from collections import defaultdict
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import AS_PRINTED, DONE, FixedRun, Report, Reported
from tests.kitchen.larder import (
    FRI,
    MON,
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
    par,
    recipe,
    site,
    step,
    with_things,
)
from tests.kitchen.plans import (
    counted,
    drawn,
    forecast,
    list_of,
    only_run,
    plan_forecasts,
    plan_needs,
    pulls_of,
    runs_of,
    tasks_of,
    uses_of,
    wanted,
)
from tests.kitchen.reports import fixed_pull, fixed_run, plan_after, said, take, uses_on

STOCK, SOUP, DICE = "recipe stock", "recipe soup", "onion/dice"
STOCK_STEPS = [step("PT10M", "PT14H"), step("PT20M", station="cold-line")]
MEAT_PULL = "pull.mill-street.meat.2026-12-02T0800"
WED_24 = [forecast(WED, "bowl", 24)]
STOCK_ID = "make.mill-street.stock.2026-12-02T1100"


def soups(**fields: Any) -> Catalogue:
    """Stock overnight for soup."""
    tens = {"smallest": "10 L"}
    return kitchen(
        ingredient("onion", form("dice", "0.8")),
        recipe("stock", "10 L", line("onion", "2 kg"), steps=STOCK_STEPS, keeps="P2D", batch=tens),
        recipe(
            "soup",
            "10 L",
            line(DICE, "1 kg"),
            line(STOCK, "8 L"),
            steps=[step("PT1H")],
            portion="250 mL",
            keeps="P1D",
            batch=tens,
            **fields,
        ),
        menu_item("bowl", ("soup", "1 portion")),
    )


KITCHEN = soups()


def before() -> Plan:
    """What Tuesday's plan asks for 24 bowls on Wednesday."""
    return plan_forecasts(KITCHEN, WED_24, on=WED)


def stock_run(reports: dict[int, Report]) -> FixedRun:
    return fixed_run(KITCHEN, only_run(before(), STOCK), reports)


def soup_run(report: Report) -> FixedRun:
    return fixed_run(KITCHEN, only_run(before(), SOUP), {1: report})


def ids(document: Document) -> set[str]:
    return {task["id"].replace(".mill-street", "") for task in tasks_of(document)}


def amount(rows: list[Document], words: str) -> float:
    found: float = sum(row["quantity"]["amount"] for row in rows if item_of(row) == words)
    return found


def item_of(row: Document) -> str:
    named: Document = row["item"]
    return f"recipe {named['recipe']}" if "recipe" in named else "/".join(named[key] for key in ("ingredient", "form") if key in named)


class TestFixed:
    """P15 (a): a report fixes quantity, times and version."""

    def test_p15_a_begun_run_keeps_quantity_and_times_whatever_is_forecast_since(self) -> None:
        # 64 bowls are 16 L of soup, 12.8 L of stock: 10 L are begun, a further run makes the 2.8 L that they lack.
        planned = plan_after(KITCHEN, [forecast(WED, "bowl", 64)], stock_run({1: said(at(TUE, "20:00"), "doing")}), on=WED)
        (kept,) = planned.reported.runs
        assert (kept.run.main.quantity, kept.run.main.need, kept.run.at) == (near(10_000), near(8_000), at(WED, "11:00"))
        assert [(each.starts, each.ready) for each in kept.run.stages] == [
            (at(TUE, "20:30"), at(WED, "10:40")),
            (at(WED, "10:40"), at(WED, "11:00")),
        ]
        further = only_run(planned, STOCK)
        assert (further.main.need, further.main.have, further.main.quantity) == (near(12_800), near(10_000), 10_000)

    def test_p15_a_begun_run_is_kept_when_nothing_is_wanted_any_more(self) -> None:
        planned = plan_after(KITCHEN, [], stock_run({1: said(at(TUE, "20:00"), "doing")}), on=WED)
        assert runs_of(planned, STOCK) == []
        assert ids(list_of(planned, KITCHEN, TUE)) == {"make.stock.2026-12-02T1100.1"}
        assert ids(list_of(planned, KITCHEN, WED)) == {"make.stock.2026-12-02T1100.2"}
        assert amount(list_of(planned, KITCHEN, WED)["left_over"], STOCK) == near(10_000)

    def test_p15_a_begun_run_keeps_its_version_and_a_further_one_takes_the_newer(self) -> None:
        newer = recipe("stock", "10 L", line("onion", "3 kg"), number=2, starts_on=TUE, keeps="P1D", steps=[step("PT2H")])
        catalogue = with_things(KITCHEN, newer)
        planned = plan_after(catalogue, [forecast(WED, "bowl", 64)], stock_run({1: said(at(TUE, "20:00"), "doing")}), on=WED)
        (kept,) = planned.reported.runs
        assert kept.run.version == KITCHEN.versions["stock"][0]
        (shown,) = tasks_of(list_of(planned, catalogue, TUE))
        assert (shown["version"], shown["stage"], shown["draw"][0]["quantity"]["display"]) == (1, {"number": 1, "of": 2}, "2 kg")
        further = only_run(planned, STOCK)
        assert further.version is newer
        # 2.8 L at 3 kg for 10 L.
        assert drawn(further, "onion") == near(840)

    def test_p15_a_begun_task_reads_as_before(self) -> None:
        asked = {task["id"]: task for on in (TUE, WED) for task in tasks_of(list_of(before(), KITCHEN, on))}
        planned = plan_after(KITCHEN, WED_24, stock_run({1: said(at(TUE, "20:00"), "doing")}), on=WED)
        found = {task["id"]: task for on in (TUE, WED) for task in tasks_of(list_of(planned, KITCHEN, on))}
        for number in (1, 2):
            assert found[f"{STOCK_ID}.{number}"] == asked[f"{STOCK_ID}.{number}"]

    def test_p15_and_p12_a_fixed_run_keeps_the_allergens_of_what_went_into_it(self) -> None:
        with_milk = soups()
        with_milk = with_things(with_milk, ingredient("onion", form("dice", "0.8"), contains=["milk"]))
        run = fixed_run(with_milk, only_run(plan_forecasts(with_milk, WED_24, on=WED), STOCK), {1: said(at(TUE, "20:00"))})
        # The onions of another supplier have no milk; those that are in the pot had.
        planned = plan_after(KITCHEN, WED_24, run, on=WED)
        shown = {task["id"]: task["allergens"]["contains"] for task in tasks_of(list_of(planned, KITCHEN, WED), "make")}
        assert shown[f"{STOCK_ID}.2"] == ["milk"]
        assert shown["make.mill-street.soup.2026-12-02T1200.1"] == ["milk"]


class TestStages:
    """P15 (b): other stages stay, a reported one is not asked for again."""

    def test_p15_the_other_stages_stay_and_nothing_new_is_asked_for(self) -> None:
        done = said(at(TUE, "21:00"))
        planned = plan_after(KITCHEN, WED_24, stock_run({1: done}), on=WED, told={f"{STOCK_ID}.1": done})
        assert runs_of(planned, STOCK) == []
        assert pulls_of(planned, "onion")[0].on == WED
        (first,) = tasks_of(list_of(planned, KITCHEN, TUE))
        assert (first["id"], first["progress"]["state"]) == (f"{STOCK_ID}.1", "done")
        second = next(task for task in tasks_of(list_of(planned, KITCHEN, WED)) if task["id"] == f"{STOCK_ID}.2")
        assert (second["progress"], second["late"], second["quantity"]["amount"]) == (None, False, near(10_000))

    def test_p15_and_p7_an_unreported_stage_is_late_on_the_first_list_and_a_reported_one_is_not_on_it(self) -> None:
        planned = plan_after(KITCHEN, [forecast(THU, "bowl", 24)], stock_run({1: said(at(TUE, "21:00"))}), first=THU, on=THU)
        made = [task for task in tasks_of(list_of(planned, KITCHEN, THU), "make") if "stock" in task["id"]]
        # Tuesday's stage was reported, Wednesday's was not; the 10 L are enough for Thursday's soup.
        assert [(task["id"], task["late"], task["start_by"]) for task in made] == [(f"{STOCK_ID}.2", True, "2026-12-02T10:40:00-05:00")]
        assert runs_of(planned, STOCK) == []

    def test_p15_a_run_of_which_nothing_can_be_used_any_more_is_not_to_be_finished(self) -> None:
        # Stock of Wednesday may be used until the end of Friday.
        run = stock_run({1: said(at(TUE, "21:00"))})
        on_friday = plan_after(KITCHEN, [], run, first=FRI, on=FRI)
        on_saturday = plan_after(KITCHEN, [], run, first=SAT, on=SAT)
        assert ids(list_of(on_friday, KITCHEN, FRI)) == {"make.stock.2026-12-02T1100.2"}
        assert ids(list_of(on_saturday, KITCHEN, SAT)) == set()

    def test_p15_stages_that_nobody_reported_still_ask_for_what_they_draw(self) -> None:
        catalogue = kitchen(
            ingredient("onion"),
            ingredient("cream"),
            recipe("sauce", "10 L", line("onion", "2 kg", 1), line("cream", "1 kg", 2), steps=[step("PT1H"), step("PT1H", station="veg")]),
            menu_item("plate", ("sauce", "100 mL")),
        )
        wants = [forecast(TUE, "plate", 100)]
        run = fixed_run(catalogue, only_run(plan_forecasts(catalogue, wants), "recipe sauce"), {1: said(at(TUE, "10:30"))})
        planned = plan_after(catalogue, wants, run)
        assert pulls_of(planned, "onion") == []
        assert [pull.amount for pull in pulls_of(planned, "cream")] == [near(1_000)]

    def test_p15_a_late_run_that_is_over_asks_for_no_ingredients(self) -> None:
        run = soup_run(said(at(WED, "10:00"), "doing"))
        unreported = replace(run, reports={})
        # The soup keeps to the end of Thursday.
        assert [pull.on for pull in pulls_of(plan_after(KITCHEN, [], unreported, first=THU, on=THU), "onion")] == [TUE, WED]
        assert plan_after(KITCHEN, [], unreported, first=FRI, on=FRI).pulls == ()


class TestDrawn:
    """P15 (c): what a reported stage drew."""

    @pytest.mark.parametrize(
        ("report", "left"),
        [
            (said(at(TUE, "21:00")), 3_000),  # As planned, 2 kg of 5.
            (said(at(TUE, "21:00"), "doing"), 3_000),
            (said(at(TUE, "21:00"), made=9_000), 3_000),  # A litre was spilt: its onions are gone as well.
            (said(at(TUE, "21:00"), made=0.0), 3_000),  # All of it burnt.
            (said(at(TUE, "21:00"), made=12_000), 2_600),  # More was made than planned: 2.4 kg went in.
            (said(at(TUE, "21:00"), begun=5_000), 4_000),  # Half of it was put to work.
            (said(at(TUE, "21:00"), begun=5_000, made=4_500), 4_000),
            (said(at(TUE, "21:00"), begun=12_000, made=9_000), 2_600),
            (said(at(TUE, "21:00"), begun=0.0), 5_000),
            (said(at(TUE, "21:00"), drawn=1_500), 3_500),
            (said(at(TUE, "21:00"), begun=9_000, made=9_000, drawn=2_500), 2_500),  # What is said goes before what is reckoned.
            (said(at(TUE, "21:00"), drawn=0.0), 5_000),
        ],
    )
    def test_p15_a_reported_stage_drew_what_it_says_else_in_proportion_to_what_was_begun(self, report: Report, left: float) -> None:
        kitchen_onions = [counted("onion", "5 kg", at(TUE, "08:00"))]
        planned = plan_after(KITCHEN, [], stock_run({1: report}), stock=kitchen_onions, on=TUE)
        assert sum(lot.left for lot in planned.lots if lot.item == item("onion")) == near(left)
        assert planned.pulls == ()

    def test_p15_what_was_begun_says_nothing_of_what_was_made(self) -> None:
        for report, made in ((said(at(WED, "11:00"), begun=5_000), 10_000), (said(at(WED, "11:00"), begun=12_000, made=9_000), 9_000)):
            (lot,) = take(KITCHEN, stock_run({2: report})).lots
            assert lot.amount == near(made)

    def test_p15_each_stage_drew_by_its_own_report(self) -> None:
        catalogue = kitchen(
            ingredient("onion"),
            ingredient("cream"),
            recipe("sauce", "10 L", line("onion", "2 kg", 1), line("cream", "1 kg", 2), steps=[step("PT1H"), step("PT1H", station="veg")]),
        )
        run = only_run(plan_needs(catalogue, [wanted("recipe sauce", 10_000, TUE, "12:00")]), "recipe sauce")
        # Two pots were begun, one was burnt before the cream went in.
        reports = {1: said(at(TUE, "11:00"), begun=10_000), 2: said(at(TUE, "12:00"), begun=5_000, made=5_000)}
        reported = take(catalogue, fixed_run(catalogue, run, reports))
        assert [(need.item.label, need.amount) for need in reported.needs] == [("onion", near(2_000)), ("cream", near(500))]
        assert [lot.amount for lot in reported.lots] == [near(5_000)]

    def test_p15_what_lots_lack_asks_for_nothing(self) -> None:
        one_kilo = [counted("onion", "1 kg", at(TUE, "08:00"))]
        planned = plan_after(KITCHEN, [], stock_run({1: said(at(TUE, "21:00"))}), stock=one_kilo, on=TUE)
        assert planned.pulls == ()
        assert [(need.item, short) for need, short in planned.lacking] == [(item("onion"), near(1_000))]

    def test_p15_an_item_counted_since_is_as_counted(self) -> None:
        report = said(at(TUE, "21:00"))
        for clock, left in (("20:59", 3_000), ("21:00", 3_000), ("21:01", 5_000)):
            planned = plan_after(KITCHEN, [], stock_run({1: report}), stock=[counted("onion", "5 kg", at(TUE, clock))], on=TUE)
            assert sum(lot.left for lot in planned.lots if lot.item == item("onion")) == near(left), clock

    def test_p15_and_p3_reported_draws_come_from_what_expires_first(self) -> None:
        stock = [counted(STOCK, "5 L", at(TUE, "08:00"), MON), counted(STOCK, "5 L", at(TUE, "08:00"), TUE)]
        planned = plan_after(KITCHEN, [], soup_run(said(at(WED, "11:30"))), stock=stock, on=WED)
        # 8 L: Monday's 5 L, 3 L of Tuesday's.
        assert [(lot.made, lot.left) for lot in planned.lots if lot.item == item(STOCK)] == [(MON, 0), (TUE, near(2_000))]
        assert runs_of(planned, STOCK) == []

    def test_p15_two_lines_of_one_item_share_what_the_stage_drew(self) -> None:
        catalogue = kitchen(
            ingredient("salt"),
            recipe("brine", "10 L", line("salt", "300 g", 1), line("salt", "100 g", 1), steps=[step("PT1H")], keeps="P1D"),
        )
        run = only_run(plan_needs(catalogue, [wanted("recipe brine", 10_000, TUE, "12:00")]), "recipe brine")
        fixed = fixed_run(catalogue, run, {1: said(at(TUE, "11:30"), drawn=600)})
        settled = [need.amount for need in take(catalogue, fixed).needs]
        assert settled == [near(450), near(150)]

    def test_p15_what_reported_work_drew_is_gone_for_work_that_was_planned_before_it(self) -> None:
        catalogue = with_things(
            KITCHEN,
            recipe("stew", "10 L", line(STOCK, "8 L"), steps=[step("PT1H")], portion="250 mL", batch={"smallest": "10 L"}),
            menu_item("plate", ("stew", "1 portion")),
        )
        wants = [forecast(TUE, "bowl", 24), forecast(TUE, "plate", 24, "dinner")]
        # 16 L of stock in the kitchen would do for the soup at 11:00 and the stew at 17:00; only 10 L are there.
        stock = [counted(STOCK, "10 L", at(TUE, "06:00"))]
        stew = fixed_run(catalogue, only_run(plan_forecasts(catalogue, wants, stock), "recipe stew"), {1: said(at(TUE, "09:00"), "doing")})
        planned = plan_after(catalogue, wants, stew, stock=stock)
        # The stew has its 8 L, although the soup is due earlier: 2 L are left for the soup, and 6 L to make.
        run = only_run(planned, STOCK)
        assert (run.main.need, run.main.have, run.main.quantity) == (near(8_000), near(2_000), near(10_000))

    def test_p15_and_p2_what_reported_work_drew_comes_in_order_of_time_while_there_is_enough(self) -> None:
        # Wednesday's soup is cooked ahead; Tuesday's stock may be used until the end of Thursday, Wednesday's until Friday's.
        stock = [counted(STOCK, "8 L", at(TUE, "06:00"), TUE), counted(STOCK, "8 L", at(TUE, "06:00"), WED)]
        wants = [forecast(TUE, "bowl", 40), forecast(WED, "bowl", 40)]
        first, second = runs_of(plan_forecasts(KITCHEN, wants, stock, on=WED), SOUP)
        planned = plan_after(KITCHEN, wants, fixed_run(KITCHEN, second, {1: said(at(TUE, "07:00"))}), stock=stock, on=WED)
        assert (first.main.quantity, second.main.quantity) == (near(10_000), near(10_000))
        assert runs_of(planned, STOCK) == []
        assert [(use.need.at, use.lot.made) for use in uses_of(planned, STOCK)] == [(at(TUE, "11:00"), TUE), (at(WED, "11:00"), WED)]

    def test_p15_draws_of_yesterday_came_from_what_is_past_use_today(self) -> None:
        # Stock counted on Sunday's date is past use when Wednesday begins; stock of Monday is not. Tuesday's soup took 8 L.
        sunday = MON.replace(day=29)
        stock = [counted(STOCK, "6 L", at(TUE, "06:00"), sunday), counted(STOCK, "6 L", at(TUE, "06:00"), MON)]
        wants = [forecast(TUE, "bowl", 24)]
        soup = fixed_run(KITCHEN, only_run(plan_forecasts(KITCHEN, wants, stock), SOUP), {1: said(at(TUE, "11:45"))})
        planned = plan_after(KITCHEN, [], soup, stock=stock, first=WED, on=WED)
        assert [(lot.made, lot.left) for lot in planned.lots if lot.item == item(STOCK)] == [(MON, near(4_000))]


class TestMade:
    """P15 (d): the run is a lot."""

    def test_p15_what_was_made_is_a_lot_ready_and_kept_as_planned(self) -> None:
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"), made=15_000)), on=WED)
        (lot,) = [each for each in planned.lots if each.item == item(SOUP)]
        assert (lot.amount, lot.ready, lot.use_by.moment) == (near(15_000), at(WED, "12:00"), at(FRI, "04:00"))
        assert runs_of(planned, SOUP) == []
        assert uses_on(planned, KITCHEN, WED)["soup", WED] == near(6_000)
        assert amount(list_of(planned, KITCHEN, WED)["left_over"], SOUP) == near(9_000)

    def test_p15_what_was_made_too_little_is_made_again(self) -> None:
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"), made=5_000)), on=WED)
        run = only_run(planned, SOUP)
        assert (run.main.need, run.main.have, run.main.quantity) == (near(6_000), near(5_000), near(10_000))

    def test_p15_a_run_that_made_nothing_is_no_lot(self) -> None:
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"), made=0.0)), on=WED)
        run = only_run(planned, SOUP)
        assert (run.main.need, run.main.have) == (near(6_000), 0)
        # 4 L are left of the new run; the other gave nothing.
        assert [lot.amount for lot in planned.lots if lot.item == item(SOUP)] == [near(4_000)]

    @pytest.mark.parametrize(
        ("report", "clock", "left"),
        [
            (said(at(WED, "11:40")), "11:40", 13_000),  # Counted before the report, or at it: both lots.
            (said(at(WED, "11:40")), "11:41", 3_000),  # Counted since: what was found.
            (said(at(WED, "11:00"), "doing"), "11:30", 13_000),  # Begun, but not ready by 12:00: a count cannot have found it.
            (said(at(WED, "11:00"), "doing"), "12:01", 3_000),
            (said(at(WED, "12:30"), "doing"), "12:20", 13_000),
        ],
    )
    def test_p15_unless_the_item_was_counted_since(self, report: Report, clock: str, left: float) -> None:
        stock = [counted(SOUP, "3 L", at(WED, clock))]
        planned = plan_after(KITCHEN, [], soup_run(report), stock=stock, on=WED, first=WED)
        assert sum(lot.left for lot in planned.lots if lot.item == item(SOUP)) == near(left)

    def test_p15_a_count_while_the_first_stage_alone_is_reported_finds_nothing_of_the_run(self) -> None:
        run = stock_run({1: said(at(TUE, "20:00"))})
        for on, clock, left in ((TUE, "22:00", 10_000), (WED, "11:00", 10_000), (WED, "11:01", 0)):
            planned = plan_after(KITCHEN, [], run, stock=[counted(STOCK, "0 L", at(on, clock))], first=WED, on=WED)
            assert sum(lot.left for lot in planned.lots if lot.item == item(STOCK)) == near(left), clock

    def test_p15_the_last_stage_that_says_what_was_made_counts(self) -> None:
        first, second = said(at(TUE, "21:00"), made=9_500), said(at(WED, "11:00"), made=9_000)
        for reports, made in (({1: first}, 9_500), ({1: first, 2: second}, 9_000), ({1: first, 2: said(at(WED, "11:00"))}, 9_500)):
            assert [lot.amount for lot in take(KITCHEN, stock_run(reports)).lots] == [near(made)]

    def test_p15_and_y7_what_was_made_of_the_first_form_of_a_cut_scales_the_others_and_the_by_products(self) -> None:
        catalogue = kitchen(
            ingredient("bones", keeps="P2D"),
            ingredient(
                "bird",
                form("breast", "0.3", cut="bird", gives={"bones": "0.2"}),
                form("leg", "0.4", cut="bird"),
            ),
        )
        run = only_run(plan_needs(catalogue, [wanted("bird/breast", 3_000, TUE, "12:00")]), "bird/breast")
        # 10 kg of birds give 3 kg of breast, 4 kg of leg, 2 kg of bones; of all that nine tenths are there, and the birds are gone.
        reported = take(catalogue, fixed_run(catalogue, run, {1: said(at(TUE, "11:00"), made=2_700)}))
        assert [(lot.item.label, lot.amount) for lot in reported.lots] == [
            ("bird/breast", near(2_700)),
            ("bird/leg", near(3_600)),
            ("bones", near(1_800)),
        ]
        assert [(need.item.label, need.amount, need.settled) for need in reported.needs] == [("bird", near(10_000), True)]
        bones = reported.lots[-1]
        assert (bones.ready, bones.use_by.moment) == (at(TUE, "12:00"), at(FRI, "04:00"))
        # Legs counted since are as counted; the others stay.
        recounted = take(
            catalogue,
            fixed_run(catalogue, run, {1: said(at(TUE, "11:00"))}),
            stock=[counted("bird/leg", "1 kg", at(TUE, "11:30"))],
        )
        assert {lot.item.label: lot.amount for lot in recounted.lots} == {
            "bird/breast": near(3_000),
            "bird/leg": near(1_000),
            "bones": near(2_000),
        }


class TestFound:
    """P15 (d): one criterion tells whether a count has found what was made, drawn and eaten: when the work was done."""

    @pytest.mark.parametrize(
        ("reports", "done"),
        [
            ({1: said(at(TUE, "20:40"))}, at(WED, "11:00")),  # The last stage is to come: found when it is ready, as planned.
            ({1: said(at(TUE, "20:40")), 2: said(at(WED, "10:30"))}, at(WED, "10:30")),
            ({2: said(at(WED, "11:20"))}, at(WED, "11:20")),
            ({2: said(at(WED, "10:45"), "doing")}, at(WED, "11:00")),
            ({2: said(at(WED, "11:20"), "doing")}, at(WED, "11:20")),
            ({2: Report(state=DONE, at=at(WED, "10:50"))}, at(WED, "10:50")),  # No moment stated: the report's own, before it was due,
            ({2: Report(state=DONE, at=at(WED, "11:20"))}, at(WED, "11:00")),  # and as planned once that is past.
            ({2: Report(state="doing", at=at(WED, "10:50"))}, at(WED, "11:00")),
            ({1: AS_PRINTED, 2: AS_PRINTED}, at(WED, "11:00")),
        ],
    )
    def test_p15_a_run_is_done_with_its_last_stage_and_while_that_lasts_as_planned_at_the_earliest(
        self, reports: dict[int, Report], done: datetime
    ) -> None:
        run = stock_run(reports)
        assert run.done == done
        assert [lot.done for lot in run.made(KITCHEN, site().calendar())] == [done]

    def test_p15_a_count_between_the_work_and_its_report_has_found_it(self) -> None:
        # Dinner is ready at 18:00 as planned and reported at 21:00; half a litre was counted at 20:30.
        dinner = [forecast(WED, "bowl", 38, "dinner")]
        run = only_run(plan_forecasts(KITCHEN, dinner, on=WED), SOUP)
        late = Report(state=DONE, at=at(WED, "21:00"))
        stock = [counted(SOUP, "0.5 L", at(WED, "20:30"))]
        for first in (WED, THU):
            planned = plan_after(KITCHEN, dinner, fixed_run(KITCHEN, run, {1: late}), stock=stock, first=first, on=first)
            assert runs_of(planned, SOUP) == []
            assert amount(list_of(planned, KITCHEN, first)["left_over"], SOUP) == near(500)

    def test_p15_what_a_print_assumes_was_done_as_printed(self) -> None:
        # Begun at 11:00 with stock, ready at 12:00.
        for words, clock, left in (
            (SOUP, "12:00", 10_000 + 9_000),
            (SOUP, "12:01", 9_000),
            (STOCK, "11:00", 1_000),
            (STOCK, "11:01", 9_000),
        ):
            stock = [counted(words, "9 L", at(WED, clock), WED)]
            planned = plan_after(KITCHEN, [], soup_run(AS_PRINTED), stock=stock, first=WED, on=WED)
            assert sum(lot.left for lot in planned.lots if lot.item == item(words)) == near(left), (words, clock)

    def test_p15_a_report_without_a_moment_tells_what_was_drawn_as_planned(self) -> None:
        # The onions go in at 20:30. Reported at 21:00 they were gone at 20:30, reported at 20:00 they were gone by then.
        for reported, clock, left in (
            ("21:00", "20:30", 3_000),
            ("21:00", "20:31", 5_000),
            ("20:00", "20:00", 3_000),
            ("20:00", "20:01", 5_000),
        ):
            run = stock_run({1: Report(state="doing", at=at(TUE, reported))})
            planned = plan_after(KITCHEN, [], run, stock=[counted("onion", "5 kg", at(TUE, clock))], on=TUE)
            assert sum(lot.left for lot in planned.lots if lot.item == item("onion")) == near(left), (reported, clock)

    def test_p15_draws_are_found_by_when_their_own_stage_was_done(self) -> None:
        # The stock was begun at 20:40; what the strainers do at 11:00 of the next day changes nothing of the onions.
        run = stock_run({1: said(at(TUE, "20:40")), 2: said(at(WED, "11:00"))})
        for clock, left in (("20:40", 3_000), ("20:41", 5_000)):
            planned = plan_after(KITCHEN, [], run, stock=[counted("onion", "5 kg", at(TUE, clock))], on=TUE)
            assert sum(lot.left for lot in planned.lots if lot.item == item("onion")) == near(left), clock


class TestEaten:
    """P15 (d) of guests of the plan's own dates: what a later count no longer found is not asked for again."""

    @pytest.mark.parametrize(("clock", "left"), [("11:50", 4_000 - 6_000), ("12:00", 4_000 - 6_000), ("12:01", 4_000)])
    def test_p15_guests_whose_run_a_later_count_has_found_ask_for_nothing_again(self, clock: str, left: float) -> None:
        # Of 10 L guests want 6 L at 12:00; 4 L are counted. Before they ate, that is 2 L short of what they want.
        stock = [counted(SOUP, "4 L", at(WED, clock))]
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"))), stock=stock, first=WED, on=WED)
        assert [run.main.need - run.main.have for run in runs_of(planned, SOUP)] == ([] if left > 0 else [near(-left)])
        assert sum(lot.left for lot in planned.lots if lot.item == item(SOUP) and lot.source is None) == near(max(left, 0.0))

    def test_p15_guests_beyond_what_was_made_still_ask(self) -> None:
        # 10 L made for 40 bowls are eaten; 48 are expected now: 8 of them, 2 L, are still to be served.
        run = only_run(plan_forecasts(KITCHEN, [forecast(WED, "bowl", 40)], on=WED), SOUP)
        done = fixed_run(KITCHEN, run, {1: said(at(WED, "11:40"))})
        stock = [counted(SOUP, "0 L", at(WED, "12:30"))]
        planned = plan_after(KITCHEN, [forecast(WED, "bowl", 48)], done, stock=stock, first=WED, on=WED)
        (need,) = [each for each in planned.needs if each.item == item(SOUP)]
        assert (need.amount, need.portions) == (near(2_000), near(8))
        assert [(run.main.need, run.main.have) for run in runs_of(planned, SOUP)] == [(near(2_000), 0)]

    def test_p15_fewer_guests_than_the_run_was_made_for_ask_for_nothing(self) -> None:
        stock = [counted(SOUP, "6 L", at(WED, "12:30"))]
        planned = plan_after(KITCHEN, [forecast(WED, "bowl", 16)], soup_run(said(at(WED, "11:40"))), stock=stock, first=WED, on=WED)
        assert [each for each in planned.needs if each.item == item(SOUP)] == []
        assert amount(list_of(planned, KITCHEN, WED)["left_over"], SOUP) == near(6_000)

    def test_p15_guests_ate_no_more_than_was_made(self) -> None:
        # 5 L for their 6 L: they still ask for one, which the litre of another pot gives.
        stock = [counted(SOUP, "1 L", at(WED, "12:30"))]
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"), made=5_000)), stock=stock, first=WED, on=WED)
        assert runs_of(planned, SOUP) == []
        assert uses_on(planned, KITCHEN, WED)["soup", WED] == near(1_000)

    def test_p15_runs_that_draw_take_from_what_was_made_in_order_of_time(self) -> None:
        # 10 L of stock are for the soup at 11:00, 8 L, and for 8 cups at 12:00, 2 L. 9 L were made: a litre was left for cups.
        catalogue = with_things(KITCHEN, menu_item("cup", ("stock", "250 mL")))
        wants = [forecast(WED, "bowl", 40), forecast(WED, "cup", 8)]
        planned = plan_forecasts(catalogue, wants, on=WED)
        stock = fixed_run(catalogue, only_run(planned, STOCK), {2: said(at(WED, "11:00"), made=9_000)})
        soup = fixed_run(catalogue, only_run(planned, SOUP), {1: said(at(WED, "11:40"))})
        after = plan_after(catalogue, wants, stock, soup, stock=[counted(STOCK, "0 L", at(WED, "12:30"))], first=WED, on=WED)
        assert [(need.amount, need.outlet is not None) for need in after.needs if need.item == item(STOCK)] == [(near(1_000), True)]

    def test_p15_what_guests_had_of_an_earlier_count_is_eaten_too(self) -> None:
        # 9 L were there in the morning, 3 L after 24 bowls: nothing is to be made for them, and 3 L are left.
        stock = [counted(SOUP, "9 L", at(WED, "08:00"), WED), counted(SOUP, "3 L", at(WED, "12:30"), WED)]
        planned = plan_after(KITCHEN, WED_24, stock=stock, first=WED, on=WED)
        assert runs_of(planned, SOUP) == []
        assert amount(list_of(planned, KITCHEN, WED)["left_over"], SOUP) == near(3_000)

    def test_p15_guests_who_came_after_the_print_ate_what_was_made_for_others(self) -> None:
        # 10 L for 24 bowls, and 64 came: 16 L with a second pot, both reported. 4 L are counted, and left.
        first = soup_run(said(at(WED, "11:40")))
        more = [forecast(WED, "bowl", 64)]
        second = fixed_run(KITCHEN, only_run(plan_after(KITCHEN, more, first, first=WED, on=WED), SOUP), {1: said(at(WED, "11:50"))})
        stock = [counted(SOUP, "4 L", at(WED, "12:30"), WED)]
        planned = plan_after(KITCHEN, more, first, second, stock=stock, first=WED, on=WED)
        assert runs_of(planned, SOUP) == []
        assert amount(list_of(planned, KITCHEN, WED)["left_over"], SOUP) == near(4_000)

    def test_p15_what_guests_had_before_an_earlier_count_of_the_date_is_eaten_too(self) -> None:
        # Of 10 L guests have 6 L at 12:00. What is left is counted at 12:30, and again in the evening.
        stock = [counted(SOUP, "4 L", at(WED, "12:30"), WED), counted(SOUP, "3 L", at(WED, "20:00"), WED)]
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"))), stock=stock, first=WED, on=WED)
        assert runs_of(planned, SOUP) == []
        assert amount(list_of(planned, KITCHEN, WED)["left_over"], SOUP) == near(3_000)

    @pytest.mark.parametrize(("made", "asked"), [(8_000, []), (5_000, []), (4_000, [near(3_000)])])
    def test_p15_and_p16_a_par_that_was_full_by_its_time_is_not_filled_again(self, made: float, asked: list[float]) -> None:
        catalogue = with_things(KITCHEN, site(pars=[par(SOUP, "5 L", "09:00", [3])]))
        run = only_run(plan_forecasts(catalogue, WED_24, on=WED, first=WED, until=WED), SOUP)
        assert (run.at, run.main.quantity) == (at(WED, "09:00"), near(11_000))
        fixed = fixed_run(catalogue, run, {1: said(at(WED, "08:40"), made=made)})
        # 2 L of 5 are found later. Only where fewer than 5 L were there by 09:00 are the other 3 asked for.
        stock = [counted(SOUP, "2 L", at(WED, "12:30"))]
        again = plan_after(catalogue, WED_24, fixed, stock=stock, first=WED, on=WED)
        assert [run.main.for_pars for run in runs_of(again, SOUP)] == asked

    def test_p15_what_guests_ate_counts_once_where_a_menu_item_has_an_item_twice(self) -> None:
        # A mug and a cup of soup for each of 20 guests, 5 L and 2 L at one moment; 5.5 L of it were eaten.
        catalogue = with_things(KITCHEN, menu_item("both", ("soup", "250 mL"), ("soup", "100 mL")))
        asked = plan_forecasts(catalogue, [forecast(WED, "both", 20)], on=WED, until=WED).needs
        soups = [need for need in asked if need.item == item(SOUP)]
        assert [need.amount for need in soups] == [near(5_000), near(2_000)]
        outlet = soups[0].outlet
        assert outlet is not None
        assert [need.amount for need in Reported(eaten={(item(SOUP), soups[0].at, outlet): 5_500}).unserved(soups)] == [near(1_500)]


class TestIds:
    """P15 (f): work is named by item, business date and local time of its need_by."""

    def soups_of_an_hour(self) -> Catalogue:
        """Soup that keeps an hour is made twice a day."""
        return with_things(KITCHEN, recipe("soup", "10 L", line(STOCK, "8 L"), steps=[step("PT1H")], portion="250 mL", keeps="PT1H"))

    def test_p15_a_run_is_named_by_the_time_at_which_it_is_needed(self) -> None:
        wants = [forecast(WED, "bowl", 40), forecast(WED, "bowl", 20, "dinner")]
        planned = plan_forecasts(self.soups_of_an_hour(), wants, on=WED)
        assert [run.id for run in runs_of(planned, SOUP)] == [
            "make.mill-street.soup.2026-12-02T1200",
            "make.mill-street.soup.2026-12-02T1800",
        ]

    def test_p15_lunch_that_joins_later_is_asked_for_although_dinner_is_done(self) -> None:
        catalogue = self.soups_of_an_hour()
        dinner = [forecast(WED, "bowl", 20, "dinner")]
        done = fixed_run(catalogue, only_run(plan_forecasts(catalogue, dinner, on=WED), SOUP), {1: said(at(WED, "17:30"))})
        planned = plan_after(catalogue, [*dinner, forecast(WED, "bowl", 40)], done, on=WED)
        assert [(run.id, run.main.quantity) for run in runs_of(planned, SOUP)] == [("make.mill-street.soup.2026-12-02T1200", near(10_000))]
        # And lunch cooked and reported leaves dinner's run to be asked for under its own name.
        both = [*dinner, forecast(WED, "bowl", 40)]
        lunch = fixed_run(catalogue, runs_of(plan_forecasts(catalogue, both, on=WED), SOUP)[0], {1: said(at(WED, "11:40"))})
        later = plan_after(catalogue, both, lunch, on=WED)
        assert [(run.id, run.main.quantity) for run in runs_of(later, SOUP)] == [("make.mill-street.soup.2026-12-02T1800", near(5_000))]

    def test_p15_a_further_run_needed_at_the_same_time_takes_the_lowest_free_ordinal(self) -> None:
        run = stock_run({1: said(at(TUE, "20:00"), "doing")})
        planned = plan_after(KITCHEN, [forecast(WED, "bowl", 64)], run, on=WED)
        assert ids(list_of(planned, KITCHEN, TUE)) == {"make.stock.2026-12-02T1100.1", "make.stock.2026-12-02T1100-2.1"}
        second = fixed_run(KITCHEN, only_run(planned, STOCK), {1: said(at(TUE, "21:00"), "doing")})
        again = plan_after(KITCHEN, [forecast(WED, "bowl", 104)], run, second, on=WED)
        # 104 bowls are 26 L of soup, made as 26 L, 20.8 L of stock, 20 of them begun.
        assert (only_run(again, STOCK).id, only_run(again, STOCK).main.have) == (f"{STOCK_ID}-3", near(20_000))
        # Where the first one was taken back, its name is free again.
        alone = plan_after(KITCHEN, [forecast(WED, "bowl", 104)], second, on=WED)
        assert only_run(alone, STOCK).id == STOCK_ID

    def test_p15_a_run_whose_first_need_is_met_by_lots_is_named_by_the_need_that_it_is_made_for(self) -> None:
        stock = [counted(SOUP, "6 L", at(WED, "08:00"), WED)]
        planned = plan_forecasts(KITCHEN, [*WED_24, forecast(WED, "bowl", 8, "dinner")], stock, first=WED, on=WED)
        assert only_run(planned, SOUP).id == "make.mill-street.soup.2026-12-02T1800"

    def test_p15_a_run_needed_after_midnight_is_named_by_its_business_date(self) -> None:
        late = site(periods={"late": "01:30"})
        planned = plan_forecasts(with_things(KITCHEN, late), [forecast(WED, "bowl", 24, "late")], on=WED)
        assert only_run(planned, SOUP).id == "make.mill-street.soup.2026-12-02T0130"


class TestServed:
    """P15 (g): guests of past dates took what their counts ask for, from lots in order of time."""

    def test_p15_what_guests_of_past_dates_had_is_not_on_hand(self) -> None:
        planned = plan_after(KITCHEN, WED_24, soup_run(said(at(WED, "11:40"), made=15_000)), first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(9_000)

    @pytest.mark.parametrize(("bowls", "left"), [(40, 0), (16, 6_000), (0, 10_000)])
    def test_p15_guests_took_by_their_counts_whatever_the_run_was_made_for(self, bowls: int, left: float) -> None:
        # 40 bowls were printed and made, 10 L; then the forecast was lowered.
        run = only_run(plan_forecasts(KITCHEN, [forecast(WED, "bowl", 40)], on=WED), SOUP)
        done = fixed_run(KITCHEN, run, {1: said(at(WED, "11:40"))})
        evening, morning = (plan_after(KITCHEN, [forecast(WED, "bowl", bowls)], done, first=first, on=first) for first in (WED, THU))
        assert amount(list_of(evening, KITCHEN, WED)["left_over"], SOUP) == near(left)
        assert amount(list_of(morning, KITCHEN, THU)["left_over"], SOUP) == near(left)
        assert (runs_of(evening, SOUP), runs_of(morning, SOUP)) == ([], [])

    def test_p15_thursday_is_planned_the_same_on_wednesdays_evening_and_on_thursdays_morning(self) -> None:
        # 10 L made for 40 bowls, 16 of them came: the 6 L left over are Thursday's 24 bowls.
        run = only_run(plan_forecasts(KITCHEN, [forecast(WED, "bowl", 40)], on=WED), SOUP)
        done = fixed_run(KITCHEN, run, {1: said(at(WED, "11:40"))})
        wants = [forecast(WED, "bowl", 16), forecast(THU, "bowl", 24)]
        evening, morning = (plan_after(KITCHEN, wants, done, first=first, on=THU) for first in (WED, THU))
        assert uses_on(morning, KITCHEN, THU) == {("soup", THU): near(6_000)}
        for planned in (evening, morning):
            assert runs_of(planned, SOUP) == []
        assert tasks_of(list_of(evening, KITCHEN, THU)) == tasks_of(list_of(morning, KITCHEN, THU))

    def test_p15_guests_who_were_more_than_there_was_took_it_all_and_ask_for_nothing(self) -> None:
        done = soup_run(said(at(WED, "11:40"), made=5_000))
        planned = plan_after(KITCHEN, WED_24, done, first=THU, on=THU)
        assert (planned.runs, planned.pulls, planned.needs) == ((), (), ())
        assert list_of(planned, KITCHEN, THU)["left_over"] == []

    def test_p15_and_p3_guests_took_what_expires_first(self) -> None:
        # 6 L of Tuesday's soup, good until the end of Wednesday, go before Wednesday's: of 40 bowls 4 L are of the new pot.
        stock = [counted(SOUP, "6 L", at(WED, "08:00"), TUE)]
        planned = plan_after(KITCHEN, [forecast(WED, "bowl", 40)], soup_run(said(at(WED, "11:40"))), stock=stock, first=THU, on=THU)
        assert [(lot.made, lot.left) for lot in planned.lots if lot.item == item(SOUP)] == [(WED, near(6_000))]

    def test_p15_guests_took_nothing_that_was_not_ready_for_them(self) -> None:
        # Lunch wants 6 L at 12:00 and dinner 2 L; the pot is ready for dinner alone.
        dinner = [forecast(WED, "bowl", 8, "dinner")]
        run = only_run(plan_forecasts(KITCHEN, dinner, on=WED), SOUP)
        planned = plan_after(KITCHEN, [*WED_24, *dinner], fixed_run(KITCHEN, run, {1: said(at(WED, "17:30"))}), first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(8_000)

    def test_p15_guests_and_runs_took_in_order_of_time(self) -> None:
        # 9 L of stock: the soup's 8 L at 11:00, then a litre of the 2 L that 8 cups wanted at 12:00.
        catalogue = with_things(KITCHEN, menu_item("cup", ("stock", "250 mL")))
        wants = [*WED_24, forecast(WED, "cup", 8)]
        stock = [counted(STOCK, "9 L", at(WED, "08:00"), WED)]
        reported = take(catalogue, soup_run(said(at(WED, "11:40"))), stock=stock, first=THU, forecasts=wants)
        assert [(lot.item.label, lot.amount) for lot in reported.lots] == [("soup", near(4_000))]

    def test_p15_a_use_that_nobody_reported_took_its_lot_all_the_same(self) -> None:
        stock = [counted(SOUP, "9 L", at(WED, "08:00"), WED)]
        planned = plan_after(KITCHEN, WED_24, stock=stock, first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(3_000)

    def test_p15_what_was_counted_after_they_ate_is_there(self) -> None:
        soup = soup_run(said(at(WED, "11:40")))
        for clock, left in (("11:50", 1_000), ("12:00", 1_000), ("12:01", 7_000)):
            # Seven litres: before lunch, of which they ate 6 L, or after it.
            planned = plan_after(KITCHEN, WED_24, soup, stock=[counted(SOUP, "7 L", at(WED, clock))], first=THU, on=THU)
            assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(left), clock

    def test_p15_and_p16_a_par_takes_nothing_of_what_was_made(self) -> None:
        catalogue = with_things(KITCHEN, site(pars=[par(SOUP, "5 L", "12:00", [3])]))
        run = only_run(plan_forecasts(catalogue, WED_24, on=WED, first=WED, until=WED), SOUP)
        assert (run.main.need, run.main.quantity) == (near(11_000), near(11_000))
        fixed = fixed_run(catalogue, run, {1: said(at(WED, "11:40"))})
        # Wednesday's par leaves its 5 L to Thursday.
        planned = plan_after(catalogue, WED_24, fixed, first=THU, on=THU)
        assert amount(list_of(planned, catalogue, THU)["left_over"], SOUP) == near(5_000)


class TestPulls:
    """Reported pulls."""

    def roasts(self) -> Catalogue:
        """1.5 kg of frozen meat a kilo of roast, 24 h to thaw, which keeps two days then."""
        return kitchen(
            ingredient("meat", thaw="P1D", keeps="P2D", storage="frozen"),
            recipe("roast", "1 kg", line("meat", "1.5 kg"), steps=[step("PT1H", "PT3H")]),
            menu_item("plate", ("roast", "200 g")),
        )

    def test_p15_and_p13_a_pull_done_brings_a_lot_into_the_kitchen_and_is_not_asked_for_again(self) -> None:
        catalogue = self.roasts()
        wants = [forecast(WED, "plate", 10)]
        (pull,) = pulls_of(plan_forecasts(catalogue, wants, on=WED), "meat")
        done = said(at(TUE, "07:50"))
        planned = plan_after(catalogue, wants, fixed_pull(pull, done), on=WED, told={MEAT_PULL: done})
        assert planned.pulls == ()
        (lot,) = [each for each in planned.lots if each.item == item("meat")]
        # 2 kg of roast take 3 kg at 08:00 of Wednesday; thawed it keeps to the end of Friday.
        assert (lot.amount, lot.ready, lot.use_by.moment, lot.left) == (near(3_000), at(WED, "04:00"), at(SAT, "04:00"), 0)
        (row,) = list_of(planned, catalogue, TUE)["pulls"]
        assert (row["id"], row["progress"]["state"], row["quantity"]["amount"]) == (MEAT_PULL, "done", near(3_000))
        assert list_of(planned, catalogue, WED)["pulls"] == []

    def test_p15_more_guests_ask_for_a_further_pull(self) -> None:
        catalogue = self.roasts()
        (pull,) = pulls_of(plan_forecasts(catalogue, [forecast(WED, "plate", 10)], on=WED), "meat")
        planned = plan_after(catalogue, [forecast(WED, "plate", 14)], fixed_pull(pull, said(at(TUE, "07:50"), made=3_300)), on=WED)
        # 4.2 kg, of which 3.3 kg came out of store.
        (further,) = planned.pulls
        assert further.amount == near(900)
        assert [row["id"] for row in list_of(planned, catalogue, TUE)["pulls"]] == [MEAT_PULL, f"{MEAT_PULL}-2"]

    def test_p15_and_t2_prep_that_starts_earlier_since_it_became_more_takes_what_was_pulled(self) -> None:
        # Dice takes 6 minutes a kilo: 1 kg for 10 guests starts at 11:54, 1.5 kg for 15 at 11:51. The pull keeps its name.
        active = {"set_up": "PT0M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"}
        salad = recipe("salad", "1 kg", line("onion/dice", "1 kg"))
        catalogue = kitchen(ingredient("onion", form("dice", active=active)), salad, menu_item("plate", ("salad", "100 g")))
        (pull,), (more,) = (pulls_of(plan_forecasts(catalogue, [forecast(TUE, "plate", guests)]), "onion") for guests in (10, 15))
        assert (pull.at, more.at) == (at(TUE, "11:54"), at(TUE, "11:51"))
        assert pull.id == more.id == "pull.mill-street.onion.2026-12-01T1200"
        planned = plan_after(catalogue, [forecast(TUE, "plate", 15)], fixed_pull(pull, said(at(TUE, "09:00"))))
        assert [each.amount for each in planned.pulls] == [near(500)]

    def test_p15_meat_counted_since_the_pull_is_as_counted(self) -> None:
        catalogue = self.roasts()
        wants = [forecast(WED, "plate", 10)]
        (pull,) = pulls_of(plan_forecasts(catalogue, wants, on=WED), "meat")
        for clock, missing in (("07:50", 0), ("07:51", 2_000)):
            stock = [counted("meat", "1 kg", at(TUE, clock))]
            planned = plan_after(catalogue, wants, fixed_pull(pull, said(at(TUE, "07:50"))), stock=stock, on=WED)
            assert sum(each.amount for each in planned.pulls) == near(missing)

    def test_p15_a_late_pull_that_was_made_is_not_on_the_first_list_again(self) -> None:
        catalogue = self.roasts()
        (pull,) = pulls_of(plan_forecasts(catalogue, [forecast(TUE, "plate", 10)], on=TUE), "meat")
        planned = plan_after(catalogue, [forecast(TUE, "plate", 10)], fixed_pull(pull, said(at(TUE, "05:00"))))
        assert list_of(planned, catalogue, TUE)["pulls"] == []


def test_p15_and_p10_nothing_is_lost_of_reported_work() -> None:
    """What reported runs made is used or left, and what they drew came from lots or was lacking (P10)."""
    stock = [counted("onion", "3 kg", at(TUE, "08:00")), counted(STOCK, "4 L", at(TUE, "08:00"), TUE)]
    wants = [forecast(WED, "bowl", 64), forecast(THU, "bowl", 40)]
    run = fixed_run(KITCHEN, runs_of(plan_forecasts(KITCHEN, wants, stock, on=THU), STOCK)[0], {1: said(at(TUE, "21:00"), made=9_000)})
    planned = plan_after(KITCHEN, wants, run, stock=stock, on=THU)
    came: dict[Item, float] = defaultdict(float, {item("onion"): 3_000.0, item(STOCK): 4_000.0 + 9_000.0})
    went: dict[Item, float] = defaultdict(float)
    for each in planned.runs:
        came[each.item] += each.main.quantity
    for pull in planned.pulls:
        came[pull.item] += pull.amount
    for need in planned.needs:
        went[need.item] += need.amount
    for need, short in planned.lacking:
        went[need.item] -= short
    for lot in planned.lots:
        went[lot.item] += lot.left
        assert lot.amount == near(lot.left + sum(amount for _, amount in lot.taken))
    assert {each.label: amount for each, amount in came.items()} == {each.label: near(amount) for each, amount in went.items()}


def test_p15_a_report_is_written_in_the_units_of_the_item() -> None:
    done = said(at(TUE, "21:00"), made=9_000, begun=9_500, drawn=1_900)
    done = replace(done, note="Boiled over.")
    planned = plan_after(KITCHEN, WED_24, stock_run({1: done}), on=WED, told={f"{STOCK_ID}.1": done})
    (task,) = tasks_of(list_of(planned, KITCHEN, TUE))
    assert task["progress"] == {
        "state": "done",
        "made": {"amount": 9_000, "unit": "mL", "display": "9 L"},
        "begun": {"amount": 9_500, "unit": "mL", "display": "9.5 L"},
        "drawn": {"amount": 1_900, "unit": "g", "display": "1.9 kg"},
        "at": "2026-12-01T21:00:00-05:00",
        "note": "Boiled over.",
    }
    assert task["quantity"]["display"] == "10 L"

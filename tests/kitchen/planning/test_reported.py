"""Reported work in a plan: rule P15, sentence by sentence.

The kitchen of these tests cooks stock overnight for soup: 10 L of stock take 2 kg of onions at 20:30, are strained at 10:40
at the cold line, ready at 11:00. The soup begins at 11:00, takes 8 L of stock and 1 kg of diced onion (1.25 kg as
purchased) for 10 L, and is ready at 12:00. A bowl is 250 mL: 24 bowls are 6 L of soup, made as 10 L.
"""

from collections import defaultdict
from dataclasses import replace
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.reported import FixedRun, Report
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
from tests.kitchen.reports import fixed_pull, fixed_run, fixed_use, plan_after, said, take, uses_on

STOCK, SOUP, DICE = "recipe stock", "recipe soup", "onion/dice"
STOCK_STEPS = [step("PT10M", "PT14H"), step("PT20M", station="cold-line")]
WED_24 = [forecast(WED, "bowl", 24)]
STOCK_ID = "make.mill-street.stock.2026-12-02"


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
        assert (further.ordinal, further.main.need, further.main.have, further.main.quantity) == (2, near(12_800), near(10_000), 10_000)

    def test_p15_a_begun_run_is_kept_when_nothing_is_wanted_any_more(self) -> None:
        planned = plan_after(KITCHEN, [], stock_run({1: said(at(TUE, "20:00"), "doing")}), on=WED)
        assert runs_of(planned, STOCK) == []
        assert ids(list_of(planned, KITCHEN, TUE)) == {"make.stock.2026-12-02.1"}
        assert ids(list_of(planned, KITCHEN, WED)) == {"make.stock.2026-12-02.2"}
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
        assert shown["make.mill-street.soup.2026-12-02.1"] == ["milk"]


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
        assert ids(list_of(on_friday, KITCHEN, FRI)) == {"make.stock.2026-12-02.2"}
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
            (said(at(TUE, "21:00"), made=9_000), 3_200),  # Nine tenths of 2 kg.
            (said(at(TUE, "21:00"), made=12_000), 2_600),
            (said(at(TUE, "21:00"), made=0.0), 5_000),
            (said(at(TUE, "21:00"), drawn=1_500), 3_500),
            (said(at(TUE, "21:00"), made=9_000, drawn=2_500), 2_500),  # What is said goes before what is reckoned.
            (said(at(TUE, "21:00"), drawn=0.0), 5_000),
        ],
    )
    def test_p15_a_reported_stage_drew_what_it_says_else_in_proportion_to_what_it_made(self, report: Report, left: float) -> None:
        kitchen_onions = [counted("onion", "5 kg", at(TUE, "08:00"))]
        planned = plan_after(KITCHEN, [], stock_run({1: report}), stock=kitchen_onions, on=TUE)
        assert sum(lot.left for lot in planned.lots if lot.item == item("onion")) == near(left)
        assert planned.pulls == ()

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
        assert (run.ordinal, run.main.need, run.main.have, run.main.quantity) == (2, near(6_000), near(5_000), near(10_000))

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
        # 10 kg of birds give 3 kg of breast, 4 kg of leg, 2 kg of bones; 2.7 kg of breast came of 9 kg.
        reported = take(catalogue, fixed_run(catalogue, run, {1: said(at(TUE, "11:00"), made=2_700)}))
        assert [(lot.item.label, lot.amount) for lot in reported.lots] == [
            ("bird/breast", near(2_700)),
            ("bird/leg", near(3_600)),
            ("bones", near(1_800)),
        ]
        assert [(need.item.label, need.amount, need.settled) for need in reported.needs] == [("bird", near(9_000), True)]
        bones = reported.lots[-1]
        assert (bones.ready, bones.use_by.moment) == (at(TUE, "12:00"), at(FRI, "04:00"))
        # Legs counted since are as counted; the others stay.
        recounted = take(
            catalogue,
            fixed_run(catalogue, run, {1: said(at(TUE, "11:00"))}),
            stock=[counted("bird/leg", "1 kg", at(TUE, "11:30"))],
        )
        assert [lot.item.label for lot in recounted.lots] == ["bird/breast", "bones"]


class TestOrdinals:
    """P15 (f)."""

    def test_p15_a_new_run_for_the_same_date_takes_the_next_ordinal(self) -> None:
        run = stock_run({1: said(at(TUE, "20:00"), "doing")})
        planned = plan_after(KITCHEN, [forecast(WED, "bowl", 64)], run, on=WED)
        assert ids(list_of(planned, KITCHEN, TUE)) == {"make.stock.2026-12-02.1", "make.stock.2026-12-02-2.1"}
        second = fixed_run(KITCHEN, only_run(planned, STOCK), {1: said(at(TUE, "21:00"), "doing")})
        again = plan_after(KITCHEN, [forecast(WED, "bowl", 104)], run, second, on=WED)
        # 104 bowls are 26 L of soup, 20.8 L of stock, 20 of them begun.
        assert (only_run(again, STOCK).ordinal, only_run(again, STOCK).main.have) == (3, near(20_000))

    def test_p15_a_run_that_nobody_reported_keeps_its_ordinal_when_a_later_one_is_reported(self) -> None:
        # Soup that keeps an hour is made twice a day.
        catalogue = with_things(KITCHEN, recipe("soup", "10 L", line(STOCK, "8 L"), steps=[step("PT1H")], portion="250 mL", keeps="PT1H"))
        wants = [forecast(WED, "bowl", 40), forecast(WED, "bowl", 20, "dinner")]
        lunch, dinner = runs_of(plan_forecasts(catalogue, wants, on=WED), SOUP)
        planned = plan_after(catalogue, wants, fixed_run(catalogue, dinner, {1: said(at(WED, "09:00"), "doing")}), on=WED)
        assert (lunch.ordinal, dinner.ordinal) == (1, 2)
        assert [(run.ordinal, run.at) for run in runs_of(planned, SOUP)] == [(1, at(WED, "12:00"))]


class TestServed:
    """Guests of dates before the first one have eaten what was made for them."""

    def test_p15_what_guests_of_past_dates_had_is_not_on_hand(self) -> None:
        planned = plan_after(KITCHEN, [], soup_run(said(at(WED, "11:40"), made=15_000)), first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(9_000)

    def test_p15_guests_eat_no_more_than_was_made_of_a_run(self) -> None:
        # 5 L were made for their 6 L, and 4 L are there of another count.
        soup = soup_run(said(at(WED, "11:40"), made=5_000))
        stock = [counted(SOUP, "4 L", at(WED, "08:00"), WED)]
        planned = plan_after(KITCHEN, [], soup, stock=stock, first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(4_000)

    def test_p15_what_a_print_says_again_of_a_reported_run_is_eaten_once(self) -> None:
        soup = soup_run(said(at(WED, "11:40"), made=20_000))
        reprinted = plan_after(KITCHEN, [forecast(WED, "bowl", 32)], soup, first=WED, on=WED)
        use = fixed_use(reprinted, SOUP)
        assert use.amount == near(8_000)
        # 24 bowls when it was cooked, 32 on the newer print: 8 L of 20 L were eaten.
        planned = plan_after(KITCHEN, [], soup, use, first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(12_000)

    def test_p15_a_use_takes_what_was_reported_of_it(self) -> None:
        stock = [counted(SOUP, "9 L", at(WED, "08:00"), WED)]
        planned = plan_forecasts(KITCHEN, WED_24, stock, first=WED, on=WED)
        for report, left in ((None, 3_000), (said(at(WED, "12:30")), 3_000), (said(at(WED, "12:30"), made=5_000), 4_000)):
            after = plan_after(KITCHEN, [], fixed_use(planned, SOUP, report), stock=stock, first=THU, on=THU)
            assert amount(list_of(after, KITCHEN, THU)["left_over"], SOUP) == near(left)

    def test_p15_what_was_counted_after_they_ate_is_there(self) -> None:
        soup = soup_run(said(at(WED, "11:40")))
        for clock, left in (("11:50", 1_000), ("12:30", 7_000)):
            # Seven litres: before lunch, of which they ate 6 L, or after it.
            planned = plan_after(KITCHEN, [], soup, stock=[counted(SOUP, "7 L", at(WED, clock))], first=THU, on=THU)
            assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(left)

    def test_p15_and_p16_a_par_takes_nothing_of_what_was_made(self) -> None:
        catalogue = with_things(KITCHEN, site(pars=[par(SOUP, "5 L", "12:00")]))
        run = only_run(plan_forecasts(catalogue, WED_24, on=WED, first=WED, until=WED), SOUP)
        assert (run.main.need, run.main.quantity) == (near(11_000), near(11_000))
        fixed = fixed_run(catalogue, run, {1: said(at(WED, "11:40"))})
        # Without a par on Thursday the 5 L are simply left.
        planned = plan_after(KITCHEN, [], fixed, first=THU, on=THU)
        assert amount(list_of(planned, KITCHEN, THU)["left_over"], SOUP) == near(5_000)


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
        planned = plan_after(catalogue, wants, fixed_pull(pull, done), on=WED, told={"pull.mill-street.meat.2026-12-02": done})
        assert planned.pulls == ()
        (lot,) = [each for each in planned.lots if each.item == item("meat")]
        # 2 kg of roast take 3 kg at 08:00 of Wednesday; thawed it keeps to the end of Friday.
        assert (lot.amount, lot.ready, lot.use_by.moment, lot.left) == (near(3_000), at(WED, "08:00"), at(SAT, "04:00"), 0)
        (row,) = list_of(planned, catalogue, TUE)["pulls"]
        assert (row["id"], row["progress"]["state"], row["quantity"]["amount"]) == (
            "pull.mill-street.meat.2026-12-02",
            "done",
            near(3_000),
        )
        assert list_of(planned, catalogue, WED)["pulls"] == []

    def test_p15_more_guests_ask_for_a_further_pull(self) -> None:
        catalogue = self.roasts()
        (pull,) = pulls_of(plan_forecasts(catalogue, [forecast(WED, "plate", 10)], on=WED), "meat")
        planned = plan_after(catalogue, [forecast(WED, "plate", 14)], fixed_pull(pull, said(at(TUE, "07:50"), made=3_300)), on=WED)
        # 4.2 kg, of which 3.3 kg came out of store.
        (further,) = planned.pulls
        assert (further.ordinal, further.amount) == (2, near(900))
        assert [row["id"] for row in list_of(planned, catalogue, TUE)["pulls"]] == [
            "pull.mill-street.meat.2026-12-02",
            "pull.mill-street.meat.2026-12-02-2",
        ]

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
    done = Report("done", at(TUE, "21:00"), 9_000, 1_900, "Boiled over.")
    planned = plan_after(KITCHEN, WED_24, stock_run({1: done}), on=WED, told={f"{STOCK_ID}.1": done})
    (task,) = tasks_of(list_of(planned, KITCHEN, TUE))
    assert task["progress"] == {
        "state": "done",
        "made": {"amount": 9_000, "unit": "mL", "display": "9 L"},
        "drawn": {"amount": 1_900, "unit": "g", "display": "1.9 kg"},
        "at": "2026-12-01T21:00:00-05:00",
        "note": "Boiled over.",
    }
    assert task["quantity"]["display"] == "10 L"

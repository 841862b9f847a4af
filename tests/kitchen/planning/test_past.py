"""The past: rules P3 and P15 on dates that are over, and what they leave open.

The kitchen of these tests keeps salt for ever, soup (10 L of 8 L of stock at 11:00, ready at 12:00) to the end of the next
date, stock two dates longer. A bowl is 250 mL of soup.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.kitchen.planning.counted import Counted
from service.kitchen.planning.demand import Need, foresee
from service.kitchen.planning.guests import Forecast
from service.kitchen.planning.past import Closed, Facts, Past, first_counting, newest, unfinished
from service.kitchen.planning.reported import AS_PRINTED, DONE, Fixed, FixedPull, FixedRun, Report
from service.kitchen.planning.stock import Lot
from tests.kitchen.larder import (
    FRI,
    MON,
    SAT,
    THU,
    TUE,
    WED,
    at,
    ingredient,
    item,
    kitchen,
    line,
    menu_item,
    near,
    only_site,
    recipe,
    step,
    with_things,
)
from tests.kitchen.plans import counted, forecast, only_run, plan_forecasts, pulls_of
from tests.kitchen.reports import fixed_pull, fixed_run, said

SOUP, STOCK = "recipe soup", "recipe stock"
KITCHEN = kitchen(
    ingredient("salt"),
    ingredient("meat", thaw="P1D", keeps="P3D"),
    recipe("stock", "10 L", keeps="P2D"),
    recipe(
        "soup",
        "10 L",
        line(STOCK, "8 L", 1),
        line("salt", "100 g", 2),
        steps=[step("PT30M"), step("PT30M", station="cold-line")],
        portion="250 mL",
        keeps="P1D",
        batch={"smallest": "10 L"},
    ),
    recipe("roast", "1 kg", line("meat", "1.5 kg"), steps=[step("PT1H", "PT3H")]),
    menu_item("bowl", ("soup", "1 portion")),
    menu_item("plate", ("roast", "200 g")),
)
SITE = only_site(KITCHEN)
CALENDAR = SITE.calendar()
NOTHING = Closed(on=date.min)
BOWLS = [forecast(WED, "bowl", 24)]


def guests(*forecasts: Forecast) -> tuple[Need, ...]:
    return tuple(need for need in foresee(KITCHEN, SITE, CALENDAR, forecasts, {}, MON, SAT).needs if need.outlet is not None)


def past(*work: FixedRun | FixedPull, stock: Iterable[Counted] = (), wants: Iterable[Forecast] = ()) -> Past:
    runs = tuple(each for each in work if isinstance(each, FixedRun))
    pulls = tuple(each for each in work if isinstance(each, FixedPull))
    return Past(KITCHEN, SITE, Facts(fixed=Fixed(runs, pulls), counted=tuple(stock), guests=guests(*wants)))


def soup(*reports: Report, on: date = WED) -> FixedRun:
    """10 L of soup for 24 bowls of lunch, with reports of its first stages."""
    run = only_run(plan_forecasts(KITCHEN, [forecast(on, "bowl", 24)], first=on, on=on), SOUP)
    return fixed_run(KITCHEN, run, dict(enumerate(reports, 1)))


def thawed(report: Report) -> FixedPull:
    """3 kg of meat for 10 plates on Wednesday, out of store at 08:00 of Tuesday, needed at 08:00 of Wednesday."""
    (pull,) = pulls_of(plan_forecasts(KITCHEN, [forecast(WED, "plate", 10)], on=WED), "meat")
    return fixed_pull(pull, report)


def held(lots: Iterable[Lot]) -> dict[str, float]:
    """How much of each item lots hold."""
    found: dict[str, float] = {}
    for lot in lots:
        found[lot.item.label] = found.get(lot.item.label, 0.0) + lot.amount
    return found


COOKED = (said(at(WED, "11:30")), said(at(WED, "11:50")))


class TestClose:
    """A date is closed: what it leaves is a number of open lots."""

    def test_p15_every_date_on_which_something_happened_is_closed_in_order_and_the_last_before_the_plan(self) -> None:
        known = past(soup(*COOKED), stock=[counted("salt", "1 kg", at(MON, "20:00"))])
        assert [day.on for day in known.close(NOTHING, SAT)] == [MON, WED, FRI]
        assert [day.on for day in past().close(NOTHING, SAT)] == [FRI]
        assert known.close(Closed(on=FRI), SAT) == []

    def test_p15_a_closed_date_holds_what_was_made_less_what_was_drawn_and_eaten(self) -> None:
        stock = [counted(STOCK, "9 L", at(WED, "08:00"), WED), counted("salt", "1 kg", at(WED, "08:00"))]
        (day,) = past(soup(*COOKED), stock=stock, wants=BOWLS).close(NOTHING, THU)
        assert held(day.lots) == {"soup": near(4_000), "stock": near(1_000), "salt": near(900)}
        assert day.counted == {item(STOCK): at(WED, "08:00"), item("salt"): at(WED, "08:00")}

    def test_p15_a_lot_of_which_nothing_is_left_is_no_longer_known(self) -> None:
        (day,) = past(soup(*COOKED), wants=[forecast(WED, "bowl", 40)]).close(NOTHING, THU)
        assert day.lots == ()

    def test_p15_an_open_lot_is_what_it_was_but_for_its_amount(self) -> None:
        (day,) = past(soup(*COOKED), wants=BOWLS).close(NOTHING, THU)
        (lot,) = day.lots
        (made,) = soup(*COOKED).made(KITCHEN, CALENDAR)
        assert lot == replace(made, amount=lot.amount)
        assert (lot.left, lot.taken, lot.done) == (near(4_000), [], at(WED, "11:50"))

    def test_p15_dates_closed_one_by_one_are_as_dates_closed_at_once(self) -> None:
        stock = [
            counted(STOCK, "30 L", at(TUE, "08:00"), TUE),
            counted(SOUP, "9 L", at(THU, "08:00"), WED),
            counted(STOCK, "10 L", at(THU, "13:00"), TUE),
        ]
        wants = [forecast(on, "bowl", 20) for on in (TUE, WED, THU)]
        known = past(soup(*COOKED), soup(said(at(THU, "11:30")), on=THU), stock=stock, wants=wants)
        at_once = known.close(NOTHING, FRI)
        one_by_one = [known.close(NOTHING, WED)[-1]]
        for first in (THU, FRI):
            one_by_one += known.close(one_by_one[-1], first)
        assert at_once == one_by_one
        assert [day.on for day in at_once] == [TUE, WED, THU]
        # Of Thursday's soup the last stage is to come; it is ready as planned. 9 L counted before lunch and 10 L made, 5 L eaten.
        assert held(at_once[-1].lots) == {"soup": near(14_000), "stock": near(10_000)}

    def test_p3_what_was_last_usable_on_a_date_is_open_at_its_end_and_not_on_hand_on_the_next(self) -> None:
        # Soup of Tuesday keeps to the end of Wednesday.
        known = past(stock=[counted(SOUP, "3 L", at(WED, "20:00"), TUE)])
        (day,) = known.close(NOTHING, THU)
        assert held(day.lots) == {"soup": near(3_000)}
        assert known.take_in(day).lots == ()
        assert known.close(day, FRI)[-1].lots == ()

    def test_p3_work_of_a_past_date_that_is_done_today_takes_nothing_that_is_past_use_today(self) -> None:
        # Tuesday's soup is cooked on Wednesday; of the stock there is, that of Sunday was last usable on Tuesday.
        stock = [counted(STOCK, "8 L", at(TUE, "08:00"), MON - timedelta(days=1)), counted(STOCK, "8 L", at(TUE, "08:00"), TUE)]
        late = soup(said(at(WED, "09:00")), said(at(WED, "09:00")), on=TUE)
        known = past(late, stock=stock)
        (tuesday,) = known.close(NOTHING, WED)
        assert held(tuesday.lots)["stock"] == near(16_000)
        (wednesday,) = known.close(tuesday, THU)
        assert [lot for lot in wednesday.lots if lot.item == item(STOCK)] == []
        # A plan from Wednesday on sees the same.
        taken = known.take_in(tuesday)
        assert [(lot.made, lot.amount) for lot in taken.lots if lot.item == item(STOCK)] == [(TUE, near(8_000))]

    def test_p15_late_work_that_is_past_use_when_it_is_done_is_there_for_other_late_work_of_that_date_alone(self) -> None:
        # Soup of Monday, last usable on Tuesday, is cooked on Wednesday for what is as late as it is.
        late = soup(*[said(at(WED, "09:00"))] * 2, on=MON)
        known = past(late)
        tuesday = known.close(NOTHING, WED)[-1]
        assert (tuesday.lots, held(known.take_in(tuesday).lots)) == ((), {"soup": near(10_000)})
        assert known.close(tuesday, THU)[-1].lots == ()
        assert unfinished(late, CALENDAR, TUE)
        assert first_counting(None, late, KITCHEN, CALENDAR) == WED
        # One that can still be used when it is done is ready as planned.
        assert held(past(soup(*[said(at(WED, "09:00"))] * 2, on=TUE)).close(NOTHING, WED)[-1].lots) == {"soup": near(10_000)}

    def test_p15_late_work_is_asked_to_be_finished_on_the_date_on_which_it_was_begun(self) -> None:
        begun = past(soup(said(at(WED, "09:00")), on=MON))
        for first, asked in ((WED, ["salt"]), (THU, [])):
            taken = begun.take_in(begun.close(NOTHING, first)[-1])
            assert [need.item.label for need in taken.needs if not need.settled] == asked

    def test_p15_what_takers_lack_asks_for_nothing_and_leaves_no_debt(self) -> None:
        known = past(soup(*COOKED), stock=[counted(STOCK, "5 L", at(WED, "08:00"), WED)], wants=[forecast(WED, "bowl", 60)])
        (day,) = known.close(NOTHING, THU)
        assert day.lots == ()
        assert known.take_in(day).needs == ()

    def test_p15_and_p2_guests_and_runs_took_in_order_of_time(self) -> None:
        # 8 cups of stock at lunch take the 2 L of Tuesday's, and dinner's soup the 8 L that are ready at 17:00. Had the soup come
        # first, it would have taken Tuesday's, and left 2 L that were not ready for the cups.
        catalogue = with_things(KITCHEN, menu_item("cup", ("stock", "250 mL")))
        planned = plan_forecasts(catalogue, [forecast(WED, "bowl", 40, "dinner")], first=WED, on=WED)
        runs = tuple(fixed_run(catalogue, run, dict.fromkeys((1, 2), AS_PRINTED)) for run in planned.runs)
        stock = (counted(STOCK, "2 L", at(WED, "08:00"), TUE),)
        cups = foresee(catalogue, SITE, CALENDAR, [forecast(WED, "cup", 8)], {}, WED, WED).needs
        (day,) = Past(catalogue, SITE, Facts(fixed=Fixed(runs), counted=stock, guests=cups)).close(NOTHING, THU)
        assert held(day.lots) == {"soup": near(10_000)}
        assert [run.main.quantity for run in planned.runs if run.item == item(STOCK)] == [near(8_000)]

    def test_p15_draws_at_a_later_date_than_the_stage_began_are_taken_on_their_own_date(self) -> None:
        # Bread of Wednesday is mixed on Tuesday and takes its salt when it is baked on Wednesday.
        catalogue = kitchen(
            ingredient("salt"),
            ingredient("flour"),
            recipe("bread", "10 kg", line("flour", "6 kg", 1), line("salt", "100 g", 2), steps=[step("PT30M", "PT20H"), step("PT1H")]),
            menu_item("loaf", ("bread", "1 kg")),
        )
        run = only_run(plan_forecasts(catalogue, [forecast(WED, "loaf", 10)], on=WED), "recipe bread")
        assert [stage.on for stage in run.stages] == [TUE, WED]
        stock = (counted("flour", "10 kg", at(TUE, "08:00")), counted("salt", "1 kg", at(TUE, "08:00")))
        both = {1: said(at(TUE, "15:00")), 2: said(at(WED, "12:00"))}
        facts = Facts(fixed=Fixed((fixed_run(catalogue, run, both),)), counted=stock)
        tuesday, wednesday = Past(catalogue, only_site(catalogue), facts).close(NOTHING, THU)
        assert held(tuesday.lots) == {"flour": near(4_000), "salt": near(1_000)}
        assert held(wednesday.lots) == {"flour": near(4_000), "salt": near(900), "bread": near(10_000)}


class TestCounts:
    """P3 and P15 (d): the newest count holds, and finds what was done before it."""

    def test_p3_the_newest_count_of_an_item_holds_with_all_its_lots(self) -> None:
        first, second = counted("salt", "1 kg", at(TUE, "08:00")), counted("salt", "2 kg", at(TUE, "09:00"))
        more = counted("salt", "3 kg", at(TUE, "09:00"))
        other = counted(STOCK, "1 L", at(TUE, "07:00"))
        assert newest([second, first, other, more]) == {item("salt"): [second, more], item(STOCK): [other]}

    def test_p3_of_two_counts_at_one_moment_the_later_recorded_holds(self) -> None:
        first, second = (replace(counted("salt", amount, at(TUE, "08:00")), number=number) for amount, number in (("1 kg", 1), ("2 kg", 2)))
        assert newest([second, first]) == newest([first, second]) == {item("salt"): [second]}

    def test_p3_a_count_replaces_all_that_was_known_of_its_item_and_of_no_other(self) -> None:
        stock = [counted("salt", "3 kg", at(TUE, "08:00")), counted(STOCK, "5 L", at(TUE, "08:00"), TUE)]
        days = past(stock=[*stock, counted("salt", "0 kg", at(WED, "08:00"))]).close(NOTHING, THU)
        assert [held(day.lots) for day in days] == [{"salt": near(3_000), "stock": near(5_000)}, {"stock": near(5_000)}]
        assert days[-1].counted == {item("salt"): at(WED, "08:00"), item(STOCK): at(TUE, "08:00")}

    @pytest.mark.parametrize(
        ("clock", "on", "soup_left"), [("11:50", WED, 4_000 + 10_000 - 6_000), ("11:51", WED, 4_000 - 6_000), ("12:01", WED, 4_000)]
    )
    def test_p15_a_count_finds_what_was_done_before_it_and_no_more(self, clock: str, on: date, soup_left: float) -> None:
        # The pot was done at 11:50, guests ate 6 L at 12:00.
        (day,) = past(soup(*COOKED), stock=[counted(SOUP, "4 L", at(on, clock))], wants=BOWLS).close(NOTHING, THU)
        assert held(day.lots).get("soup", 0.0) == near(max(soup_left, 0.0))

    def test_p3_a_count_of_nothing_on_the_first_date_is_no_lot(self) -> None:
        known = past(stock=[counted("salt", "0 kg", at(TUE, "08:00"))])
        assert known.take_in(known.close(NOTHING, TUE)[-1]).lots == ()

    def test_p15_a_count_of_an_earlier_date_has_found_what_was_made_and_drawn_ahead(self) -> None:
        # Thursday's soup was cooked on Wednesday, and counted there with what was left of stock and salt.
        ahead = soup(said(at(WED, "15:00")), said(at(WED, "16:00")), on=THU)
        stock = [
            counted(SOUP, "10 L", at(WED, "17:00"), WED),
            counted(STOCK, "2 L", at(WED, "17:00"), WED),
            counted("salt", "1 kg", at(WED, "17:00")),
        ]
        for days in (
            past(ahead, stock=stock).close(NOTHING, FRI),
            past(ahead).close(past(ahead, stock=stock).close(NOTHING, THU)[-1], FRI),
        ):
            assert held(days[-1].lots) == {"soup": near(10_000), "stock": near(2_000), "salt": near(1_000)}

    def test_p3_counts_before_the_end_of_the_first_date_hold_and_later_ones_do_not(self) -> None:
        stock = [counted("salt", f"{number} kg", at(on, "08:00")) for number, on in enumerate((TUE, WED, THU), 1)]
        known = past(stock=stock)
        for first, amount in ((TUE, 1_000), (WED, 2_000), (THU, 3_000)):
            assert held(known.take_in(known.close(NOTHING, first)[-1]).lots) == {"salt": near(amount)}


class TestStore:
    """P13 and P15: stock in store, less what was pulled since it was counted."""

    @pytest.mark.parametrize(("clock", "left"), [("07:59", 7_000), ("08:00", 7_000), ("08:01", 10_000)])
    def test_p15_a_pull_takes_from_store_unless_it_was_counted_since(self, clock: str, left: float) -> None:
        stock = [counted("meat", "10 kg", at(TUE, clock), in_store=True)]
        (day,) = past(thawed(said(at(TUE, "08:00"))), stock=stock).close(NOTHING, WED)
        assert held(day.store) == {"meat": near(left)}
        assert day.lots == ()

    def test_p15_a_pull_leaves_store_when_it_is_done_and_is_in_the_kitchen_when_it_is_thawed(self) -> None:
        stock = [counted("meat", "10 kg", at(MON, "08:00"), in_store=True)]
        days = past(thawed(said(at(TUE, "08:00"), made=3_200)), stock=stock).close(NOTHING, THU)
        assert [(day.on, held(day.store), held(day.lots)) for day in days] == [
            (MON, {"meat": near(10_000)}, {}),
            (TUE, {"meat": near(6_800)}, {}),
            (WED, {"meat": near(6_800)}, {"meat": near(3_200)}),
        ]

    def test_p15_a_plan_knows_what_is_in_store_after_the_pulls_of_its_own_dates(self) -> None:
        known = past(thawed(said(at(TUE, "08:00"))), stock=[counted("meat", "10 kg", at(MON, "08:00"), in_store=True)])
        assert held(known.take_in(known.close(NOTHING, TUE)[-1]).store) == {"meat": near(7_000)}

    def test_p13_stock_in_store_meets_no_need_of_the_past(self) -> None:
        known = past(soup(*COOKED), stock=[counted("salt", "1 kg", at(WED, "08:00"), in_store=True)])
        (day,) = known.close(NOTHING, THU)
        assert (held(day.store), "salt" in held(day.lots)) == ({"salt": near(1_000)}, False)


class TestTakeIn:
    """What a plan makes of it: lots, needs that are settled, and needs of stages that nobody reported."""

    def test_p15_what_happened_before_the_plan_is_in_its_lots_and_what_happens_since_is_in_its_needs(self) -> None:
        stock = [counted(STOCK, "9 L", at(TUE, "08:00"), TUE)]
        known = past(soup(*COOKED), stock=stock)
        on_wednesday, on_thursday = (known.take_in(known.close(NOTHING, first)[-1]) for first in (WED, THU))
        assert held(on_wednesday.lots) == {"stock": near(9_000), "soup": near(10_000)}
        assert [(need.item.label, need.amount, need.settled) for need in on_wednesday.needs] == [
            ("stock", near(8_000), True),
            ("salt", near(100), True),
        ]
        assert held(on_thursday.lots) == {"stock": near(1_000), "soup": near(10_000)}
        assert on_thursday.needs == ()

    def test_p15_an_unreported_stage_of_a_past_date_asks_for_what_it_draws_while_its_run_can_be_used(self) -> None:
        begun = soup(said(at(WED, "11:30")))
        for first, asked in ((THU, [("salt", near(100), False)]), (FRI, [])):
            reported = past(begun).take_in(past(begun).close(NOTHING, first)[-1])
            assert [(need.item.label, need.amount, need.settled) for need in reported.needs] == asked

    def test_p15_f_the_ids_of_fixed_work_are_taken_whether_it_is_finished_or_not(self) -> None:
        fixed = Fixed((soup(*COOKED),), (thawed(said(at(TUE, "08:00"))),), finished=frozenset({"pull.mill-street.salt.2026-11-30T1130"}))
        known = Past(KITCHEN, SITE, Facts(fixed=fixed))
        assert known.take_in(known.close(NOTHING, WED)[-1]).ids == {
            "make.mill-street.soup.2026-12-02T1200",
            "pull.mill-street.meat.2026-12-02T0800",
            "pull.mill-street.salt.2026-11-30T1130",
        }


class TestUnfinished:
    """Which work a closed date must carry on."""

    @pytest.mark.parametrize(
        ("reports", "on", "still"),
        [
            (COOKED, TUE, True),  # Ready on Wednesday only.
            (COOKED, WED, False),
            (COOKED[:1], WED, True),  # A stage is to come,
            (COOKED[:1], THU, False),  # until nothing of it can be used any more.
            ((said(at(THU, "09:00")), said(at(THU, "09:00"))), WED, True),  # It drew when that was done, on Thursday.
            ((said(at(THU, "09:00")), said(at(THU, "09:00"))), THU, False),
            ((said(at(FRI, "09:00")),), THU, True),  # It drew on Friday, although nothing of it can be used by then.
            ((said(at(FRI, "09:00")),), FRI, False),
        ],
    )
    def test_p15_a_run_is_unfinished_while_a_stage_a_lot_or_a_draw_is_to_come(
        self, reports: tuple[Report, ...], on: date, *, still: bool
    ) -> None:
        assert unfinished(soup(*reports), CALENDAR, on) is still

    @pytest.mark.parametrize(
        ("done", "on", "still"),
        [
            (TUE, TUE, True),
            (TUE, WED, False),
            (THU, WED, True),
            (THU, THU, True),  # What came out of store on Thursday is frozen until Friday, as Friday's list says.
            (THU, FRI, False),
        ],
    )
    def test_p15_a_pull_is_unfinished_until_it_is_thawed_and_out_of_store(self, done: date, on: date, *, still: bool) -> None:
        assert unfinished(thawed(said(at(done, "08:00"))), CALENDAR, on) is still

    def test_p15_what_is_finished_changes_nothing_of_later_dates(self) -> None:
        cooked = soup(*COOKED)
        (day,) = past(cooked, wants=BOWLS).close(NOTHING, THU)
        assert not unfinished(cooked, CALENDAR, WED)
        assert past(cooked).close(day, SAT)[-1].lots == past().close(day, SAT)[-1].lots


class TestFirstCounting:
    """From which date on closed dates must be closed anew after a report."""

    def counts(self, old: FixedRun | FixedPull | None, new: FixedRun | FixedPull | None) -> date | None:
        assert first_counting(new, old, KITCHEN, CALENDAR) == first_counting(old, new, KITCHEN, CALENDAR)
        return first_counting(old, new, KITCHEN, CALENDAR)

    def test_p15_work_counts_from_the_date_of_the_first_thing_that_it_makes_or_draws(self) -> None:
        assert self.counts(None, soup(*COOKED)) == WED
        assert self.counts(soup(*COOKED), None) == WED
        late = soup(said(at(THU, "09:00")), said(at(THU, "09:00")))
        # What was drawn counts on Thursday, when it was done; what was made is ready as planned.
        assert self.counts(None, late) == WED

    def test_p15_a_report_that_says_the_same_changes_no_date(self) -> None:
        noted = (COOKED[0], replace(COOKED[1], note="Thin."))
        assert self.counts(soup(*COOKED), soup(*noted)) is None
        assert self.counts(None, None) is None

    def test_p15_what_was_drawn_otherwise_counts_from_the_date_of_the_draw(self) -> None:
        assert self.counts(soup(*COOKED), soup(replace(COOKED[0], drawn=7_000), COOKED[1])) == WED
        assert self.counts(soup(said(at(WED, "11:30"))), soup(said(at(FRI, "09:00")))) == WED
        assert self.counts(soup(said(at(THU, "09:00"))), soup(said(at(THU, "09:00"), begun=5_000))) == THU

    def test_p15_a_moment_at_which_a_count_could_find_it_otherwise_counts(self) -> None:
        # What is made or drawn is ready or taken at the same moment, and done at another.
        assert self.counts(soup(said(at(WED, "10:00"))), soup(said(at(WED, "10:30")))) == WED
        stock = only_run(plan_forecasts(KITCHEN, BOWLS, first=WED, on=WED), STOCK)
        assert stock.draws == ()
        early, late = (fixed_run(KITCHEN, stock, {1: said(at(WED, clock))}) for clock in ("10:00", "10:30"))
        assert self.counts(early, late) == WED
        assert self.counts(soup(AS_PRINTED, AS_PRINTED), soup(AS_PRINTED, Report(state=DONE, at=at(WED, "20:00")))) is None

    def test_p15_a_pull_counts_from_the_date_on_which_it_leaves_store(self) -> None:
        assert self.counts(None, thawed(said(at(TUE, "08:00")))) == TUE
        assert self.counts(thawed(said(at(TUE, "08:00"))), thawed(said(at(TUE, "08:00"), made=3_200))) == TUE

    def test_p15_dates_before_it_are_the_same_closed_anew(self) -> None:
        stock = [counted(STOCK, "20 L", at(TUE, "08:00"), TUE)]
        old, new = soup(*COOKED), soup(replace(COOKED[0], begun=5_000), replace(COOKED[1], made=5_000))
        before, after = (past(each, stock=stock).close(NOTHING, THU) for each in (old, new))
        changed = [one.on for one, other in zip(before, after, strict=True) if one != other]
        assert changed == [WED]
        assert self.counts(old, new) == WED


def expired(*stock: Counted, first: date, wants: Iterable[Forecast] = ()) -> list[tuple[str, float]]:
    """What counts found that may be used no more from a date on, after every date before was closed."""
    history = past(stock=stock, wants=wants)
    closed = history.close(NOTHING, first)
    return [(lot.item.label, lot.amount) for lot in history.take_in(closed[-1]).expired]


def test_h2_what_a_count_found_past_its_use_is_told_until_its_item_is_counted_again() -> None:
    # Soup of Sunday serves to the end of Monday.
    old = counted(SOUP, "3 L", at(TUE, "08:00"), made_on=MON - timedelta(days=1))
    for first in (TUE, WED, FRI):
        assert expired(old, first=first) == [("soup", 3_000)]
    assert expired(old, counted(SOUP, "0 L", at(THU, "08:00")), first=WED) == [("soup", 3_000)]
    assert expired(old, counted(SOUP, "0 L", at(THU, "08:00")), first=THU) == []
    assert expired(old, counted(STOCK, "0 L", at(WED, "08:00")), first=FRI) == [("soup", 3_000)]


def test_h2_of_what_expires_after_a_count_it_is_what_guests_have_left() -> None:
    found = counted(SOUP, "9 L", at(TUE, "08:00"), made_on=TUE)
    assert [expired(found, first=first, wants=BOWLS) for first in (WED, THU, FRI)] == [[], [("soup", near(3_000))], [("soup", near(3_000))]]

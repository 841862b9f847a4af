"""The worked examples of T: steps, leads, clocks, business dates, keeping and stages."""

from datetime import date, datetime, time, timedelta

from service.kitchen.lists.wording import end_of
from service.kitchen.measures.calendar import Keeps
from service.kitchen.planning.guests import Event
from service.kitchen.planning.runs import stages_of, times_of
from tests.kitchen.larder import THU, TUE, WED, at, form, ingredient, kitchen, line, menu_item, moment, reading, recipe, site, step
from tests.kitchen.plans import forecast, list_of, only_run, plan_forecasts, plan_needs, pulls_of, tasks_of, wanted
from tests.rules.page import untold

CALENDAR = site().calendar()


def clock(when: datetime | str) -> str:
    """The time of the clock at the site, from a moment or from what a list writes."""
    return reading(datetime.fromisoformat(when) if isinstance(when, str) else when)[-5:]


def test_t1_the_window_of_a_rest_is_told_by_the_clock() -> None:
    rest = {"min": "PT8H", "target": "PT12H", "max": "PT24H"}
    catalogue = kitchen(recipe("dough", "10 kg", steps=[step("PT10M", rest)]))
    planned = plan_needs(catalogue, [wanted("recipe dough", 1000, WED, "08:10")])
    ((told,),) = [task["steps"] for task in tasks_of(list_of(planned, catalogue), "make")]
    window = told["window"]
    assert untold("T1", f"A step starts at {clock(told['starts'])}") == []
    assert untold("T1", f"Its window reads {clock(window['min'])}, {clock(window['target'])} and {clock(window['max'])}") == []


def test_t2_work_starts_a_lead_before_and_lines_are_needed_with_their_steps() -> None:
    soup = recipe("soup", "10 L", line("stock", "8 L", 2), line("salt", "100 mL"), steps=[step("PT40M"), step("PT10M", "PT20M")])
    catalogue = kitchen(ingredient("stock", kind="volume"), ingredient("salt", kind="volume"), soup)
    run = only_run(plan_needs(catalogue, [wanted("recipe soup", 10_000, TUE, "11:30")]), "recipe soup")
    stock, salt = run.draws
    assert untold("T2", f"To be ready at {clock(run.at)} it starts at {clock(run.stages[0].starts)}") == []
    assert untold("T2", f"is needed at {clock(stock.at)}; its salt, which names no step, at {clock(salt.at)}") == []


def test_t2_a_form_has_the_lead_that_it_states_else_its_hands_on_time() -> None:
    active = {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"}
    catalogue = kitchen(ingredient("onion", form("pickled", lead="PT2H"), form("dice", active=active), form("rings")))
    forms = ("onion/pickled", "onion/dice", "onion/rings")
    planned = plan_needs(catalogue, [wanted(each, 10_000, TUE, "11:00") for each in forms])
    pickled, dice, rings = (only_run(planned, each) for each in forms)
    assert pickled.at - pickled.stages[0].starts == timedelta(hours=2)
    assert rings.stages[0].starts == rings.at
    assert untold("T2", "are started two hours before they are needed") == []
    assert untold("T2", f"for {clock(dice.at)} they are started at {clock(dice.stages[0].starts)}, and the onions pulled by then") == []
    assert [each.at for each in planned.pulls] == [pickled.stages[0].starts]


def test_t2_a_step_whose_hands_on_time_grows_counts_with_that_of_the_authored_yield() -> None:
    by_tray = {"set_up": "PT5M", "per": {"amount": 1, "unit": "tray"}, "time": "PT3M"}
    rolls = recipe("rolls", "24 each", equivalents=["1 tray = 8 each"], steps=[step(by_tray)])
    catalogue = kitchen(rolls)
    leads = {
        run.at - run.stages[0].starts
        for run in (only_run(plan_needs(catalogue, [wanted("recipe rolls", many, TUE, "11:00")]), "recipe rolls") for many in (8, 240))
    }
    assert leads == {timedelta(minutes=14)}
    assert untold("T2", "5 minutes and 3 more for each tray of 8", "it counts as 14 minutes") == []


def test_t3_durations_are_time_that_passes() -> None:
    before = reading(moment("2026-11-01 12:00") - timedelta(hours=18))
    assert before.startswith("2026-10-31")
    assert untold("T3", f"it is {before[-5:]} of the day before, not 18:00") == []


def test_t3_a_time_that_the_change_skips_moves_forward() -> None:
    assert untold("T3", f"02:30 does not exist, and means {clock(moment('2026-03-08 02:30'))}") == []


def test_t4_a_business_date_lasts_until_the_next_begins() -> None:
    supper = reading(CALENDAR.moment(WED, time(0, 30)))
    assert supper == "2026-12-03 00:30"
    assert untold("T4", "00:30 of business date 2 December is at 00:30 of the civil 3 December") == []
    assert [CALENDAR.business_date(at(THU, hour)) for hour in ("03:59", "04:00")] == [WED, THU]
    assert untold("T4", "At 03:59 of 3 December it is still 2 December") == []


def test_t5_a_component_is_needed_at_its_events_own_time_else_at_that_of_its_period() -> None:
    catalogue = kitchen(recipe("soup", "10 L"), menu_item("bowl", ("soup", "250 mL")))
    banquet = Event("banquet", serve_at=time(13, 30))
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 10), forecast(TUE, "bowl", 10, event=banquet)])
    lunch, later = (clock(need.at) for need in planned.needs)
    assert untold("T5", f"Lunch is ready by {lunch}", f"A banquet at lunch has {later} for its own time") == []


def until(keeps: str) -> str:
    """The last moment of what is ready on Tuesday at 11:00, and whether that moment itself still serves."""
    found = CALENDAR.use_by(at(TUE, "11:00"), Keeps.read(keeps))
    return f"{reading(found.moment)}{', and at it' if found.included else ''}"


def test_t6_days_end_with_a_business_date_and_hours_with_their_moment() -> None:
    assert date(2026, 12, 4).strftime("%A") == "Friday"
    assert (until("P2D"), until("PT4H")) == ("2026-12-04 04:00", "2026-12-01 15:00, and at it")
    assert untold("T6", "may be used until Friday, 4 December, 04:00", "may be used until 15:00, and at 15:00") == []
    on = CALENDAR.last_date(CALENDAR.use_by_date(TUE, 2))
    assert on is not None
    assert untold("T6", f'"use by {end_of(on)}"') == []


def test_t7_a_pull_starts_its_thaw_before_it_is_needed() -> None:
    turkey = kitchen(ingredient("turkey", thaw="P2D"))
    (pull,) = pulls_of(plan_needs(turkey, [wanted("turkey", 1000, THU, "08:00")]), "turkey")
    assert CALENDAR.business_date(pull.starts) == TUE
    assert untold("T7", f"needed on Thursday at {clock(pull.at)} are pulled on Tuesday at {clock(pull.starts)}") == []


def test_t8_a_stage_ends_where_station_or_date_changes() -> None:
    bread = recipe("bread", "10 kg", steps=[step("PT30M", "PT15H"), step("PT1H", station="bakery")])
    dough, baking = stages_of(bread, times_of(bread, at(WED, "10:00")), CALENDAR)
    assert [(dough.on, dough.station), (baking.on, baking.station)] == [(TUE, "hot-line"), (WED, "bakery")]
    assert untold("T8", f"the dough, on Tuesday from {clock(dough.starts)}") == []
    assert untold("T8", f"the baking, on Wednesday from {clock(baking.starts)}") == []

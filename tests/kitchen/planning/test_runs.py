"""Runs and their stages: rules T2, T3 and T8, and the portions of P7."""

from datetime import date, timedelta

from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.explained.shares import portions_at_risk
from service.kitchen.planning.demand import Share
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.runs import Stage, stages_of, times_of
from tests.kitchen.larder import MON, TUE, WED, Document, at, line, moment, reading, recipe, site, step

MINUTE = timedelta(minutes=1)


def stages(*steps: Document, ready: str = "2026-12-02 12:00", where: Site | None = None, station: str = "hot-line") -> list[Stage]:
    """The stages of a recipe of these steps that is ready at a moment."""
    place = where or site()
    made = made_of(*steps, station=station)
    return list(stages_of(made, times_of(made, moment(ready, place)), place.calendar()))


def made_of(*steps: Document, station: str = "hot-line") -> Version:
    return recipe("bread", "10 each", line("flour", "6 kg"), steps=steps, station=station)


def shape(found: list[Stage]) -> list[tuple[str, date, list[int]]]:
    """Station, business date and step numbers of each stage."""
    return [(stage.station, stage.on, [each.number for each in stage.steps]) for stage in found]


def test_t8_steps_at_one_station_on_one_date_are_one_stage() -> None:
    assert shape(stages(step("PT10M"), step("PT10M", "PT1H"), step("PT5M"))) == [("hot-line", WED, [1, 2, 3])]


def test_t8_a_new_stage_begins_where_the_station_changes() -> None:
    found = stages(step("PT10M"), step("PT10M", station="bakery"), step("PT5M", station="bakery"), step("PT5M"))
    assert shape(found) == [("hot-line", WED, [1]), ("bakery", WED, [2, 3]), ("hot-line", WED, [4])]


def test_t8_a_step_that_names_the_recipes_own_station_begins_no_stage() -> None:
    assert len(stages(step("PT10M"), step("PT10M", station="hot-line"))) == 1


def test_t8_a_new_stage_begins_where_a_step_starts_on_a_later_business_date() -> None:
    # Mixed at 17:30 of Tuesday, 18 h of rest from 18:00, baked at noon of Wednesday, ready at 12:40.
    found = stages(step("PT30M", "PT18H"), step("PT10M", "PT30M"), ready="2026-12-02 12:40")
    assert shape(found) == [("hot-line", TUE, [1]), ("hot-line", WED, [2])]
    assert [(reading(stage.starts), reading(stage.ready)) for stage in found] == [
        ("2026-12-01 17:30", "2026-12-02 12:00"),
        ("2026-12-02 12:00", "2026-12-02 12:40"),
    ]


def test_t8_a_later_civil_day_before_day_starts_is_no_later_business_date() -> None:
    # The second step starts at 03:59 of Wednesday, which is still Tuesday's date; at 04:00 it would be a stage of its own.
    assert shape(stages(step("PT6H"), step("PT1M"), ready="2026-12-02 04:00")) == [("hot-line", TUE, [1, 2])]
    assert shape(stages(step("PT6H"), step("PT1M"), ready="2026-12-02 04:01")) == [("hot-line", TUE, [1]), ("hot-line", WED, [2])]


def test_t8_each_step_is_compared_with_the_one_before_it() -> None:
    # Three steps, each a day after the one before.
    found = stages(step(None, "P1D"), step(None, "P1D"), step("PT1H"), ready="2026-12-02 12:00")
    assert shape(found) == [("hot-line", MON, [1]), ("hot-line", TUE, [2]), ("hot-line", WED, [3])]


def test_t8_a_recipe_without_steps_has_one_stage() -> None:
    (stage,) = stages()
    assert (stage.station, stage.on, stage.starts, stage.ready, stage.steps) == ("hot-line", WED, at(WED, "12:00"), at(WED, "12:00"), ())
    assert stage.holds(None)


def test_t8_lines_are_those_of_the_stages_steps_and_without_a_step_those_of_the_first() -> None:
    first, second = stages(step("PT10M"), step("PT10M"), step("PT10M", station="bakery"))
    assert [first.holds(number) for number in (None, 1, 2, 3)] == [True, True, True, False]
    assert [second.holds(number) for number in (None, 1, 2, 3)] == [False, False, False, True]


def test_t8_a_stage_is_ready_when_its_last_step_ends_passive_time_included() -> None:
    first, second = stages(step("PT10M", "PT2H"), step("PT10M", station="bakery"))
    assert reading(first.ready) == reading(second.starts) == "2026-12-02 11:50"
    assert reading(second.ready) == "2026-12-02 12:00"


def test_t2_planning_uses_the_target_of_a_passive_window() -> None:
    (stage,) = stages(step("PT10M", {"min": "PT1H", "target": "PT2H", "max": "PT6H"}))
    assert reading(stage.starts) == "2026-12-02 09:50"


def test_t3_steps_across_a_clock_change_last_as_long_as_ever() -> None:
    # 18 h before noon of 1 November 2026 in New York is 19:00 of the day before, as clocks go back an hour in between.
    (mix,) = stages(step(None, "PT18H"), ready="2026-11-01 12:00")
    assert reading(mix.starts) == "2026-10-31 19:00"
    (mix,) = stages(step(None, "PT18H"), ready="2026-03-08 12:00")
    assert reading(mix.starts) == "2026-03-07 17:00"


def test_t2_a_thin_cut_seasoned_an_hour_before_a_four_hour_cook_for_1730_is_seasoned_by_1230() -> None:
    # Common practice, no source: a thin cut is salted about an hour before it cooks; 17:30 - 4 h - 1 h = 12:30.
    (stage,) = stages(
        step(None, {"min": "PT40M", "target": "PT1H", "max": "PT2H"}, text="Season."),
        step(None, "PT4H", text="Braise."),
        ready="2026-12-02 17:30",
    )
    season, braise = stage.steps
    assert (reading(season.starts), reading(braise.starts)) == ("2026-12-02 12:30", "2026-12-02 13:30")


def test_p7_a_portion_that_hangs_on_two_shares_counts_once() -> None:
    lunch, dinner = Outlet("bowl", TUE, "lunch", None), Outlet("bowl", TUE, "dinner", None)
    shares = [Share(lunch, 5.0, 10.0), Share(lunch, 3.0, 10.0), Share(dinner, 2.0, 4.0), Share(None, 9.0, 0.0), Share(dinner, 0.0, 3.0)]
    assert portions_at_risk(shares, {lunch: 12.0, dinner: 20.0}) == [(dinner, 4.0), (lunch, 12.0)]


def test_t2_steps_follow_each_other_without_a_gap() -> None:
    (stage,) = stages(step("PT10M", "PT20M"), step("PT5M"), step(None, "PT1H"))
    ends = [each.starts + each.step.duration for each in stage.steps]
    assert [each.starts for each in stage.steps[1:]] == ends[:-1]
    assert ends[-1] == stage.ready
    assert stage.ready - stage.starts == 95 * MINUTE

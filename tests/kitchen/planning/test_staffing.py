"""Hours in the plan: rules K1 to K3, through the whole planner."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pytest

from service.kitchen.book.capacity import Capacity, read_shift
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.staffing import AS_USUAL, Staffing
from tests.kitchen.larder import (
    FRI,
    MON,
    SAT,
    SUN,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    kitchen,
    line,
    machines,
    only_site,
    reading,
    recipe,
    shift,
    site,
    step,
)
from tests.kitchen.plans import list_of, only_run, plan_needs, pulls_of, runs_of, tasks_of, wanted
from tests.kitchen.reports import fixed_pull, fixed_run, said

WEEK = timedelta(days=7)


def soup(*steps: Document, **fields: Any) -> Any:
    return recipe("soup", "10 L", *fields.pop("lines", ()), steps=steps, **{"keeps": "P3D", **fields})


def planned(
    where: Site, *things: Any, on: date = WED, by: str = "12:00", different: Mapping[date, Capacity] = AS_USUAL, litres: int = 10
) -> tuple[Catalogue, Plan]:
    """The plan of some soup by a time of a date."""
    catalogue = kitchen(where, *things)
    return catalogue, plan_needs(
        catalogue, [wanted("recipe soup", 1000 * litres, on, by, where=where)], different=different, first=MON - WEEK
    )


def starts(found: tuple[Catalogue, Plan], words: str = "recipe soup") -> list[str]:
    """When the steps of the only run of something start, and when it is ready."""
    run = only_run(found[1], words)
    steps = [each.starts for stage in run.stages for each in stage.steps]
    return [reading(each, only_site(found[0])) for each in (*steps, run.ready)]


def warned(plan: Plan) -> list[tuple[date, str]]:
    return [(each.on, each.code) for each in plan.warnings]


class TestOptIn:
    """K1: who states nothing has no limit."""

    def test_k1_a_site_without_shifts_has_no_staffing(self) -> None:
        assert Staffing.of(site(equipment=[machines("oven")])) is None

    def test_k1_a_station_that_no_shift_names_sets_no_limit_and_is_planned_to_the_second(self) -> None:
        found = planned(site(shifts=[shift("bakery", "06:00", "08:00")]), soup(step("PT90S", "PT10M")))
        assert only_run(found[1], "recipe soup").stages[0].starts == at(WED, "12:00") - timedelta(minutes=11, seconds=30)

    def test_k1_equipment_that_the_site_has_not_sets_no_limit(self) -> None:
        baked = soup(step(None, "PT2H", equipment="oven"))
        hours = [shift("hot-line", "11:00", "12:00")]
        assert starts(planned(site(shifts=hours), baked)) == ["2026-12-02 10:00", "2026-12-02 12:00"]
        # Taken out at noon, it would be put in at ten, when nobody is there: the latest both can be is never; the day before too.
        assert warned(planned(site(shifts=hours, equipment=[machines("oven")]), baked)[1]) == [(WED, "outside_hours")]

    def test_k1_the_same_kitchen_without_shifts_is_planned_as_before(self) -> None:
        steps = (step("PT20M", {"min": "PT5H", "target": "PT6H", "max": "PT7H"}), step("PT30M", "PT40M"))
        found = planned(site(), soup(*steps), by="07:30")
        assert starts(found) == ["2026-12-02 00:00", "2026-12-02 06:20", "2026-12-02 07:30"]
        assert found[1].staffing is None


class TestHours:
    """K2: a hands-on piece lies within one shift; what is in equipment is put in and taken out by somebody."""

    def test_k2_a_piece_lies_wholly_within_one_shift(self) -> None:
        # Two shifts that touch are no one shift, and neither has an hour before noon but the first.
        hours = [shift("hot-line", "09:00", "11:30"), shift("hot-line", "11:30", "12:00")]
        assert starts(planned(site(shifts=hours), soup(step("PT1H")))) == ["2026-12-02 10:30", "2026-12-02 11:30"]

    def test_k2_a_piece_may_begin_and_end_on_the_edges_of_a_shift(self) -> None:
        assert starts(planned(site(shifts=[shift("hot-line", "10:00", "11:00")]), soup(step("PT1H")))) == [
            "2026-12-02 10:00",
            "2026-12-02 11:00",
        ]

    def test_k2_what_needs_no_hands_runs_while_nobody_is_there(self) -> None:
        found = planned(site(shifts=[shift("hot-line", "18:00", "22:00")]), soup(step("PT30M", "PT14H")))
        assert starts(found) == ["2026-12-01 21:30", "2026-12-02 12:00"]

    def test_k2_shifts_at_one_time_are_rows_of_their_own(self) -> None:
        # The early shift is shorter than the piece, the long one has it.
        hours = [shift("hot-line", "11:00", "12:00"), shift("hot-line veg", "08:00", "12:00"), shift("veg hot-line", "09:00", "11:50")]
        assert starts(planned(site(shifts=hours), soup(step("PT2H")))) == ["2026-12-02 10:00", "2026-12-02 12:00"]

    def test_k2_the_station_map_tells_whose_hours_count(self) -> None:
        hours: dict[str, Any] = {"shifts": [shift("cold-line", "08:00", "09:00"), shift("hot-line", "08:00", "12:00")]}
        assert starts(planned(site(station_map={"hot-line": "cold-line"}, **hours), soup(step("PT1H"))))[0] == "2026-12-02 08:00"
        assert starts(planned(site(**hours), soup(step("PT1H"))))[0] == "2026-12-02 11:00"

    def test_k2_the_equipment_map_tells_what_is_used(self) -> None:
        roast = soup(step(None, "PT2H", equipment="combi"), step("PT10M", station="veg"))
        where: dict[str, Any] = {"shifts": [shift("hot-line", "08:00", "11:00")], "equipment": [machines("oven")]}
        # The oven must be empty by eleven; of a combi that it has not the site knows no hours.
        assert starts(planned(site(equipment_map={"combi": "oven"}, **where), roast))[0] == "2026-12-02 09:00"
        assert starts(planned(site(**where), roast))[0] == "2026-12-02 09:50"

    def test_k2_a_shift_without_cooks_is_nobody(self) -> None:
        hours = [shift("hot-line", "08:00", "12:00", cooks=0), shift("hot-line", "06:00", "07:00")]
        assert starts(planned(site(shifts=hours), soup(step("PT30M")))) == ["2026-12-02 06:30", "2026-12-02 07:00"]

    def test_k2_a_shift_may_last_over_midnight(self) -> None:
        where = site(shifts=[shift("hot-line", "20:00", "03:00", weekdays=[2])])
        # Tuesday's shift, on the Wednesday of the calendar.
        assert starts(planned(where, soup(step("PT1H")), by="05:00")) == ["2026-12-02 02:00", "2026-12-02 03:00"]
        assert starts(planned(where, soup(step("PT1H")), by="02:30")) == ["2026-12-02 01:30", "2026-12-02 02:30"]

    def test_k2_a_shift_of_another_date_may_overlap_with_that_of_the_day_before(self) -> None:
        where = site(shifts=[shift("hot-line", "20:00", "06:00")])
        early = Capacity(shifts=(read_shift(shift("hot-line", "05:00", "07:00")),))
        found = planned(where, soup(step("PT90M")), by="06:45", different={WED: early})
        assert starts(found) == ["2026-12-02 05:15", "2026-12-02 06:45"]

    def test_k2_hours_are_elapsed_time_where_clocks_change(self) -> None:
        # Clocks go back on Sunday, 1 November: from 22:00 until 05:00 are eight hours, so that seven of rest end while nobody is there.
        where = site(shifts=[shift("hot-line", "05:00", "22:00")], equipment=[machines("oven")])
        roast = soup(step("PT20M", "PT7H", equipment="oven"))
        catalogue = kitchen(where, roast)
        for on, expected in ((date(2026, 10, 31), "2026-10-30 21:40"), (date(2026, 11, 1), "2026-10-31 14:40")):
            found = plan_needs(catalogue, [wanted("recipe soup", 10_000, on, "07:00", where=where)], first=date(2026, 10, 20))
            assert starts((catalogue, found))[0] == expected


class TestPlan:
    """K3: by hours each step is as late as can be, and what follows goes by that."""

    def test_k3_a_closing_day_moves_work_to_the_day_before(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "14:00")])
        closed = {WED: Capacity(shifts=())}
        assert starts(planned(where, soup(step("PT1H")), by="15:00")) == ["2026-12-02 13:00", "2026-12-02 14:00"]
        assert starts(planned(where, soup(step("PT1H")), by="15:00", different=closed)) == ["2026-12-01 13:00", "2026-12-01 14:00"]

    def test_k3_the_weekend_is_bridged(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "14:00", weekdays=range(1, 6))])
        found = planned(where, soup(step("PT1H")), on=SUN)
        assert starts(found) == ["2026-12-04 13:00", "2026-12-04 14:00"]
        assert [stage.on for stage in only_run(found[1], "recipe soup").stages] == [FRI]

    def test_k3_a_rest_lasts_as_near_to_its_target_as_can_be_of_two_the_longer(self) -> None:
        def brined(least: str, most: str, *hours: Document) -> list[str]:
            rest, where = {"min": least, "target": "PT4H", "max": most}, site(shifts=hours)
            return starts(planned(where, soup(step("PT30M", rest), step("PT1H", station="veg"))))

        # At best it begins to rest at 07:00, when nobody is there; an hour sooner and an hour later somebody is.
        near = [shift("hot-line", "05:00", "06:00"), shift("hot-line", "07:30", "08:30")]
        assert brined("PT1H", "PT8H", *near) == ["2026-12-02 05:30", "2026-12-02 11:00", "2026-12-02 12:00"]
        assert brined("PT1H", "PT8H", near[1])[0] == "2026-12-02 07:30"
        assert brined("PT1H", "PT4H30M", *near)[0] == "2026-12-02 07:30"

    def test_k3_draws_follow_the_steps_and_a_line_without_a_step_the_first(self) -> None:
        lines = [line("salt", "10 g"), line("recipe stock", "5 L", step=2)]
        steps = (step("PT30M"), step("PT30M", station="veg"))
        where = site(shifts=[shift("hot-line", "06:00", "09:00"), shift("veg", "06:00", "09:30")])
        found = planned(where, soup(*steps, lines=lines), recipe("stock", "5 L", steps=[step("PT30M")]), ingredient("salt"))
        assert starts(found) == ["2026-12-02 08:30", "2026-12-02 09:00", "2026-12-02 09:30"]
        assert [reading(pull.at) for pull in pulls_of(found[1], "salt")] == ["2026-12-02 08:30"]
        assert starts(found, "recipe stock") == ["2026-12-02 08:30", "2026-12-02 09:00"]

    def test_k3_a_use_by_counts_from_when_the_last_step_ends(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "09:00")])
        found = planned(where, soup(step("PT30M"), keeps="PT4H"))
        assert only_run(found[1], "recipe soup").main.use_by.moment == at(WED, "13:00")
        days = planned(where, soup(step("PT30M"), keeps="P1D"), by="05:30")
        assert reading(only_run(days[1], "recipe soup").main.use_by.moment) == "2026-12-03 04:00"

    def test_k3_a_window_ends_by_when_the_last_step_ends(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "09:00")])
        made = soup(step("PT30M"), keeps="PT4H")
        catalogue = kitchen(where, made)
        needs = [wanted("recipe soup", 1000, WED, clock, where=where) for clock in ("12:00", "12:45", "13:15")]
        # Ready at nine it keeps until one; the third is past that, and nobody is there to make it later: none can be right for it.
        plan = plan_needs(catalogue, needs)
        assert [(reading(run.at), reading(run.ready)) for run in runs_of(plan, "recipe soup")] == [
            ("2026-12-02 12:00", "2026-12-02 09:00"),
            ("2026-12-02 13:15", "2026-12-02 13:15"),
        ]
        assert warned(plan) == [(WED, "outside_hours")]

    def test_k3_surplus_and_by_products_are_lots_from_when_the_last_step_ends(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "09:00")])
        made = soup(step("PT30M"), batch={"multiple": "10 L"}, by_products=[{"ingredient": "fat", "quantity": {"amount": 1, "unit": "kg"}}])
        _, plan = planned(where, made, ingredient("fat", keeps="P1D"), litres=4)
        assert {each.item.label: reading(each.ready) for each in plan.lots} == {"soup": "2026-12-02 09:00", "fat": "2026-12-02 09:00"}

    def test_k3_nothing_within_fourteen_days_is_t2_with_a_warning_on_its_list(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "14:00", weekdays=[1]), shift("bakery", "06:00", "14:00")])
        closed = {MON: Capacity(shifts=()), MON - WEEK: Capacity(shifts=()), MON - 2 * WEEK: Capacity(shifts=())}
        catalogue, plan = planned(where, soup(step("PT1H")), different=closed)
        assert starts((catalogue, plan)) == ["2026-12-02 11:00", "2026-12-02 12:00"]
        (warning,) = [each for each in list_of(plan, catalogue, WED)["warnings"] if each["code"] == "outside_hours"]
        assert warning["detail"] == (
            "Soup has no place in the hours of Hot-line in the 14 days before it is needed, on 2026-12-02 at 12:00; "
            "it is listed as if somebody were there"
        )
        assert warning["item"]["recipe"] == "soup"
        assert not [each for each in list_of(plan, catalogue, TUE)["warnings"] if each["code"] == "outside_hours"]

    def test_k3_what_would_be_past_its_use_by_has_no_place(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "14:00")])
        # P0D from Tuesday's shift ends before Wednesday's breakfast.
        assert warned(planned(where, soup(step("PT1H"), keeps="P0D"), by="06:30")[1]) == [(WED, "outside_hours")]
        assert warned(planned(where, soup(step("PT1H"), keeps="P1D"), by="06:30")[1]) == []

    def test_k3_a_form_stays_at_its_lead(self) -> None:
        where = site(shifts=[shift("veg hot-line", "06:00", "09:00")])
        made = soup(step("PT30M"), lines=[line("onion/small-dice", "1 kg")])
        _, plan = planned(where, made, ingredient("onion", form("small-dice", lead="PT2H")))
        (stage,) = only_run(plan, "onion/small-dice").stages
        assert (reading(stage.starts), reading(stage.ready)) == ("2026-12-02 06:30", "2026-12-02 08:30")

    def test_k3_what_two_dates_need_early_is_one_run_where_the_window_allows(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "14:00", weekdays=range(1, 6))])
        made = soup(step("PT1H"), makes_for=2)
        catalogue = kitchen(where, made)
        plan = plan_needs(catalogue, [wanted("recipe soup", 1000, on, "12:00", where=where) for on in (SAT, SUN)])
        assert reading(only_run(plan, "recipe soup").ready) == "2026-12-04 14:00"


class TestPulls:
    """K3: a pull starts at the latest moment, not after need less thaw, at which anybody is on shift."""

    @pytest.mark.parametrize(
        ("thaw", "expected"),
        [(None, "2026-12-02 11:30"), ("PT3H", "2026-12-02 08:30"), ("PT7H", "2026-12-01 21:00"), ("P1D", "2026-12-01 11:30")],
    )
    def test_k3_a_pull_starts_while_somebody_is_there(self, thaw: str | None, expected: str) -> None:
        where = site(shifts=[shift("hot-line", "08:00", "12:00"), shift("bakery", "13:00", "21:00")])
        _, plan = planned(where, soup(step("PT30M"), lines=[line("peas", "1 kg")]), ingredient("peas", thaw=thaw))
        (pull,) = pulls_of(plan, "peas")
        assert (reading(pull.at), reading(pull.starts)) == ("2026-12-02 11:30", expected)

    def test_k3_a_pull_that_nobody_can_make_is_warned_of(self) -> None:
        where = site(shifts=[shift("bakery", "06:00", "14:00", weekdays=[1])])
        closed = {MON - number * WEEK: Capacity(shifts=()) for number in range(3)}
        _, plan = planned(where, soup(step("PT30M"), lines=[line("peas", "1 kg")]), ingredient("peas", thaw="P1D"), different=closed)
        (pull,) = pulls_of(plan, "peas")
        assert reading(pull.starts) == "2026-12-01 11:30"
        assert warned(plan) == [(TUE, "outside_hours")]

    def test_k3_what_comes_from_the_tap_needs_nobody(self) -> None:
        where = site(shifts=[shift("bakery", "06:00", "08:00")])
        _, plan = planned(where, soup(step("PT30M"), lines=[line("water", "1 kg")]), ingredient("water", on_tap=True))
        assert [reading(pull.starts) for pull in pulls_of(plan, "water")] == ["2026-12-02 11:30"]

    def test_p15_a_pull_made_after_its_shift_is_late_only_where_it_thaws_late(self) -> None:
        where = site(shifts=[shift("hot-line", "08:00", "12:00"), shift("bakery", "13:00", "21:00")])
        _, plan = planned(where, soup(step("PT30M"), lines=[line("peas", "1 kg")]), ingredient("peas", thaw="PT7H"))
        (pull,) = pulls_of(plan, "peas")
        assert fixed_pull(pull, said(at(WED, "04:30"))).thawed_late is None
        assert fixed_pull(pull, said(at(WED, "05:00"))).thawed_late == at(WED, "12:00")


class TestLists:
    """What a list tells of work that hours have moved."""

    def test_p7_the_last_start_is_the_last_one_in_the_hours(self) -> None:
        where = site(shifts=[shift("hot-line", "05:00", "22:00")], equipment=[machines("oven")])
        rest = {"min": "PT5H", "target": "PT6H", "max": "PT7H"}
        catalogue, plan = planned(where, soup(step("PT20M", rest, equipment="oven"), step("PT30M", "PT40M")), by="07:30")
        assert starts((catalogue, plan)) == ["2026-12-01 21:40", "2026-12-02 05:00", "2026-12-02 06:10"]
        (task,) = tasks_of(list_of(plan, catalogue, TUE), "make")
        # Put in at midnight it would be cooked in time, but nobody is there to put it in.
        assert (task["start_by"], task["last_start"]) == ("2026-12-01T21:40:00-05:00", "2026-12-01T21:40:00-05:00")
        (carving,) = tasks_of(list_of(plan, catalogue, WED), "make")
        assert (carving["start_by"], carving["last_start"]) == ("2026-12-02T05:00:00-05:00", "2026-12-02T06:20:00-05:00")
        assert (carving["ready_by"], carving["stage"]) == ("2026-12-02T06:10:00-05:00", {"number": 2, "of": 2})

    def test_p7_a_rest_is_cut_as_short_as_hours_allow(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "08:00"), shift("hot-line", "11:00", "12:00")])
        rest = {"min": "PT1H", "target": "PT4H", "max": "PT8H"}
        catalogue, plan = planned(where, soup(step("PT30M", rest), step("PT1H")))
        (task,) = tasks_of(list_of(plan, catalogue, WED), "make")
        # By the rest alone it could begin at 09:30; the last who could are there until eight.
        assert (task["start_by"], task["last_start"]) == ("2026-12-02T06:30:00-05:00", "2026-12-02T07:30:00-05:00")

    def test_t1_the_window_of_a_rest_is_told_from_when_it_begins(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "07:00"), shift("veg", "06:00", "20:00")])
        rest = {"min": "PT1H", "target": "PT4H", "max": "PT8H"}
        catalogue, plan = planned(where, soup(step("PT30M", rest), step("PT1H", station="veg")))
        (task,) = [each for each in tasks_of(list_of(plan, catalogue, WED), "make") if each["stage"]["number"] == 1]
        assert task["steps"][0]["window"] == {
            "min": "2026-12-02T08:00:00-05:00",
            "target": "2026-12-02T11:00:00-05:00",
            "max": "2026-12-02T15:00:00-05:00",
        }

    def test_p15_a_reported_run_is_a_lot_from_when_it_is_ready(self) -> None:
        where = site(shifts=[shift("hot-line", "06:00", "09:00")])
        catalogue, plan = planned(where, soup(step("PT30M")))
        run = only_run(plan, "recipe soup")
        (made,) = fixed_run(catalogue, run, {1: said(at(WED, "08:45"))}).made(catalogue, where.calendar())
        assert (reading(made.ready), made.use_by) == ("2026-12-02 09:00", run.main.use_by)

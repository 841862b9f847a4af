"""Versions in a plan: rule P12."""

from datetime import date, timedelta

import pytest

from service.errors import RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.planning.plan import Plan
from tests.kitchen.larder import (
    MON,
    SITE,
    THU,
    TUE,
    WED,
    Document,
    at,
    ingredient,
    kitchen,
    line,
    menu_item,
    near,
    only_site,
    recipe,
    site,
    step,
)
from tests.kitchen.plans import drawn, forecast, lot, only_run, plan_forecasts, plan_needs, runs_of, wanted

BOWL = menu_item("bowl", ("soup", "1 L"))
LENTIL = ingredient("lentil")


def soups(*versions: Version) -> Plan:
    """Soup for Tuesday and Wednesday at noon."""
    return plan_needs(kitchen(LENTIL, *versions), [wanted("recipe soup", 1000, on, "12:00") for on in (TUE, WED)])


def test_p12_a_run_uses_the_version_in_force_on_the_business_date_of_its_first_unmet_need() -> None:
    planned = soups(
        recipe("soup", "1 L", line("lentil", "200 g")),
        recipe("soup", "1 L", line("lentil", "300 g"), number=2, starts_on=WED),
    )
    assert [(run.on, run.version and run.version.number, drawn(run, "lentil")) for run in runs_of(planned, "recipe soup")] == [
        (TUE, 1, near(200)),
        (WED, 2, near(300)),
    ]


def test_p12_the_version_is_that_of_the_need_and_not_of_the_day_the_work_begins() -> None:
    # Work for Wednesday noon begins on Tuesday, when version 1 is in force.
    planned = plan_needs(
        kitchen(recipe("soup", "1 L"), recipe("soup", "1 L", number=2, starts_on=WED, steps=[step(None, "P1D")])),
        [wanted("recipe soup", 1000, WED, "12:00")],
    )
    run = only_run(planned, "recipe soup")
    assert (run.version and run.version.number, run.stages[0].on) == (2, TUE)


def test_p12_a_run_that_serves_a_later_date_keeps_the_version_of_its_first() -> None:
    planned = soups(
        recipe("soup", "1 L", keeps="P2D", makes_for=2),
        recipe("soup", "1 L", number=2, starts_on=WED, keeps="P2D", makes_for=2),
    )
    run = only_run(planned, "recipe soup")
    assert (run.version and run.version.number, run.quantity) == (1, 2000)


def test_p12_a_pilot_cooks_at_its_sites_alone() -> None:
    everywhere, pilot = recipe("soup", "1 L"), recipe("soup", "1 L", number=2, starts_on=TUE, sites=[SITE])
    numbers = []
    for code in (SITE, "harbour"):
        planned = plan_needs(kitchen(everywhere, pilot, site(code)), [wanted("recipe soup", 1000, TUE, "12:00")])
        version = only_run(planned, "recipe soup").version
        numbers.append(version and version.number)
    assert numbers == [2, 1]


def test_p12_from_a_withdrawal_on_the_next_older_version_cooks() -> None:
    planned = soups(recipe("soup", "1 L"), recipe("soup", "1 L", number=2, starts_on=TUE, withdrawn_from=WED))
    assert [run.version and run.version.number for run in runs_of(planned, "recipe soup")] == [2, 1]


def test_p12_lines_in_portions_are_converted_by_the_version_in_force_on_that_date_too() -> None:
    # From Wednesday on a portion of sauce is 60 mL: Tuesday's ten plates draw 500 mL, Wednesday's 600 mL.
    catalogue = kitchen(
        recipe("sauce", "5 L", portion="50 mL"),
        recipe("sauce", "5 L", portion="60 mL", number=2, starts_on=WED),
        recipe("plate", "10 each", line("recipe sauce", "10 portion")),
    )
    planned = plan_needs(catalogue, [wanted("recipe plate", 10, on, "12:00") for on in (TUE, WED)])
    assert [drawn(run, "recipe sauce") for run in runs_of(planned, "recipe plate")] == [near(500), near(600)]
    assert [run.quantity for run in runs_of(planned, "recipe sauce")] == [near(500), near(600)]


def test_p12_a_need_with_no_version_in_force_is_left_out_with_a_warning_that_names_item_and_user() -> None:
    catalogue = kitchen(recipe("soup", "1 L", starts_on=THU), BOWL)
    planned = plan_forecasts(catalogue, [forecast(TUE, "bowl", 3)])
    assert planned.runs == ()
    (warning,) = planned.warnings
    assert (warning.on, warning.code) == (TUE, "no_version")
    assert "soup" in warning.detail
    assert "Bowl" in warning.detail


def test_p12_a_need_that_lots_meet_in_part_is_left_out_for_the_rest_and_for_whom_by_name() -> None:
    catalogue = kitchen(recipe("soup", "1 L", title="Lentil soup", starts_on=THU), recipe("soup", "1 L", number=2, sites=["harbour"]))
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, "12:00")], [lot("recipe soup", 400)])
    assert [short for _, short in planned.left_out] == [near(600)]
    # It is called as it is at this site, where the pilot's title is not known.
    assert [warning.detail for warning in planned.warnings] == ["Lentil soup has no version in force on 2026-12-01; left out for Guests"]


def test_p12_what_is_left_out_twice_on_a_date_for_one_user_is_told_once() -> None:
    catalogue = kitchen(recipe("soup", "1 L", starts_on=THU))
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, clock) for clock in ("12:00", "18:00")])
    assert (len(planned.left_out), len(planned.warnings)) == (2, 1)


def test_p12_a_sub_recipe_with_no_version_in_force_when_it_is_needed_is_left_out_and_the_rest_is_made() -> None:
    # The sauce is drawn at 23:00 of Tuesday for Wednesday noon, and begins on Wednesday.
    catalogue = kitchen(
        LENTIL,
        recipe("sauce", "5 L", starts_on=WED),
        recipe("soup", "1 L", line("recipe sauce", "100 mL", 1), line("lentil", "200 g", 1), steps=[step("PT1H", "PT12H")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, WED, "12:00")])
    assert runs_of(planned, "recipe sauce") == []
    assert only_run(planned, "recipe soup").quantity == 1000
    ((need, short),) = planned.left_out
    assert (need.at, need.label, short) == (at(TUE, "23:00"), "soup", near(100))
    (warning,) = planned.warnings
    assert (warning.on, warning.code) == (TUE, "no_version")
    assert "Sauce" in warning.detail
    assert "soup" in warning.detail


def test_p12_a_line_that_cannot_be_converted_on_the_runs_date_is_left_out_with_a_warning() -> None:
    catalogue = kitchen(
        LENTIL,
        recipe("sauce", "5 L", starts_on=THU),
        recipe("soup", "1 L", line("recipe sauce", "100 mL"), line("lentil", "200 g")),
    )
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, "12:00")])
    assert [draw.item.code for draw in only_run(planned, "recipe soup").draws] == ["lentil"]
    assert [(warning.on, warning.code) for warning in planned.warnings] == [(TUE, "no_version")]
    assert "sauce has no version in force" in planned.warnings[0].detail


def test_p12_and_p6_the_warning_of_a_line_left_out_stands_on_the_date_that_its_step_begins() -> None:
    # Soup of Wednesday noon: a step begins at noon of Monday, the second, which would take the sauce, at noon of Tuesday.
    catalogue = kitchen(
        recipe("sauce", "5 L", starts_on=THU),
        recipe("soup", "1 L", line("recipe sauce", "100 mL", 2), steps=[step(None, "P1D"), step(None, "P1D", "veg")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, WED, "12:00")], first=MON)
    assert [stage.on for stage in only_run(planned, "recipe soup").stages] == [MON, TUE]
    assert [(warning.on, warning.code) for warning in planned.warnings] == [(TUE, "no_version")]


def test_p12_lines_in_portions_are_converted_by_the_version_in_force_at_that_site() -> None:
    # A portion of the pilot's sauce is 60 mL: ten of them are 600 mL where it is tried, and 500 mL elsewhere.
    things = (
        recipe("sauce", "5 L", portion="50 mL"),
        recipe("sauce", "5 L", portion="60 mL", number=2, starts_on=TUE, sites=[SITE]),
        recipe("plate", "10 each", line("recipe sauce", "10 portion")),
    )
    found = [
        drawn(
            only_run(plan_needs(kitchen(*things, site(code)), [wanted("recipe plate", 10, TUE, "12:00")]), "recipe plate"), "recipe sauce"
        )
        for code in (SITE, "harbour")
    ]
    assert found == [near(600), near(500)]


def test_p12_a_pilots_own_lines_are_planned_at_its_sites() -> None:
    # The pilot alone takes rice, as no version for all sites does.
    catalogue = kitchen(
        LENTIL,
        ingredient("rice"),
        recipe("soup", "1 L", line("lentil", "200 g")),
        recipe("soup", "1 L", line("rice", "300 g"), number=2, starts_on=TUE, sites=[SITE]),
    )
    planned = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, "12:00")])
    assert [(pull.item.code, pull.amount) for pull in planned.pulls] == [("rice", near(300))]


def test_p12_and_p1_a_need_of_guests_goes_by_the_date_of_its_service_even_where_the_clock_moves_past_it() -> None:
    # The date begins at 03:00. On the night to Sunday, 14 March 2027, 02:30 does not exist in New York and becomes 03:30, half an
    # hour into Sunday: Saturday's supper is still Saturday's, cooked by the version of Saturday.
    saturday = date(2027, 3, 13)
    catalogue = kitchen(
        LENTIL,
        recipe("soup", "1 L", line("lentil", "200 g")),
        recipe("soup", "1 L", line("lentil", "300 g"), number=2, starts_on=saturday + timedelta(days=1)),
        BOWL,
        site(periods={"supper": "02:30"}, day_starts="03:00"),
    )
    planned = plan_forecasts(catalogue, [forecast(saturday, "bowl", 1, "supper")], first=saturday, on=saturday)
    run = only_run(planned, "recipe soup")
    assert only_site(catalogue).calendar().business_date(run.at) == saturday + timedelta(days=1)
    assert (run.on, run.version and run.version.number, drawn(run, "lentil")) == (saturday, 1, near(200))


def test_p12_what_lots_hold_needs_no_version_in_force() -> None:
    planned = plan_needs(
        kitchen(recipe("soup", "1 L", withdrawn_from=TUE)),
        [wanted("recipe soup", 1000, TUE, "12:00")],
        [lot("recipe soup", 1000, version=1)],
    )
    assert [use.amount for use in planned.uses] == [1000]
    assert planned.warnings == ()


def test_p12_lots_carry_the_version_that_made_them() -> None:
    planned = soups(
        recipe("soup", "1 L", keeps="P2D", batch={"multiple": "3 L"}),
        recipe("soup", "1 L", number=2, starts_on=WED),
    )
    assert [(use.lot.version, use.need.on) for use in planned.uses] == [(1, WED)]
    assert only_run(planned, "recipe soup").on == TUE


def test_p7_late_work_before_the_first_date_uses_the_version_of_its_own_date() -> None:
    # The dough of Tuesday noon is drawn two days before, on Sunday, when version 1 was in force; the plan begins on Tuesday.
    catalogue = kitchen(
        ingredient("flour"),
        recipe("dough", "1 kg", line("flour", "600 g")),
        recipe("dough", "1 kg", line("flour", "700 g"), number=2, starts_on=TUE - timedelta(days=1)),
        recipe("bread", "1 each", line("recipe dough", "1 kg"), steps=[step(None, "P2D")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe bread", 1, TUE, "12:00")])
    dough = only_run(planned, "recipe dough")
    assert (dough.on, dough.version and dough.version.number) == (TUE - timedelta(days=2), 1)


def test_p7_late_work_by_an_old_version_pulls_what_that_one_takes() -> None:
    # The dough of Tuesday's bread is mixed on Sunday, when it was of rye, as it is in no version since Monday.
    catalogue = kitchen(
        ingredient("rye"),
        ingredient("wheat"),
        recipe("dough", "1 kg", line("rye", "600 g")),
        recipe("dough", "1 kg", line("wheat", "600 g"), number=2, starts_on=MON),
        recipe("bread", "1 each", line("recipe dough", "1 kg"), steps=[step(None, "P2D")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe bread", 1, TUE, "12:00")])
    assert [(pull.item.code, pull.on, pull.amount) for pull in planned.pulls] == [("rye", TUE - timedelta(days=2), near(600))]


def test_p7_and_p12_so_are_the_measures_of_its_lines_those_of_its_own_date() -> None:
    # A portion of leaven was 50 g until Monday and is 60 g since: Sunday's dough takes ten of 50 g.
    catalogue = kitchen(
        recipe("leaven", "1 kg", portion="50 g"),
        recipe("leaven", "1 kg", number=2, starts_on=MON, portion="60 g"),
        recipe("dough", "1 kg", line("recipe leaven", "10 portion")),
        recipe("bread", "1 each", line("recipe dough", "1 kg"), steps=[step(None, "P2D")]),
    )
    planned = plan_needs(catalogue, [wanted("recipe bread", 1, TUE, "12:00")])
    assert drawn(only_run(planned, "recipe dough"), "recipe leaven") == near(500)


FRIDAY, SUNDAY, WEDNESDAY = date(2026, 11, 20), date(2026, 11, 22), date(2026, 11, 25)


def turned_round(takes: Document, *things: Version) -> Catalogue:
    """Base once drew glaze; since Sunday it ``takes`` something else, and since Wednesday glaze draws base: no loop on any date.

    Glaze takes eleven days, so that Tuesday's asks for base on Friday the 20th, when the first version of base was in force.
    """
    return kitchen(
        LENTIL,
        recipe("base", "1 kg", line("recipe glaze", "100 g")),
        recipe("base", "1 kg", takes, number=2, starts_on=SUNDAY),
        recipe("glaze", "1 kg"),
        recipe("glaze", "1 kg", line("recipe base", "500 g"), number=2, starts_on=WEDNESDAY, steps=[step(None, "P11D")]),
        *things,
    )


def test_p12_late_work_whose_old_versions_close_a_loop_is_planned_by_those_in_force_on_the_first_date() -> None:
    planned = plan_needs(turned_round(line("lentil", "600 g")), [wanted("recipe glaze", 1000, TUE, "12:00")])
    base = only_run(planned, "recipe base")
    assert (base.on, base.version and base.version.number, base.quantity, drawn(base, "lentil")) == (FRIDAY, 2, 500, near(300))
    assert planned.warnings == ()


def test_p12_so_are_the_measures_that_its_lines_are_written_in() -> None:
    # A portion of paste was 50 g and is 60 g since Sunday: 500 g of base take five portions of 60 g.
    catalogue = turned_round(
        line("recipe paste", "10 portion"),
        recipe("paste", "1 kg", portion="50 g"),
        recipe("paste", "1 kg", number=2, starts_on=SUNDAY, portion="60 g"),
    )
    planned = plan_needs(catalogue, [wanted("recipe glaze", 1000, TUE, "12:00")])
    assert drawn(only_run(planned, "recipe base"), "recipe paste") == near(300)
    paste = only_run(planned, "recipe paste")
    assert (paste.version and paste.version.number, paste.quantity) == (2, near(300))


def test_p12_versions_in_force_together_that_need_each_other_cannot_be_planned() -> None:
    catalogue = kitchen(recipe("a", "1 kg", line("recipe b", "1 kg")), recipe("b", "1 kg", line("recipe a", "1 kg")))
    with pytest.raises(RecipeLoop):
        plan_needs(catalogue, [wanted("recipe a", 1000, TUE, "12:00")])


@pytest.mark.parametrize(("days", "number"), [(399, 3), (400, 2), (401, 2)])
def test_p12_late_work_goes_by_versions_of_the_four_hundred_days_before_the_first_date(days: int, number: int) -> None:
    # Cheese of Tuesday was begun so many days before. Its rennet of 401 days before goes by what was in force a day later.
    catalogue = kitchen(
        recipe("rennet", "1 L", starts_on=date(2020, 1, 1)),
        recipe("rennet", "1 L", number=2, starts_on=TUE - timedelta(days=400)),
        recipe("rennet", "1 L", number=3, starts_on=TUE - timedelta(days=399)),
        recipe("cheese", "1 kg", line("recipe rennet", "10 mL"), starts_on=date(2020, 1, 1), steps=[step(None, f"P{days}D")]),
    )
    version = only_run(plan_needs(catalogue, [wanted("recipe cheese", 1000, TUE, "12:00")]), "recipe rennet").version
    assert version
    assert version.number == number


def test_what_is_compiled_of_a_catalogue_does_not_grow_with_the_dates_that_are_planned() -> None:
    catalogue = kitchen(LENTIL, recipe("soup", "1 L", line("lentil", "200 g")))
    compiled = []
    for on in (MON, TUE, WED, THU):
        plan_needs(catalogue, [wanted("recipe soup", 1000, on, "12:00")], first=on)
        compiled.append(len(catalogue._compiled))
    assert len(set(compiled)) == 1

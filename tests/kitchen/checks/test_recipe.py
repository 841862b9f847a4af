"""Checks of a version before it is published: rules S2, S3, Y5, U5, P1 and the loops of the planning order (P)."""

from datetime import date
from fractions import Fraction

import pytest

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.checks.recipe import MassBalance, cooking_yield, group_faults, mass_balance, version_faults, version_notes
from service.limits import RECIPE_DEPTH
from tests.kitchen.larder import (
    SITE,
    THU,
    TUE,
    WED,
    form,
    ingredient,
    kitchen,
    line,
    menu_item,
    near,
    recipe,
    site,
    step,
    with_things,
)

PANTRY = kitchen(ingredient("onion", form("dice", "0.5")), ingredient("stock", kind="volume"), ingredient("bones"), ingredient("salt"))


def faults(version: Version, catalogue: Catalogue = PANTRY, today: date = TUE) -> list[tuple[str, str]]:
    """Pointer and code of everything wrong with a version that the catalogue holds."""
    return told(version_faults(with_things(catalogue, version), version, today))


def told(found: list[Fault]) -> list[tuple[str, str]]:
    return [(fault.pointer, fault.code) for fault in found]


def notes(version: Version, catalogue: Catalogue = PANTRY) -> list[str]:
    return [each.code for each in version_notes(with_things(catalogue, version), version)]


def test_a_whole_version_has_no_faults() -> None:
    assert faults(recipe("soup", "2 kg", line("onion/dice", "1 kg", 1), line("bones", "1 kg"), steps=[step("PT5M", station="veg")])) == []


@pytest.mark.parametrize(
    ("words", "pointer"),
    [("leek", "/lines/0/item"), ("onion/rings", "/lines/0/item"), ("recipe sauce", "/lines/0/item")],
)
def test_a_line_calls_what_the_catalogue_has(words: str, pointer: str) -> None:
    assert faults(recipe("soup", "20 L", line(words, "1 kg"))) == [(pointer, "unknown_reference")]


def test_p12_a_line_calls_a_recipe_that_is_in_force_as_long_as_the_version_is() -> None:
    sauce = recipe("sauce", "5 L", starts_on=TUE, withdrawn_from=THU)
    soup = recipe("soup", "20 L", line("recipe sauce", "1 L"), starts_on=TUE)
    assert faults(soup, with_things(PANTRY, sauce)) == [("/lines/0/item", "unknown_reference")]
    # A newer version of the soup that does without takes over on the day of the withdrawal.
    assert faults(soup, with_things(PANTRY, sauce, recipe("soup", "20 L", number=2, starts_on=THU))) == []
    assert faults(soup, with_things(PANTRY, recipe("sauce", "5 L", starts_on=WED))) == [("/lines/0/item", "unknown_reference")]


def test_p12_a_line_calls_a_recipe_that_is_in_force_at_every_site_of_the_version() -> None:
    pilot = recipe("sauce", "5 L", sites=[SITE])
    assert faults(recipe("soup", "20 L", line("recipe sauce", "1 L")), with_things(PANTRY, pilot)) == [
        ("/lines/0/item", "unknown_reference")
    ]
    assert faults(recipe("soup", "20 L", line("recipe sauce", "1 L"), sites=[SITE]), with_things(PANTRY, pilot)) == []


def test_u5_a_line_that_cannot_reach_the_items_stock_kind_is_a_fault_at_its_unit() -> None:
    assert faults(recipe("soup", "20 L", line("onion", "2 cup"))) == [("/lines/0/quantity/unit", "missing_equivalent")]


def test_s2_a_percentage_of_a_line_without_a_mass_is_a_fault_at_its_base() -> None:
    percent = {"rule": "percent", "of": [1]}
    assert faults(recipe("soup", "20 L", line("stock", "1 L"), line("salt", "2 percent", scaling=percent))) == [
        ("/lines/1/scaling/of", "missing_equivalent")
    ]


@pytest.mark.parametrize("rule", [{"rule": "per_batch"}, {"rule": "power", "exponent": "0.8"}, {"rule": "tested", "points": [[1, 1]]}])
def test_s2_base_lines_of_a_percentage_are_linear(rule: dict[str, object]) -> None:
    dough = recipe(
        "dough",
        "1 kg",
        line("onion", "1 kg"),
        line("bones", "1 kg", scaling=rule),
        line("salt", "2 percent", scaling={"rule": "percent", "of": [1, 2]}),
    )
    assert faults(dough) == [("/lines/2/scaling/of/1", "rule_not_allowed")]


@pytest.mark.parametrize(
    ("makes", "batch", "expected"),
    [
        ("20 L", {"multiple": "5 L", "smallest": "10 L", "largest": "30 L"}, []),
        ("20 L", {"multiple": "5 L", "smallest": "12 L", "largest": "30 L"}, [("/batch", "batch_rule")]),
        ("20 L", {"multiple": "5 L", "smallest": "4 L"}, [("/batch", "batch_rule")]),
        ("20 L", {"smallest": "10 L", "largest": "9 L"}, [("/batch", "batch_rule")]),
        ("12 each", {"smallest": "1.5 each"}, [("/batch", "batch_rule")]),
        ("12 each", {"largest": "0.5 each"}, [("/batch", "batch_rule")]),
        ("20 L", {"largest": "3 kg"}, [("/batch/largest/unit", "missing_equivalent")]),
        ("20 L", {"multiple": "2 tray"}, [("/batch/multiple/unit", "unknown_unit")]),
    ],
)
def test_s3_a_batch_rule_that_no_batch_can_meet_is_refused(makes: str, batch: dict[str, str], expected: list[tuple[str, str]]) -> None:
    assert faults(recipe("soup", makes, batch=batch)) == expected


def test_y5_output_beyond_input_is_refused_where_all_of_it_has_a_mass() -> None:
    # 1 kg of dice (its EP) and 200 g of bones go in.
    lines = (line("onion/dice", "1 kg"), line("bones", "200 g"))
    assert faults(recipe("soup", "1.2 kg", *lines)) == []
    assert faults(recipe("soup", "1.201 kg", *lines)) == [("/yield/amount", "output_exceeds_input")]
    # By-products are output too.
    assert faults(recipe("soup", "1 kg", *lines, gives={"bones": "201 g"})) == [("/yield/amount", "output_exceeds_input")]
    # A recipe that takes up water says so.
    assert faults(recipe("soup", "3 kg", *lines, gains_water=True)) == []


def test_y5_nothing_is_judged_where_some_of_it_has_no_mass() -> None:
    assert faults(recipe("soup", "3 L", line("onion", "1 kg"))) == []
    assert faults(recipe("soup", "3 kg", line("onion", "1 kg"), line("stock", "1 L"))) == []
    # By its own equivalent the soup has a mass: 3 L × 1.05 kg are more than 1 kg.
    assert faults(recipe("soup", "3 L", line("onion", "1 kg"), equivalents=["1 L = 1.05 kg"])) == [
        ("/yield/amount", "output_exceeds_input")
    ]


def test_y5_a_percentage_weighs_what_it_is_of_its_bases() -> None:
    percent = {"rule": "percent", "of": [1]}
    assert faults(recipe("dough", "1.02 kg", line("onion", "1 kg"), line("salt", "2 percent", scaling=percent))) == []
    assert faults(recipe("dough", "1.03 kg", line("onion", "1 kg"), line("salt", "2 percent", scaling=percent))) == [
        ("/yield/amount", "output_exceeds_input")
    ]


def test_y5_under_a_quarter_of_the_input_is_a_warning() -> None:
    assert notes(recipe("glaze", "249 g", line("bones", "1 kg"))) == ["low_cooking_yield"]
    assert notes(recipe("glaze", "250 g", line("bones", "1 kg"))) == []


def test_y5_the_implied_cooking_yield_is_what_is_made_of_what_goes_in() -> None:
    roast = recipe("roast", "750 g", line("bones", "1 kg"), gives={"bones": "100 g"})
    catalogue = with_things(PANTRY, roast)
    assert cooking_yield(catalogue, roast) == near(0.75)
    balance = mass_balance(catalogue, roast)
    assert balance is not None
    assert balance == MassBalance(Fraction(1000), Fraction(850), Fraction(750))
    soup = recipe("soup", "3 L", line("onion", "1 kg"))
    assert cooking_yield(with_things(PANTRY, soup), soup) is None


def test_p1_versions_of_a_recipe_never_change_the_kind_of_its_yield() -> None:
    catalogue = with_things(PANTRY, recipe("soup", "20 L"))
    assert faults(recipe("soup", "20 kg", number=2), catalogue) == [("/yield/unit", "yield_kind_changed")]
    assert faults(recipe("soup", "5 gallon", number=2), catalogue) == []


def test_u2_a_yield_in_an_unknown_measure_is_a_fault_at_its_unit() -> None:
    assert faults(recipe("soup", "2 pot")) == [("/yield/unit", "unknown_unit")]
    assert faults(recipe("soup", "2 pot", equivalents=["1 pot = 8 L"])) == []


def test_stations_of_a_recipe_and_of_its_steps_are_known() -> None:
    assert faults(recipe("soup", "20 L", station="attic", steps=[step("PT5M"), step("PT5M", station="cellar")])) == [
        ("/station", "unknown_reference"),
        ("/steps/1/station", "unknown_reference"),
    ]


def test_y3_a_by_product_of_cooking_is_an_ingredient_in_a_kind_it_knows() -> None:
    assert faults(recipe("soup", "20 L", gives={"fat": "1 kg"})) == [("/by_products/0/ingredient", "unknown_reference")]
    assert faults(recipe("soup", "20 L", gives={"bones": "1 L"})) == [("/by_products/0/quantity/unit", "missing_equivalent")]


def test_s3_a_version_that_breaks_a_vessels_fit_is_published_with_a_warning() -> None:
    catalogue = with_things(PANTRY, site(vessels={"soup": "10 L"}))
    assert notes(recipe("soup", "20 L", batch={"smallest": "12 L"}), catalogue) == ["vessel_too_small"]
    assert faults(recipe("soup", "20 L", batch={"smallest": "12 L"}), catalogue) == []
    assert notes(recipe("soup", "20 L", batch={"smallest": "10 L"}), catalogue) == []
    # A pilot elsewhere does not concern the site.
    assert notes(recipe("soup", "20 L", batch={"smallest": "12 L"}, sites=["harbour"]), catalogue) == []


def between(*versions: Version, published: int = -1, today: date = TUE, catalogue: Catalogue = PANTRY) -> dict[str, list[tuple[str, str]]]:
    """The faults between recipes once one of the versions is published beside the others."""
    found = group_faults(with_things(catalogue, *versions), [versions[published]], today)
    return {code: told(each) for code, each in found.items()}


def test_p_a_loop_through_lines_is_refused_with_its_path() -> None:
    first = recipe("first", "1 kg", line("recipe second", "1 kg"))
    second = recipe("second", "1 kg", line("salt", "1 g"), line("recipe first", "1 kg"))
    assert between(first, second) == {"second": [("/lines/1/item", "loop")]}
    found = group_faults(with_things(PANTRY, first, second), [second], TUE)
    assert "first" in found["second"][0].detail
    assert "second" in found["second"][0].detail


def test_p_a_loop_over_versions_that_are_in_force_at_different_times_or_sites_is_one() -> None:
    # The first calls the second until Thursday, the second calls the first from Thursday on, at one site.
    first = recipe("first", "1 kg", line("recipe second", "1 kg"))
    later = recipe("first", "1 kg", number=2, starts_on=THU)
    second = recipe("second", "1 kg")
    pilot = recipe("second", "1 kg", line("recipe first", "1 kg"), number=2, starts_on=THU, sites=["harbour"])
    assert between(first, later, second, pilot) == {"second": [("/lines/0/item", "loop")]}
    # From Thursday on the first version of the first recipe is past.
    assert between(first, later, second, pilot, today=THU) == {"second": []}


def test_p_sub_recipes_stand_at_most_so_deep() -> None:
    chain = [recipe("r0", "1 kg"), *(recipe(f"r{deep}", "1 kg", line(f"recipe r{deep - 1}", "1 kg")) for deep in range(1, RECIPE_DEPTH))]
    assert between(*chain) == {f"r{RECIPE_DEPTH - 1}": []}
    deeper = [*chain, recipe("top", "1 kg", line(f"recipe r{RECIPE_DEPTH - 1}", "1 kg"))]
    assert between(*deeper) == {"top": [("/lines", "out_of_range")]}


def test_u5_a_version_that_breaks_a_user_is_refused() -> None:
    # The plate asks for a portion of sauce, which the new version no longer states.
    catalogue = with_things(PANTRY, recipe("plate", "1 each", line("recipe sauce", "1 portion")), menu_item("jug", ("sauce", "2 portion")))
    old = recipe("sauce", "5 L", portion="50 mL")
    assert between(old, catalogue=catalogue) == {"sauce": []}
    found = group_faults(
        with_things(catalogue, old, recipe("sauce", "5 L", number=2, starts_on=WED)), [recipe("sauce", "5 L", number=2)], TUE
    )
    assert [fault.code for fault in found["sauce"]] == ["wrong_kind", "wrong_kind"]
    assert "recipe plate from 2026-12-02" in found["sauce"][0].detail
    assert "menu item jug" in found["sauce"][1].detail

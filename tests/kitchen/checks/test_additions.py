"""Allergens that a change adds to what uses it: rule A2, at every level, place and date."""

from datetime import date
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import MenuItem, Site
from service.kitchen.checks.additions import acknowledgement_faults, additions, covered
from tests.kitchen.larder import SAT, THU, TUE, WED, form, ingredient, kitchen, line, menu_item, par, recipe, site, with_things

BUTTER = ingredient("butter", contains=["milk"])
SAUCE = recipe("sauce", "1 L", line("oil", "200 g"))
BUTTERED: dict[str, Any] = {"number": 2, "starts_on": WED}


def pantry(*more: Ingredient | Version | MenuItem | Site) -> Catalogue:
    """A sauce of oil in a dish in a feast, and a menu item that sells the feast."""
    return kitchen(
        ingredient("oil"),
        BUTTER,
        ingredient("crumb", contains=["wheat"], may_contain=["milk"]),
        SAUCE,
        recipe("dish", "10 each", line("recipe sauce", "500 mL")),
        recipe("feast", "10 each", line("recipe dish", "10 each"), line("oil", "10 g")),
        menu_item("plate", ("feast", "1 each")),
        *more,
    )


def sauce(*lines: dict[str, Any], **fields: Any) -> Version:
    """A second version of the sauce from Wednesday, of butter unless lines are named."""
    return recipe("sauce", "1 L", *(lines or (line("butter", "200 g"),)), **{**BUTTERED, **fields})


def added(before: Catalogue, *things: Ingredient | Version | MenuItem | Site) -> dict[str, dict[str, date]]:
    """Who gains which allergen, and from when, if these things replace those of the same code."""
    found = additions(before, with_things(before, *things), TUE)
    return {each.allergen: {str(user): on for user, on in sorted(each.users.items())} for each in found}


def users(before: Catalogue, *things: Ingredient | Version | MenuItem | Site) -> dict[str, list[str]]:
    return {allergen: [*who] for allergen, who in added(before, *things).items()}


def test_a2_a_version_adds_its_new_allergen_to_recipes_and_menu_items_at_every_level_up() -> None:
    assert added(pantry(), sauce()) == {"milk": {"recipe dish": WED, "recipe feast": WED, "menu item plate": WED}}


def test_a2_the_recipe_itself_is_no_user_and_one_that_nothing_uses_adds_nothing() -> None:
    alone = kitchen(ingredient("oil"), BUTTER, SAUCE)
    assert added(alone, sauce()) == {}


def test_a2_an_allergen_that_a_user_has_already_is_not_added_to_it() -> None:
    buttery = recipe("dish", "10 each", line("recipe sauce", "500 mL"), line("butter", "10 g"))
    assert users(with_things(pantry(), buttery), sauce()) == {}


def test_a2_only_what_was_possible_and_becomes_certain_is_added_again() -> None:
    possible = with_things(pantry(), sauce(line("crumb", "1 g"), number=1, starts_on=TUE))
    (addition,) = additions(possible, with_things(possible, sauce()), TUE)
    assert (addition.allergen, addition.certain) == ("milk", True)
    assert added(with_things(possible, sauce(number=1, starts_on=TUE)), sauce(line("crumb", "1 g"))).keys() == {"wheat"}


def test_a2_a_possible_allergen_is_added_too() -> None:
    found = {each.allergen: each.certain for each in additions(pantry(), with_things(pantry(), sauce(line("crumb", "1 g"))), TUE)}
    assert found == {"milk": False, "wheat": True}


def test_a2_a_species_is_an_allergen_of_its_own_unless_its_kind_is_there_already() -> None:
    fish = {code: ingredient(code, contains=[name]) for code, name in (("cod", "fish:cod"), ("hake", "fish:hake"), ("stock", "fish"))}

    def gain(first: str, second: str) -> set[str]:
        before = with_things(pantry(*fish.values()), sauce(line(first, "1 kg"), number=1, starts_on=TUE))
        return {*added(before, sauce(line(second, "1 kg")))}

    assert gain("cod", "hake") == {"fish:hake"}
    assert gain("cod", "stock") == {"fish"}
    assert gain("stock", "cod") == set()


def test_a2_an_acknowledgement_covers_a_name_and_the_species_of_a_name() -> None:
    found = additions(pantry(), with_things(pantry(), sauce(line("butter", "1 g"), line("crumb", "1 g"))), TUE)
    assert [fault.detail.split(":")[0] for fault in acknowledgement_faults(found, ["wheat"])] == [
        "this adds milk to recipe dish, recipe feast, menu item plate, from 2026-12-02 on"
    ]
    assert acknowledgement_faults(found, ["milk", "wheat", "egg"]) == []
    assert {fault.code for fault in acknowledgement_faults(found, [])} == {"acknowledge_needed"}
    assert (covered("fish:cod", ["fish:hake"]), covered("fish", ["fish:cod"])) == (False, False)


def test_a2_an_ingredient_that_changes_adds_to_every_recipe_that_calls_it_or_a_form_of_it() -> None:
    before = pantry(
        ingredient("onion", form("diced")), recipe("soup", "1 L", line("onion/diced", "1 kg")), menu_item("bowl", ("soup", "1 L"))
    )
    changed = ingredient("onion", form("diced"), contains=["sulphite"], may_contain=["celery"])
    reached = {"recipe soup": TUE, "menu item bowl": TUE}
    assert added(before, changed) == {"sulphite": reached, "celery": reached}
    assert added(with_things(before, changed), ingredient("onion", form("diced"))) == {}
    assert added(before, ingredient("leek", contains=["milk"])) == {}


def test_a2_a_user_to_come_counts_from_the_date_on_which_it_comes() -> None:
    later = recipe("dish", "10 each", line("recipe sauce", "500 mL"), number=2, starts_on=SAT)
    without = recipe("dish", "10 each", line("oil", "500 g"))
    before = with_things(pantry(), without, later)
    assert added(before, sauce()) == {"milk": {"recipe dish": SAT, "recipe feast": SAT, "menu item plate": SAT}}


def test_a2_users_of_the_past_do_not_count() -> None:
    before = with_things(pantry(), recipe("dish", "10 each", line("oil", "500 g"), number=2, starts_on=TUE))
    assert added(before, sauce()) == {}


def test_a2_what_comes_later_anyway_is_added_if_it_comes_earlier() -> None:
    acknowledged = with_things(pantry(), sauce(starts_on=SAT))
    assert users(acknowledged, sauce(number=3, starts_on=THU))["milk"] == ["recipe dish", "recipe feast", "menu item plate"]
    assert added(acknowledged, sauce(number=3, starts_on=SAT)) == {}


def test_a2_a_sub_recipe_that_changes_later_adds_through_the_version_that_first_calls_it() -> None:
    base = recipe("base", "1 L", line("oil", "1 kg"))
    richer = recipe("base", "1 L", line("butter", "1 kg"), number=2, starts_on=SAT)
    assert added(pantry(base, richer), sauce(line("recipe base", "1 L")))["milk"]["menu item plate"] == SAT


def test_a2_a_pilot_adds_at_its_sites_and_everybody_after_it_again() -> None:
    before = pantry(site("harbour"), site("mill-street"))
    pilot = sauce(sites=["harbour"])
    assert "milk" in added(before, pilot)
    piloted = with_things(before, pilot)
    assert "milk" in added(piloted, sauce(number=3))
    assert added(piloted, sauce(number=3, sites=["harbour"])) == {}


def test_a2_a_first_version_adds_nothing_to_a_menu_item_that_waited_for_it() -> None:
    bread = recipe("bread", "10 each", line("crumb", "1 kg"), starts_on=WED)
    assert added(pantry(menu_item("lunch", ("feast", "1 each"), ("bread", "1 each"))), bread) == {}
    assert additions(kitchen(), pantry(bread), TUE) == []


def test_a2_a_version_after_a_gap_is_compared_with_the_last_one_before_it() -> None:
    ended = recipe("sauce", "1 L", line("oil", "200 g"), withdrawn_from=WED)
    before = kitchen(ingredient("oil"), BUTTER, ended, menu_item("plate", ("sauce", "1 L")))
    assert users(before, sauce(starts_on=SAT)) == {"milk": ["menu item plate"]}


def test_a2_a_par_is_a_user_at_its_site() -> None:
    kept = par("recipe sauce", "5 L", "09:00")
    before = kitchen(ingredient("oil"), BUTTER, SAUCE, site("harbour", pars=[kept]), site("mill-street"))
    assert users(before, sauce()) == {"milk": ["a par of site harbour"]}
    assert users(before, sauce(sites=["mill-street"])) == {}
    assert users(before, sauce(sites=["harbour"])) == {"milk": ["a par of site harbour"]}


@pytest.mark.parametrize("dropped", [True, False])
def test_a2_a_user_that_changes_with_it_gains_only_by_what_it_still_uses(*, dropped: bool) -> None:
    dish = recipe("dish", "10 each", line("oil" if dropped else "recipe sauce", "500 g"), **BUTTERED)
    assert ("milk" in added(pantry(), sauce(), dish)) is not dropped


def test_a2_a_user_gains_nothing_by_its_own_new_lines() -> None:
    assert added(pantry(), recipe("feast", "10 each", line("recipe dish", "10 each"), line("butter", "1 g"), **BUTTERED)) == {
        "milk": {"menu item plate": WED}
    }
    assert added(pantry(recipe("cream", "1 L", line("butter", "1 g"))), menu_item("plate", ("feast", "1 each"), ("cream", "1 L"))) == {}


def test_a2_the_changed_items_that_hold_a_new_allergen_are_its_sources() -> None:
    before = pantry(recipe("glaze", "1 L", line("oil", "1 kg")))
    after = with_things(before, sauce(), recipe("glaze", "1 L", line("oil", "2 kg"), **BUTTERED), ingredient("oil", may_contain=["peanut"]))
    found = {each.allergen: [item.label for item in each.sources] for each in additions(before, after, TUE)}
    assert found == {"milk": ["sauce"], "peanut": ["oil", "glaze", "sauce"]}


def test_a2_what_is_sold_no_more_gains_nothing() -> None:
    def plate(until: date) -> MenuItem:
        return menu_item("plate", ("feast", "1 each"), sold=(None, until))

    assert "menu item plate" not in users(with_things(pantry(), plate(TUE)), sauce())["milk"]
    assert "menu item plate" in users(with_things(pantry(), plate(WED)), sauce())["milk"]

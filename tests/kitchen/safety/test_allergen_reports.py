"""Allergen reports: rule A1, one vocabulary as two laws name it, species kept, and which ingredient brings what."""

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.safety.allergen_reports import EU_FOURTEEN, US_NINE, kind, menu_item_report, outside, recipe_report
from service.kitchen.safety.cautions import ALLERGEN_CAUTION, SAFETY_CAUTION
from service.limits import ALLERGENS
from tests.kitchen.larder import MON, SITE, TUE, WED, Document, form, ingredient, kitchen, line, menu_item, recipe


def pantry() -> Catalogue:
    """A plate of a nut sauce and breaded cod, and a salad that only Wednesday has."""
    return kitchen(
        ingredient("butter", contains=["milk"]),
        ingredient("crumb", contains=["wheat"], may_contain=["egg", "hazelnut"]),
        ingredient("cod", form("fillet", "0.5"), contains=["fish:cod"]),
        ingredient("nuts", contains=["walnut", "pine_nut"], may_contain=["almond", "chestnut"]),
        ingredient("salt"),
        recipe("sauce", "1 L", line("butter", "200 g"), line("nuts", "100 g"), line("salt", "5 g")),
        recipe("breaded-cod", "1 kg", line("cod/fillet", "900 g"), line("crumb", "200 g"), line("butter", "20 g")),
        recipe("dish", "10 each", line("recipe sauce", "500 mL"), line("recipe breaded-cod", "1 kg")),
        recipe("salad", "1 kg", line("nuts", "10 g"), starts_on=WED),
        menu_item("plate", ("dish", "1 each"), ("salad", "50 g", "0.2")),
    )


def reported(code: str = "dish") -> Document:
    catalogue = pantry()
    return recipe_report(catalogue, catalogue.versions[code][-1], SITE, TUE)


def entries(rows: list[Document]) -> dict[str, tuple[list[str], list[str]]]:
    return {row["allergen"]: (row["contains"], row["may_contain"]) for row in rows}


def test_a1_the_us_list_keeps_species_and_tells_contains_from_may_contain() -> None:
    assert entries(reported()["us"]) == {
        "milk": (["milk"], []),
        "egg": ([], ["egg"]),
        "fish": (["fish:cod"], []),
        "tree_nut": (["pine_nut", "walnut"], ["almond", "hazelnut"]),
        "wheat": (["wheat"], []),
    }


def test_a1_the_eu_list_leaves_pine_nuts_out_and_names_the_cereal() -> None:
    assert entries(reported()["eu"]) == {
        "gluten_cereal": (["wheat"], []),
        "egg": ([], ["egg"]),
        "fish": (["fish:cod"], []),
        "milk": (["milk"], []),
        "nut": (["walnut"], ["almond", "hazelnut"]),
    }


def test_a1_what_neither_law_lists_is_told_besides() -> None:
    assert reported()["outside"] == ["chestnut"]
    assert "chestnut" in reported()["may_contain"]


def test_a1_each_ingredient_that_brings_an_allergen_is_named_with_the_recipes_that_call_it() -> None:
    sources = {each["item"]["ingredient"]: each for each in reported()["sources"]}
    assert list(sources) == ["butter", "cod", "crumb", "nuts"]
    assert sources["butter"]["recipes"] == ["breaded-cod", "sauce"]
    assert sources["crumb"] == {
        "item": {"ingredient": "crumb", "title": "Crumb"},
        "contains": ["wheat"],
        "may_contain": ["egg", "hazelnut"],
        "recipes": ["breaded-cod"],
    }


def test_a1_the_sources_together_are_what_the_report_contains() -> None:
    document = reported()
    assert {name for each in document["sources"] for name in each["contains"]} == set(document["contains"])


def test_a1_a_menu_item_is_all_of_its_components_also_those_that_few_guests_take() -> None:
    document = menu_item_report(pantry(), "plate", SITE, WED)
    assert [(each["recipe"], each["version"]) for each in document["components"]] == [("dish", 1), ("salad", 1)]
    assert document["components"][1]["contains"] == ["pine_nut", "walnut"]
    assert document["contains"] == ["fish:cod", "milk", "pine_nut", "walnut", "wheat"]
    assert document["warnings"] == []


def test_a1_a_component_that_nobody_can_read_is_warned_of_instead_of_passing_for_free_of_allergens() -> None:
    document = menu_item_report(pantry(), "plate", SITE, MON)
    assert document["components"][1] == {"recipe": "salad", "title": "Salad", "version": None, "contains": [], "may_contain": []}
    (warning,) = document["warnings"]
    assert warning["code"] == "no_version"
    assert "Salad has no version in force on 2026-11-30" in warning["detail"]


def test_a1_the_version_of_the_site_and_of_the_date_counts() -> None:
    catalogue = kitchen(
        ingredient("cream", contains=["milk"]),
        ingredient("oil"),
        recipe("sauce", "1 L", line("oil", "200 g")),
        recipe("sauce", "1 L", line("cream", "200 g"), number=2, starts_on=WED, sites=[SITE]),
        menu_item("plate", ("sauce", "100 mL")),
    )
    found = {(place, on): menu_item_report(catalogue, "plate", place, on)["contains"] for place in (SITE, None) for on in (TUE, WED)}
    assert found == {(SITE, TUE): [], (SITE, WED): ["milk"], (None, TUE): [], (None, WED): []}


def test_h3_a_report_is_never_without_its_cautions_though_it_names_nothing() -> None:
    catalogue = kitchen(ingredient("salt"), recipe("brine", "1 L", line("salt", "50 g")))
    document = recipe_report(catalogue, catalogue.versions["brine"][0], None, TUE)
    assert (document["contains"], document["us"], document["eu"], document["sources"]) == ([], [], [], [])
    assert document["cautions"] == [ALLERGEN_CAUTION, SAFETY_CAUTION]


@pytest.mark.parametrize("name", ALLERGENS)
def test_a1_every_name_of_the_vocabulary_is_in_a_law_once_or_outside_of_both(name: str) -> None:
    laws = [sum(name in each.names for each in law) for law in (US_NINE, EU_FOURTEEN)]
    assert max(laws) <= 1
    assert (outside([name]) == [name]) == (laws == [0, 0]) == (name in ("coconut", "chestnut"))


def test_a1_no_law_names_what_the_vocabulary_does_not_have() -> None:
    assert {name for each in (*US_NINE, *EU_FOURTEEN) for name in each.names} <= set(ALLERGENS)
    assert [kind(name) for name in ("fish:cod", "walnut")] == ["fish", "walnut"]

"""Checks of references: who keeps a thing of a collection from being removed."""

from service.kitchen.checks.references import references
from tests.kitchen.larder import WED, form, ingredient, kitchen, line, menu_item, par, recipe, site, step

GROUP = kitchen(
    ingredient("onion", form("dice", gives={"trim": "0.1"}), form("rings", station="cold-line")),
    ingredient("trim"),
    ingredient("salt"),
    recipe("soup", "20 L", line("onion/dice", "1 kg"), steps=[step("PT5M", station="bakery")]),
    recipe("soup", "20 L", line("onion", "1 kg"), gives={"trim": "1 g"}, number=2, starts_on=WED),
    recipe("pilot", "1 kg", sites=["mill-street", "harbour"]),
    menu_item("bowl", ("soup", "1 L")),
    site(station_map={"butchery": "hot-line"}, pars=[par("onion/dice", "1 kg", "09:00"), par("recipe soup", "1 L", "09:00")]),
)


def test_a_station_is_used_by_forms_recipes_steps_and_station_maps() -> None:
    assert references(GROUP, "stations", "veg") == ["form onion/dice"]
    assert references(GROUP, "stations", "bakery") == ["recipe soup"]
    assert references(GROUP, "stations", "hot-line") == ["recipe soup", "recipe pilot", "site mill-street"]
    assert references(GROUP, "stations", "butchery") == ["site mill-street"]


def test_an_ingredient_is_used_by_forms_recipes_and_pars_versions_of_the_past_included() -> None:
    assert references(GROUP, "ingredients", "onion") == ["recipe soup", "a par of site mill-street"]
    assert references(GROUP, "ingredients", "trim") == ["form onion/dice", "recipe soup"]
    assert references(GROUP, "ingredients", "salt") == []


def test_a_site_is_used_by_versions_that_single_it_out() -> None:
    assert references(GROUP, "sites", "harbour") == ["version 1 of pilot"]
    assert references(GROUP, "sites", "elsewhere") == []


def test_menu_items_are_used_by_nothing_in_the_catalogue() -> None:
    assert references(GROUP, "menu_items", "bowl") == []

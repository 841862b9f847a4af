"""Checks of menu items and sites: rules S3 (vessels), P16 (pars) and P1 (components)."""

from dataclasses import replace
from datetime import time

import pytest

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import MenuItem, Period, Site
from service.kitchen.checks.selling import menu_item_faults, site_faults
from tests.kitchen.larder import SITE, THU, TUE, Document, form, ingredient, kitchen, menu_item, par, recipe, site, with_things

GROUP = kitchen(
    ingredient("onion", form("dice")),
    recipe("soup", "20 L", portion="250 mL", batch={"multiple": "5 L", "smallest": "10 L"}),
    recipe("scone", "12 each"),
)


def told(found: list[Fault]) -> list[tuple[str, str]]:
    return [(fault.pointer, fault.code) for fault in found]


def item_faults(sold: MenuItem, catalogue: Catalogue = GROUP) -> list[tuple[str, str]]:
    return told(list(menu_item_faults(with_things(catalogue, sold), sold.code, TUE)))


def faults_of(place: Site, catalogue: Catalogue = GROUP) -> list[tuple[str, str]]:
    return told(list(site_faults(with_things(catalogue, place), place.code, list(place.vessels), TUE)))


def test_p1_a_component_is_a_recipe_in_a_quantity_that_it_can_give() -> None:
    assert item_faults(menu_item("bowl", ("soup", "1 portion"), ("scone", "2 each"))) == []
    assert item_faults(menu_item("bowl", ("soup", "1 portion"), ("stew", "1 portion"))) == [("/components/1/recipe", "unknown_reference")]
    # What is counted is sold by the piece: each is a portion. A stew by the kilo has none unless it says so.
    assert item_faults(menu_item("bowl", ("scone", "1 portion"))) == []
    by_the_kilo = with_things(GROUP, recipe("stew", "10 kg"))
    assert item_faults(menu_item("bowl", ("stew", "1 portion")), by_the_kilo) == [("/components/0/quantity/unit", "wrong_kind")]
    assert item_faults(menu_item("bowl", ("soup", "300 g"))) == [("/components/0/quantity/unit", "missing_equivalent")]


def test_p1_every_version_in_force_from_today_on_must_give_a_component() -> None:
    later = recipe("soup", "20 L", number=2, starts_on=THU)
    assert item_faults(menu_item("bowl", ("soup", "1 portion")), with_things(GROUP, later)) == [
        ("/components/0/quantity/unit", "wrong_kind")
    ]
    pilot = recipe("soup", "20 L", number=2, starts_on=THU, sites=[SITE])
    assert item_faults(menu_item("bowl", ("soup", "1 portion")), with_things(GROUP, pilot)) == [
        ("/components/0/quantity/unit", "wrong_kind")
    ]


def test_a_till_code_belongs_to_one_menu_item() -> None:
    catalogue = with_things(GROUP, menu_item("cup", codes=[("till-east", "1042")]))
    bowl = menu_item("bowl", codes=[("till-east", "1041"), ("till-west", "1042"), ("till-east", "1042")])
    assert item_faults(bowl, catalogue) == [("/codes/2", "duplicate")]


@pytest.mark.parametrize(
    ("vessels", "expected"),
    [
        ({"soup": "10 L"}, []),
        ({"soup": "5 gallon"}, []),
        ({"soup": "9 L"}, [("/vessels/0/largest", "batch_rule")]),
        ({"soup": "9 kg"}, [("/vessels/0/largest/unit", "missing_equivalent")]),
        ({"stew": "9 L"}, [("/vessels/0/recipe", "unknown_reference")]),
        ({"scone": "0.5 each", "soup": "4 L"}, [("/vessels/0/largest", "batch_rule"), ("/vessels/1/largest", "batch_rule")]),
    ],
)
def test_s3_a_vessel_fits_the_batch_rule_when_it_is_put(vessels: dict[str, str], expected: list[tuple[str, str]]) -> None:
    assert faults_of(site(vessels=vessels)) == expected


def test_s3_a_vessel_fits_every_version_that_the_site_can_cook_from_today_on() -> None:
    later = recipe("soup", "20 L", number=2, starts_on=THU, batch={"smallest": "15 L"})
    assert faults_of(site(vessels={"soup": "10 L"}), with_things(GROUP, later)) == [("/vessels/0/largest", "batch_rule")]
    elsewhere = recipe("soup", "20 L", number=2, starts_on=THU, batch={"smallest": "15 L"}, sites=["harbour"])
    assert faults_of(site(vessels={"soup": "10 L"}), with_things(GROUP, elsewhere)) == []
    past = kitchen(
        recipe("soup", "20 L", batch={"smallest": "15 L"}), recipe("soup", "20 L", number=2, starts_on=TUE, batch={"smallest": "10 L"})
    )
    assert faults_of(site(vessels={"soup": "10 L"}), past) == []


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        (par("recipe soup", "5 L", "09:00"), []),
        (par("onion/dice", "2 kg", "09:00"), []),
        (par("onion", "2 kg", "09:00"), [("/pars/0/item", "wrong_kind")]),
        (par("recipe stew", "2 L", "09:00"), [("/pars/0/item", "unknown_reference")]),
        (par("onion/rings", "2 kg", "09:00"), [("/pars/0/item", "unknown_reference")]),
        (par("leek/rings", "2 kg", "09:00"), [("/pars/0/item", "unknown_reference")]),
        (par("recipe soup", "5 kg", "09:00"), [("/pars/0/level/unit", "missing_equivalent")]),
        (par("onion/dice", "2 cup", "09:00"), [("/pars/0/level/unit", "missing_equivalent")]),
    ],
)
def test_p16_pars_are_of_recipes_and_forms_in_a_measure_that_they_know(wanted: Document, expected: list[tuple[str, str]]) -> None:
    assert faults_of(site(pars=[wanted])) == expected


@pytest.mark.parametrize(
    ("ends", "expected"),
    [
        ("14:00", []),
        ("03:00", []),  # In the night after, which belongs to the same business date.
        ("12:00", [("/periods/0/ends", "out_of_range")]),
        ("11:30", [("/periods/0/ends", "out_of_range")]),
        ("04:00", [("/periods/0/ends", "out_of_range")]),
    ],
)
def test_p1_a_period_ends_after_its_food_is_ready(ends: str, expected: list[tuple[str, str]]) -> None:
    assert faults_of(replace(site(), periods=(Period("lunch", "Lunch", time(12), time.fromisoformat(ends)),))) == expected


def test_p7_a_station_map_leads_from_stations_to_stations() -> None:
    assert faults_of(site(station_map={"veg": "cold-line"})) == []
    assert faults_of(site(station_map={"veg": "attic"})) == [("/station_map/veg", "unknown_reference")]
    assert faults_of(site(station_map={"attic": "veg"})) == [("/station_map/attic", "unknown_reference")]

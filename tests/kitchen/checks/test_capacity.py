"""Checks of capacity: the parts of rules K1, K4, K5 and K7 that are found before anything is planned."""

from dataclasses import replace
from typing import Any

import pytest

from service.kitchen.book.capacity import Equipment, read_capacity
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.checks.capacity import date_faults
from service.kitchen.checks.recipe import version_faults, version_notes
from service.kitchen.checks.references import references
from service.kitchen.checks.selling import site_faults
from tests.kitchen.book.test_capacity import machines, shift
from tests.kitchen.larder import TUE, ingredient, kitchen, line, only_site, recipe, site, step

OVENS = {code: Equipment(code, code.capitalize(), 1) for code in ("deck-oven", "combi-oven", "kettle")}
BY_TRAY = {"set_up": None, "per": {"amount": 1, "unit": "tray"}, "time": "PT3M"}


def group(*things: Version | Site) -> Catalogue:
    return replace(kitchen(ingredient("flour"), *things), equipment=OVENS)


def pie(*steps: dict[str, Any], **fields: Any) -> Version:
    return recipe("pie", "10 each", line("flour", "1 kg"), steps=steps, **fields)


def faults_of(version: Version) -> list[tuple[str, str]]:
    return [(fault.pointer, fault.code) for fault in version_faults(group(version), version, TUE)]


def test_k7_a_step_names_equipment_of_the_group() -> None:
    assert faults_of(pie(step("PT5M", equipment="deck-oven"))) == []
    assert faults_of(pie(step("PT5M"), step("PT5M", equipment="kiln"))) == [("/steps/1/equipment", "unknown_reference")]


@pytest.mark.parametrize(
    ("equivalents", "expected"),
    [
        (["1 tray = 6 each"], []),
        ([], [("/steps/0/active/per/unit", "unknown_unit")]),
        (["1 tray = 2 kg"], [("/steps/0/active/per/unit", "missing_equivalent")]),
    ],
)
def test_k5_what_a_rate_is_per_converts_for_the_recipe(equivalents: list[str], expected: list[tuple[str, str]]) -> None:
    assert faults_of(pie(step(BY_TRAY), equivalents=equivalents)) == expected


def test_k5_a_rate_may_be_per_portion() -> None:
    assert faults_of(pie(step({**BY_TRAY, "per": {"amount": 1, "unit": "portion"}}))) == []


def warned(version: Version, *sites: Site) -> list[str]:
    return [told.detail for told in version_notes(group(version, *sites), version) if told.code == "batch_at_a_time"]


def test_k4_equipment_without_a_load_that_converts_is_told_when_a_version_is_published() -> None:
    version = pie(step("PT5M", equipment="kettle"), step("PT5M", equipment="deck-oven"))
    (neither,) = warned(version, site(equipment=[machines("deck-oven", 1, "8 tray"), machines("kettle")]))
    assert "Kettle, Deck-oven" in neither
    (kettle,) = warned(version, site(equipment=[machines("deck-oven", 1, "8 tray", "24 each"), machines("kettle")]))
    assert "Kettle that" in kettle
    loads = [machines("combi-oven", 1, "24 each"), machines("kettle", 1, "10 portion")]
    assert warned(version, site(equipment=loads, equipment_map={"deck-oven": "combi-oven"})) == []
    assert warned(pie(step("PT5M")), site()) == []


def test_k4_only_sites_that_may_cook_the_version_are_asked_for_their_loads() -> None:
    version = pie(step("PT5M", equipment="deck-oven"), sites=["annex"])
    ovens = [machines("deck-oven", 1, "24 each")]
    assert len(warned(version, site(equipment=ovens), site("annex"))) == 1
    assert warned(version, site(), site("annex", equipment=ovens)) == []


def test_k7_a_site_lists_and_maps_equipment_of_the_group_and_its_shifts_name_stations() -> None:
    place = site(
        equipment=[machines("deck-oven"), machines("kiln")],
        equipment_map={"combi-oven": "kiln", "smoker": "deck-oven"},
        shifts=[shift("Early", "06:00-14:00", "veg", "attic")],
    )
    assert [(fault.pointer, fault.code) for fault in site_faults(group(place), place.code, [], TUE)] == [
        ("/equipment/1/equipment", "unknown_reference"),
        ("/equipment_map/combi-oven", "unknown_reference"),
        ("/equipment_map/smoker", "unknown_reference"),
        ("/shifts/0/stations/1", "unknown_reference"),
    ]


def test_k1_a_date_counts_machines_that_the_site_lists() -> None:
    catalogue = group(site(equipment=[machines("deck-oven")], equipment_map={"combi-oven": "deck-oven"}))
    counts = [{"equipment": code, "count": 1} for code in ("deck-oven", "combi-oven")]
    different = read_capacity({"shifts": None, "equipment": counts, "note": ""})
    (fault,) = date_faults(catalogue, only_site(catalogue), different)
    assert (fault.pointer, fault.code) == ("/equipment/1/equipment", "unknown_reference")


def test_equipment_is_used_by_steps_of_any_version_sites_and_their_maps() -> None:
    old, new = pie(step("PT5M", equipment="kettle")), pie(step("PT5M", equipment="deck-oven"), number=2)
    catalogue = group(old, new, site(equipment=[machines("deck-oven")], equipment_map={"combi-oven": "deck-oven"}))
    assert references(catalogue, "equipment", "deck-oven") == ["recipe pie", "site mill-street"]
    assert references(catalogue, "equipment", "combi-oven") == ["site mill-street"]
    assert references(catalogue, "equipment", "kettle") == ["recipe pie"]
    assert references(group(new, site()), "equipment", "kettle") == []


def test_a_station_is_used_by_shifts() -> None:
    catalogue = group(site(shifts=[shift("Early", "06:00-14:00", "veg")]))
    assert references(catalogue, "stations", "veg") == ["site mill-street"]

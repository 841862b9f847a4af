"""Checks of measures: rules U5 and U6 on one owner's quantities."""

from service.kitchen.checks.measures import equivalent_faults, quantity_faults
from service.kitchen.measures.units import Quantity
from tests.kitchen.larder import ingredient, quantity


def test_u5_a_quantity_that_reaches_the_kind_asked_for_has_no_fault() -> None:
    onion = ingredient("onion", equivalents=["1 cup = 115 g"]).conversions()
    assert quantity_faults(Quantity.read(quantity("2 cup")), onion, "/piece") == []
    assert quantity_faults(Quantity.read(quantity("2 kg")), onion, "/piece", "volume") == []
    assert quantity_faults(None, onion, "/piece") == []


def test_u5_a_quantity_that_does_not_is_a_fault_at_its_unit() -> None:
    onion = ingredient("onion").conversions()
    (fault,) = quantity_faults(Quantity.read(quantity("2 cup")), onion, "/piece")
    assert (fault.pointer, fault.code) == ("/piece/unit", "missing_equivalent")
    (fault,) = quantity_faults(Quantity.read(quantity("2 bunch")), onion, "/piece")
    assert (fault.pointer, fault.code) == ("/piece/unit", "unknown_unit")


def test_u5_and_u6_a_contradiction_is_at_its_pair_and_an_undefined_measure_at_its_unit() -> None:
    onion = ingredient("onion", equivalents=["1 cup = 115 g", "1 cup = 130 g", "1 sack = 3 crate"])
    found = equivalent_faults(onion.equivalents, onion.conversions(), "/equivalents")
    assert [(fault.pointer, fault.code) for fault in found] == [
        ("/equivalents/1", "contradictory_equivalents"),
        ("/equivalents/2/a/unit", "unknown_unit"),
        ("/equivalents/2/b/unit", "unknown_unit"),
    ]

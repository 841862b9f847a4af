"""Order: in which order forecasts, lots and the elements of a catalogue come in changes nothing on any list."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import TypeVar

from hypothesis import strategies as st

from service.api.wire.json import render
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.guests import Override, OverrideKey
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law

T = TypeVar("T")
V = TypeVar("V")
ORDERS = st.integers(0, 2**16).map(Random)


def lists(kitchen: Kitchen) -> list[bytes]:
    planned = kitchen.plan()
    return [render(kitchen.listed(planned, on)) for on in kitchen.dates]


def shuffled(order: Random, rows: Sequence[T]) -> tuple[T, ...]:
    return tuple(order.sample(rows, len(rows)))


def in_other_order(order: Random, table: Mapping[T, V]) -> dict[T, V]:
    return dict(shuffled(order, list(table.items())))


@law(kitchens(), ORDERS)
def test_the_order_of_forecasts_and_overrides_changes_nothing(kitchen: Kitchen, order: Random) -> None:
    moved = replace(kitchen, forecasts=shuffled(order, kitchen.forecasts), overrides=in_other_order(order, kitchen.overrides))
    assert lists(moved) == lists(kitchen)


@law(kitchens(), ORDERS)
def test_the_order_of_counted_lots_changes_nothing(kitchen: Kitchen, order: Random) -> None:
    found = lists(kitchen)
    assert lists(replace(kitchen, counted=kitchen.counted[::-1])) == found
    assert lists(replace(kitchen, counted=shuffled(order, kitchen.counted))) == found


@law(kitchens(), ORDERS)
def test_the_order_of_the_catalogue_changes_nothing(kitchen: Kitchen, order: Random) -> None:
    known = kitchen.catalogue
    moved = Catalogue(
        stations=in_other_order(order, known.stations),
        ingredients=in_other_order(order, known.ingredients),
        versions=in_other_order(order, known.versions),
        menu_items=in_other_order(order, known.menu_items),
        sites=in_other_order(order, known.sites),
        drafted=known.drafted,
    )
    assert lists(replace(kitchen, catalogue=moved)) == lists(kitchen)


@law(kitchens())
def test_an_override_that_says_nothing_changes_nothing(kitchen: Kitchen) -> None:
    named = [each for each in kitchen.forecasts if each.menu_item is not None]
    silent: dict[OverrideKey, Override] = {
        (each.date, each.period, each.menu_item or "", each.event.code if each.event else None): Override() for each in named
    }
    assert lists(replace(kitchen, overrides={**silent, **kitchen.overrides})) == lists(kitchen)

"""Checks of an ingredient: rules Y2, Y6, Y7, U5 and U6 before it is stored."""

from typing import Any

import pytest

from service.errors import Fault
from service.kitchen.book.ingredient import read_ingredient
from service.kitchen.checks.ingredient import ingredient_faults
from tests.kitchen.larder import Document, form, ingredient, ingredient_document, kitchen, quantity, with_things


def faults(*forms: Document, **fields: Any) -> list[Fault]:
    """The faults of an onion with these forms, beside trim and bones."""
    document = ingredient_document(*forms, **{"name": "Onion", **fields})
    onion = read_ingredient("onion", document)
    return ingredient_faults(with_things(kitchen(ingredient("trim"), ingredient("skin")), onion), "onion", document)


def told(found: list[Fault]) -> list[tuple[str, str]]:
    return [(fault.pointer, fault.code) for fault in found]


def test_a_whole_ingredient_has_no_faults() -> None:
    found = faults(
        form("dice", "0.88", gives={"trim": "0.08"}),
        form("petal", "0.5", cut="opened", gives={"skin": "0.1"}),
        form("heart", "0.4", cut="opened", whole=True),
        piece="150 g",
        equivalents=["1 bunch = 60 g"],
    )
    assert found == []


def test_y2_trim_yield_and_by_products_are_at_most_the_ap_drawn() -> None:
    assert faults(form("dice", "0.88", gives={"trim": "0.08", "skin": "0.04"})) == []
    assert told(faults(form("dice", "0.88", gives={"trim": "0.08", "skin": "0.05"}))) == [("/forms/0/trim_yield", "out_of_range")]


def test_y7_trim_yields_and_by_products_of_a_cut_sum_to_at_most_one() -> None:
    petal = form("petal", "0.5", cut="opened", gives={"skin": "0.1"})
    assert faults(petal, form("heart", "0.4", cut="opened")) == []
    assert told(faults(petal, form("heart", "0.41", cut="opened"))) == [("/forms/1/trim_yield", "out_of_range")]
    # Forms of other cuts come out of other pieces.
    assert faults(petal, form("heart", "0.41", cut="split")) == []


def test_y6_a_form_that_draws_whole_pieces_needs_the_piece() -> None:
    assert told(faults(form("heart", "0.4", whole=True))) == [("/piece", "required")]


def test_y6_a_piece_must_reach_the_stock_kind() -> None:
    assert told(faults(piece="1 each")) == [("/piece/unit", "missing_equivalent")]
    assert faults(piece="1 each", equivalents=["1 each = 150 g"]) == []


def test_y4_a_by_product_is_an_ingredient_of_the_catalogue() -> None:
    assert told(faults(form("dice", "0.88", gives={"peel": "0.08"}))) == [("/forms/0/by_products/0/ingredient", "unknown_reference")]


def test_y4_trimming_cannot_give_what_is_trimmed() -> None:
    assert told(faults(form("dice", "0.88", gives={"onion": "0.08"}))) == [("/forms/0/by_products/0/ingredient", "loop")]


def test_y2_a_fraction_must_reach_the_by_products_stock_kind() -> None:
    document = ingredient_document(form("juiced", "0.4", gives={"zest": "0.05"}), name="Orange", kind="count")
    catalogue = kitchen(ingredient("zest"), read_ingredient("orange", document))
    assert told(ingredient_faults(catalogue, "orange", document)) == [("/forms/0/by_products/0/fraction", "missing_equivalent")]


@pytest.mark.parametrize(
    ("equivalents", "expected"),
    [
        (["1 each = 150 g", "1 cup = 160 g"], []),
        (["1 cup = 160 g", "1 cup = 180 g"], [("/equivalents/1", "contradictory_equivalents")]),
        (["1 sack = 40 bunch"], [("/equivalents/0/a/unit", "unknown_unit"), ("/equivalents/0/b/unit", "unknown_unit")]),
    ],
)
def test_u5_and_u6_equivalents_do_not_contradict_and_measures_lead_to_a_unit(
    equivalents: list[str], expected: list[tuple[str, str]]
) -> None:
    assert told(faults(equivalents=equivalents)) == expected


def test_u5_a_forms_own_equivalents_are_checked_too() -> None:
    found = faults(form("dice", equivalents=["1 cup = 160 g", "1 cup = 180 g"]))
    assert told(found) == [("/forms/0/equivalents/1", "contradictory_equivalents")]


def test_u5_hands_on_time_is_stated_for_a_quantity_that_the_form_knows() -> None:
    active = {"set_up": "PT5M", "per": quantity("1 L"), "time": "PT6M"}
    assert told(faults(form("dice", active=active))) == [("/forms/0/active/per/unit", "missing_equivalent")]
    assert faults(form("dice", active=active, equivalents=["1 cup = 160 g"])) == []


def test_a_form_stands_at_a_station_of_the_group() -> None:
    assert told(faults(form("dice", station="attic"))) == [("/forms/0/station", "unknown_reference")]


def test_a_packs_quantity_and_site_are_known() -> None:
    pack = {"label": "sack", "quantity": quantity("2 L"), "price": None, "from": None, "site": "attic"}
    assert told(faults(packs=[pack])) == [("/packs/0/quantity/unit", "missing_equivalent"), ("/packs/0/site", "unknown_reference")]


def test_all_faults_come_at_once() -> None:
    found = faults(form("dice", "0.99", gives={"trim": "0.08"}, station="attic"), form("heart", "0.4", whole=True))
    assert [fault.pointer for fault in found] == ["/piece", "/forms/0/station", "/forms/0/trim_yield"]

"""Ingredients and forms: the parts of rules Y1, Y6 and Y7 that one ingredient holds."""

from datetime import timedelta
from fractions import Fraction

import pytest

from service.errors import MissingEquivalent
from service.kitchen.measures.calendar import Keeps
from service.kitchen.measures.units import Quantity
from tests.kitchen.larder import form, ingredient, ingredient_document


def test_y1_a_form_crosses_kinds_by_its_own_equivalents_into_its_ingredients_stock_kind() -> None:
    onion = ingredient("onion", form("dice", "0.88", equivalents=["1 cup = 160 g"]), equivalents=["1 cup = 115 g"])
    assert onion.conversions("dice").stock_kind == "mass"
    assert onion.conversions("dice").convert(form_cup := onion.forms[0].equivalents[0].a, "mass") == 160
    assert onion.conversions().convert(form_cup, "mass") == 115


def test_y6_a_piece_is_counted_in_the_stock_kind() -> None:
    assert ingredient("leg", piece="2.9 kg").piece_amount == 2900
    assert ingredient("egg", piece="1 each", equivalents=["1 each = 60 g"]).piece_amount == 60
    assert ingredient("onion").piece_amount is None


def test_y6_one_each_as_purchased_is_a_piece_unless_pairs_say_what_it_is() -> None:
    two = Quantity(Fraction(2), "each")
    assert ingredient("turkey", form("breast", "0.6"), piece="5 kg").conversions().to_stock(two) == 10_000
    assert ingredient("onion", piece="180 g", equivalents=["1 each = 150 g"]).conversions().to_stock(two) == 300
    assert ingredient("oil", piece="5 L", equivalents=["1 each = 1 L", "1 L = 920 g"]).conversions().to_stock(two) == 1840
    # Of a form, each would be what is left of a piece: only a pair says how much that is.
    with pytest.raises(MissingEquivalent):
        ingredient("turkey", form("breast", "0.6"), piece="5 kg").conversions("breast").to_stock(two)


def test_y7_forms_of_one_cut_are_found_as_authored_and_others_stay_alone() -> None:
    egg = ingredient("egg", form("white", cut="cracked"), form("whole"), form("yolk", cut="cracked"))
    white, whole, yolk = egg.forms
    assert egg.cut_of(yolk) == egg.cut_of(white) == (white, yolk)
    assert egg.cut_of(whole) == (whole,)


def test_t6_a_form_without_a_keeping_time_keeps_its_own_date_and_an_ingredient_without_one_keeps() -> None:
    onion = ingredient("onion", form("dice", keeps=None))
    assert onion.forms[0].keeps == Keeps()
    assert onion.keeps is None
    assert ingredient("bones", keeps="P2D").keeps == Keeps(days=2)


ACTIVE = {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT100S"}


def test_t2_the_lead_of_a_form_is_as_stated_else_its_hands_on_time_else_nil() -> None:
    # 7 kg: 5 min + 7 × 100 s = 16 min 40 s, up to 17.
    onion = ingredient("onion", form("whole"), form("dice", active=ACTIVE), form("pickled", lead="PT2H", active=ACTIVE))
    assert [onion.lead(each, 7000) for each in onion.forms] == [timedelta(0), timedelta(minutes=17), timedelta(hours=2)]


def test_t2_hands_on_time_over_two_days_is_shared_out() -> None:
    onion = ingredient("onion", form("dice", active=ACTIVE))
    assert onion.lead(onion.forms[0], 1_700_000) == timedelta(hours=47, minutes=19)
    assert onion.lead(onion.forms[0], 1_730_000) == timedelta(days=2)


def test_u4_a_decimal_of_a_document_is_exact() -> None:
    assert ingredient("onion", form("dice", "0.88")).forms[0].trim_yield == Fraction(22, 25)


def test_an_ingredient_of_no_known_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="stock kind"):
        ingredient("smoke", **ingredient_document(kind="length"))

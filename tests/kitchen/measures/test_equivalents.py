"""Equivalents and own measures: rules U5 to U7."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import MissingEquivalent, UnknownUnit, WrongKind
from service.kitchen.measures.equivalents import Conversions, Equivalent, contradictions
from service.kitchen.measures.units import KINDS, UNITS, Kind, Quantity

CUP = Fraction("236.5882365")


def quantity(text: str) -> Quantity:
    amount, unit = text.rsplit(" ", 1)
    return Quantity.read({"amount": amount, "unit": unit})


def pairs(*texts: str) -> list[Equivalent]:
    return [Equivalent(quantity(text.split(" = ")[0]), quantity(text.split(" = ")[1])) for text in texts]


def of(*owners: list[Equivalent], kind: Kind = "mass", portion: str | None = None) -> Conversions:
    return Conversions("onion", owners, kind, None if portion is None else quantity(portion))


def test_u5_within_a_kind_no_equivalent_is_needed() -> None:
    assert of().to_stock(quantity("2 1/2 lb")) == Fraction("1133.980925")
    assert of(kind="count").to_stock(quantity("2 dozen")) == 24


def test_u5_a_stated_pair_crosses_kinds_both_ways_and_exactly() -> None:
    flour = of(pairs("1 cup = 125 g"))
    assert flour.to_stock(quantity("1/3 cup")) == Fraction(125, 3)
    assert flour.convert(quantity("250 g"), "volume") == 2 * CUP


def test_u5_the_first_stated_of_several_direct_pairs_counts() -> None:
    assert of(pairs("1 each = 150 g", "1 each = 151 g")).to_stock(quantity("2 each")) == 300
    assert of(pairs("1 each = 151 g", "1 each = 150 g")).to_stock(quantity("2 each")) == 302


def test_u5_a_forms_own_pair_goes_before_its_ingredients() -> None:
    form, ingredient = pairs("1 each = 130 g"), pairs("1 each = 150 g")
    assert of(form, ingredient).to_stock(quantity("1 each")) == 130
    assert of([], ingredient).to_stock(quantity("1 each")) == 150


def test_u5_a_direct_pair_of_the_ingredient_goes_before_a_chain_of_the_form() -> None:
    form = pairs("1 each = 100 mL", "100 mL = 60 g")
    assert of(form, pairs("1 each = 150 g")).to_stock(quantity("1 each")) == 150


def test_u5_a_chain_through_the_third_kind_serves_where_no_direct_pair_is() -> None:
    onion = of(pairs("1 each = 150 g", "1 cup = 160 g"))
    assert onion.convert(quantity("1 each"), "volume") == CUP * 150 / 160
    assert onion.convert(quantity("1 cup"), "count") == Fraction(160, 150)


def test_u5_the_links_of_a_chain_follow_the_same_order() -> None:
    form, ingredient = pairs("1 cup = 120 g"), pairs("1 each = 150 g", "1 each = 151 g", "1 cup = 160 g")
    assert of(form, ingredient).convert(quantity("1 each"), "volume") == CUP * 150 / 120


@pytest.mark.parametrize(("unit", "to", "words"), [("cup", "mass", "volume"), ("each", "mass", "count"), ("g", "count", "mass")])
def test_u5_a_missing_equivalent_names_the_item_and_the_two_kinds(unit: str, to: Kind, words: Kind) -> None:
    with pytest.raises(MissingEquivalent) as refusal:
        of().convert(Quantity(Fraction(1), unit), to)
    assert (refusal.value.item, refusal.value.from_kind, refusal.value.to_kind) == ("onion", words, to)
    assert "onion" in refusal.value.detail


@pytest.mark.parametrize(
    ("stated", "refused"),
    [
        (["1 each = 150 g", "1 each = 151.5 g"], []),
        (["1 each = 150 g", "1 each = 148.5 g"], []),
        (["1 each = 150 g", "1 each = 151.6 g"], [1]),
        (["1 each = 150 g", "148.4 g = 1 each"], [1]),
        (["1 each = 100 g", "1 each = 100.9 g", "1 each = 99.2 g"], [2]),
        (["1 each = 150 g", "1 cup = 160 g", "1 each = 1 cup"], [2]),
        (["1 each = 150 g", "1 cup = 150 g", "1 each = 1 cup"], []),
        (["1 each = 100 g", "1 each = 100.9 g", "1 cup = 100 g", "1 each = 0.992 cup"], [3]),
        (["100 mL = 100 g", "100 mL = 100.9 g", "1 cup = 235 mL"], []),
        (["1 bunch = 60 g", "1 bunch = 62 g"], [1]),
        (["1 bunch = 60 g", "1 bunch = 3 each", "1 each = 20 g"], []),
        (["1 bunch = 60 g", "1 bunch = 3 each", "1 each = 25 g"], [2]),
        (["1 case = 6 tray", "1 case = 100 each", "1 tray = 24 each"], [2]),
        (["1 case = 6 tray", "1 tray = 24 each", "1 each = 50 g", "1 case = 7.2 kg"], []),
        (["1 case = 6 tray", "1 tray = 24 each", "1 each = 50 g", "1 case = 8 kg"], [3]),
        (["1 cup = 250 mL"], [0]),
        (["1 cup = 237 mL"], []),
        (["1 dozen = 13 each"], [0]),
        (["1 bunch = 2 bunch"], [0]),
        (["1 a = 2 b", "1 b = 3 a"], [1]),
        (["1 each = 150 g", "1 each = 200 g", "1 each = 201 g", "1 each = 150 g"], [1, 2]),
    ],
)
def test_u5_pairs_of_one_owner_that_contradict_by_more_than_one_percent_are_found(stated: list[str], refused: list[int]) -> None:
    assert [index for index, _ in contradictions(pairs(*stated))] == refused


def test_u5_a_contradiction_is_told_in_the_units_of_the_pair() -> None:
    assert contradictions(pairs("1 each = 150 g", "1 dozen = 2 kg", "1 cup = 250 mL")) == [
        (1, "1 dozen = 2 kg contradicts what stands before it, by which 1 dozen is 1.8 kg (11.11 % apart)"),
        (2, "1 cup = 250 mL contradicts the units themselves, by which 1 cup is 236.588 mL (5.669 % apart)"),
    ]


def test_u5_the_stated_portion_of_a_recipe_is_not_to_be_contradicted() -> None:
    stated = pairs("1 portion = 245 mL")
    assert contradictions(stated) == []
    assert [index for index, _ in contradictions(stated, quantity("240 mL"))] == [0]


def test_u6_an_item_may_name_its_own_measures() -> None:
    item = of(pairs("1 bunch = 60 g", "1 can_10 = 2.95 kg", "1 tray = 24 each"))
    assert item.to_stock(quantity("1/2 bunch")) == 30
    assert item.to_stock(quantity("2 can_10")) == 5900
    assert {name: item.kind_of(name) for name in ("bunch", "can_10", "tray")} == {"bunch": "mass", "can_10": "mass", "tray": "count"}


def test_u6_a_pair_may_state_several_of_a_measure() -> None:
    # Three bunches of 180 g are 60 g each, and four trays are two cases of 5 kg: 2.5 kg each.
    item = of(pairs("3 bunch = 180 g", "4 tray = 2 case", "1 case = 5 kg"))
    assert item.to_stock(quantity("1 bunch")) == 60
    assert item.to_stock(quantity("1 tray")) == 2500


def test_u6_a_pair_that_leads_nowhere_does_not_hide_the_next() -> None:
    # What a lid is, nobody says; the box has 50 pieces.
    item = of(pairs("1 box = 2 lid", "1 box = 50 each"), kind="count")
    assert item.to_stock(quantity("1 box")) == 50


def test_u6_a_pair_with_a_unit_of_the_vocabulary_defines_a_measure_before_one_that_tells_of_it_by_the_way() -> None:
    # A tray is 1.2 kg by its own pair; by the case of 2.41 kg it would be 1.205 kg.
    item = of(pairs("1 case = 2 tray", "1.2 kg = 1 tray", "1 case = 2.41 kg"))
    assert item.to_stock(quantity("1 tray")) == 1200


def test_u6_a_pair_that_defines_another_measure_tells_of_this_one_where_nothing_else_does() -> None:
    # Six trays are a case of 144 pieces: 24 a tray. What a lid is, nobody says. Of two that tell, the first stated counts.
    told = pairs("1 case = 6 tray", "1 case = 144 each")
    assert of(told, kind="count").to_stock(quantity("1 tray")) == 24
    assert of(pairs("1 lid = 2 tray"), told, kind="count").to_stock(quantity("1 tray")) == 24
    assert of(told, pairs("1 box = 2 tray", "1 box = 48.2 each"), kind="count").to_stock(quantity("1 tray")) == 24


def test_u6_an_own_measure_may_be_on_either_side_and_rest_on_another() -> None:
    item = of(pairs("24 each = 1 tray", "1 case = 6 tray"), kind="count")
    assert item.to_stock(quantity("2 case")) == 288
    assert item.undefined() == ()


def test_u6_the_order_of_statement_does_not_matter_where_one_measure_rests_on_another() -> None:
    assert of(pairs("1 case = 6 tray", "1 tray = 24 each"), kind="count").to_stock(quantity("1 case")) == 144


def test_u6_the_first_pair_defines_a_measure_and_the_second_relates_the_kinds() -> None:
    item = of(pairs("1 bunch = 60 g", "1 bunch = 3 each"))
    assert item.kind_of("bunch") == "mass"
    assert item.to_stock(quantity("1 each")) == 20
    turned = of(pairs("1 bunch = 3 each", "1 bunch = 60 g"))
    assert turned.kind_of("bunch") == "count"
    assert turned.to_stock(quantity("1 bunch")) == 60


def test_u6_the_nearest_owner_defines_a_measure() -> None:
    assert of(pairs("1 bunch = 50 g"), pairs("1 bunch = 60 g")).to_stock(quantity("1 bunch")) == 50


def test_u6_a_form_may_use_a_measure_of_its_ingredient() -> None:
    form, ingredient = pairs("1 box = 2 tray"), pairs("1 box = 50 each", "1 tray = 24 each")
    item = of(form, ingredient, kind="count")
    assert item.to_stock(quantity("1 box")) == 48
    assert item.to_stock(quantity("1 tray")) == 24


def test_u6_measures_that_lead_only_to_each_other_are_unknown() -> None:
    item = of(pairs("1 case = 6 tray", "1 tray = 1/6 case"))
    assert item.undefined() == ("case", "tray")
    assert of(pairs("1 case = 6 tray"), portion="2 portion").undefined() == ("case", "tray", "portion")
    with pytest.raises(UnknownUnit, match="onion has no measure 'case'"):
        item.kind_of("case")


def test_u6_a_measure_is_a_unit_of_its_item_alone() -> None:
    with pytest.raises(UnknownUnit, match="onion has no measure 'bunch': state it as an equivalent"):
        of().to_stock(quantity("1 bunch"))


def test_u6_the_error_of_a_slip_asks_whether_the_nearest_measure_is_meant() -> None:
    parsley = of(pairs("1 bunch = 60 g"))
    with pytest.raises(UnknownUnit, match=r"no measure 'bunhc' \(is bunch meant\?\): state it"):
        parsley.to_stock(quantity("1 bunhc"))
    with pytest.raises(UnknownUnit, match=r"no measure 'killo' \(is kg meant\?\): state it"):
        parsley.to_stock(quantity("1 killo"))


def test_u2_a_portion_is_legal_only_where_one_is_stated() -> None:
    soup = of(kind="volume", portion="240 mL")
    assert soup.kind_of("portion") == "volume"
    assert soup.to_stock(quantity("350 portion")) == 84000
    with pytest.raises(WrongKind, match="states no portion"):
        of().kind_of("portion")


def test_u2_a_portion_may_be_in_an_own_measure_and_in_a_pair() -> None:
    cake = of(pairs("1 tray = 24 slice", "1 tray = 3 kg", "1 slice = 1 each"), portion="2 slice")
    assert cake.to_stock(quantity("12 portion")) == 3000
    assert of(pairs("1 portion = 250 g"), portion="240 mL").to_stock(quantity("480 mL")) == 500


def test_u2_a_portion_of_portions_says_nothing() -> None:
    with pytest.raises(WrongKind):
        of(portion="2 portion").kind_of("portion")


@pytest.mark.parametrize("unit", ["percent", "degC", "degF"])
def test_u2_percentages_and_temperatures_are_no_quantities(unit: str) -> None:
    wrong = Quantity(Fraction(1), unit)
    with pytest.raises(WrongKind, match=unit):
        of().to_stock(wrong)
    with pytest.raises(WrongKind, match=unit):
        Equivalent(wrong, quantity("1 g"))
    with pytest.raises(WrongKind, match=unit):
        Equivalent(quantity("1 g"), wrong)


AMOUNTS = st.integers(1, 10**7).map(lambda milli: Fraction(milli, 1000))
SIZED = st.sampled_from([name for names in UNITS.values() for name in names])


@given(AMOUNTS, SIZED, AMOUNTS, AMOUNTS, st.sampled_from(KINDS))
def test_u7_there_and_back_is_where_one_started(amount: Fraction, unit: str, grams: Fraction, millilitres: Fraction, to: Kind) -> None:
    each = Quantity(Fraction(1), "each")
    item = of([Equivalent(each, Quantity(grams, "g")), Equivalent(each, Quantity(millilitres, "mL"))])
    canonical = {"mass": "g", "volume": "mL", "count": "each"}
    there = Quantity(item.convert(Quantity(amount, unit), to), canonical[to])
    assert item.convert(there, item.kind_of(unit)) == item.convert(Quantity(amount, unit), item.kind_of(unit))


@given(AMOUNTS, AMOUNTS, AMOUNTS)
def test_u7_floats_of_a_chain_agree_with_exact_rational_arithmetic(pieces: Fraction, grams: Fraction, per_cup: Fraction) -> None:
    each, cup = Quantity(Fraction(1), "each"), Quantity(Fraction(1), "cup")
    item = of([Equivalent(each, Quantity(grams, "g")), Equivalent(cup, Quantity(per_cup, "g"))])
    exact = item.convert(Quantity(pieces, "each"), "volume")
    assert exact == pieces * grams / per_cup * CUP
    assert float(pieces) * float(item.convert(each, "volume")) == pytest.approx(float(exact), rel=1e-9)


@given(st.lists(st.tuples(st.sampled_from("abcdef"), st.sampled_from(["a", "b", "c", "g", "each"])), max_size=20))
def test_u6_every_measure_mentioned_is_defined_or_listed_as_undefined(names: list[tuple[str, str]]) -> None:
    stated = [Equivalent(Quantity(Fraction(2), left), Quantity(Fraction(3), right)) for left, right in names]
    item = of(stated)
    for name in {name for pair in names for name in pair}:
        if name in item.undefined():
            with pytest.raises(UnknownUnit):
                item.kind_of(name)
        else:
            assert item.kind_of(name) in {"mass", "count"}

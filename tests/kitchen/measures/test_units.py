"""Units and amounts: rules U1 to U4 and U7."""

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import AmbiguousUnit, BadAmount, KitchenError, UnknownUnit, WrongKind
from service.kitchen.measures.amounts import parse_amount, write_amount
from service.kitchen.measures.units import (
    CANONICAL,
    KINDS,
    UNITS,
    VOCABULARY,
    Quantity,
    canonical_unit,
    factor,
    is_unit,
    kind_of,
    measure_or_unit,
)

SIZED = [name for names in UNITS.values() for name in names]
# The sizes that rule U2 and U3 state or imply, worked out by hand from the three exact anchors.
SIZES = {
    "mg": "0.001", "g": "1", "kg": "1000", "lb": "453.59237", "oz": "28.349523125",
    "mL": "1", "cL": "10", "dL": "100", "L": "1000",
    "gallon": "3785.411784", "quart": "946.352946", "pint": "473.176473", "cup": "236.5882365",
    "fl_oz": "29.5735295625", "tbsp": "14.78676478125", "tsp": "4.92892159375",
    "metric_tsp": "5", "metric_tbsp": "15", "metric_cup": "250",
    "imperial_gallon": "4546.09", "imperial_quart": "1136.5225", "imperial_pint": "568.26125", "imperial_fl_oz": "28.4130625",
    "each": "1", "dozen": "12",
}  # fmt: skip
SCOOPS = (6, 8, 10, 12, 16, 20, 24, 30, 40, 50, 60, 70, 100)


def test_u1_there_are_three_kinds_with_a_canonical_unit_of_size_one() -> None:
    assert KINDS == ("mass", "volume", "count")
    assert CANONICAL == {"mass": "g", "volume": "mL", "count": "each"}
    for kind, unit in CANONICAL.items():
        assert kind_of(unit) == kind
        assert factor(unit) == 1


def test_u1_every_unit_has_the_kind_it_is_listed_under() -> None:
    assert {name: kind_of(name) for name in ("mg", "lb", "tsp", "imperial_pint", "scoop_100", "dozen")} == {
        "mg": "mass",
        "lb": "mass",
        "tsp": "volume",
        "imperial_pint": "volume",
        "scoop_100": "volume",
        "dozen": "count",
    }


def test_u2_the_vocabulary_is_closed() -> None:
    scoops = {f"scoop_{number}" for number in SCOOPS}
    assert {*SIZES, *scoops, "portion", "percent", "degC", "degF"} == VOCABULARY
    assert set(SIZED) == {*SIZES, *scoops}
    assert all(is_unit(name) for name in VOCABULARY)
    assert not any(is_unit(name) for name in ("lbs", "pinch", "bunch", "scoop_7", ""))


@pytest.mark.parametrize("unit", SIZES)
def test_u3_the_factors_are_exact(unit: str) -> None:
    assert factor(unit) == Fraction(SIZES[unit])


@pytest.mark.parametrize("number", SCOOPS)
def test_u2_a_scoop_number_is_the_count_of_scoops_to_the_us_quart(number: int) -> None:
    assert factor(f"scoop_{number}") * number == Fraction("946.352946")


@pytest.mark.parametrize(
    ("unit", "spellings"),
    [
        ("lb", "lb lbs LB LBS Lbs lb. pound pounds Pounds"),
        ("oz", "oz OZ ounce ounces Ounces oz."),
        ("g", "g G gram grams gramme gr gr. GM"),
        ("kg", "kg KG Kg kilo kilos kilogram kilograms"),
        ("mg", "mg milligram milligrams"),
        ("L", "L l litre litres liter liters Ltr"),
        ("mL", "mL ml ML millilitre milliliters cc"),
        ("cL", "cl cL centilitre"),
        ("dL", "dl dL deciliter"),
        ("tsp", "tsp Tsp TSP tsp. teaspoon teaspoons"),
        ("tbsp", "tbsp Tbsp TBSP Tbs tbl tablespoon Tablespoons"),
        ("cup", "cup cups Cups us_cup US-cups"),
        ("fl_oz", "fl_oz floz fl.oz. fl-oz FL_OZ fluid_ounce fluid-ounces US_fluid_ounces"),
        ("pint", "pint pints US_pt us_pints"),
        ("quart", "quart quarts qt qts QT"),
        ("gallon", "gallon gallons gal gals"),
        ("metric_cup", "metric_cup Metric-Cups"),
        ("metric_tsp", "metric_teaspoon metric_tsp"),
        ("imperial_pint", "imperial_pint UK_pint imp_pt Imperial-Pints"),
        ("imperial_fl_oz", "imperial_fl_oz UK_fluid_ounces imp_floz"),
        ("imperial_gallon", "imperial_gallons imp_gal"),
        ("each", "each ea EA ea. pc pcs piece pieces ct"),
        ("dozen", "dozen dozens doz dz"),
        ("portion", "portion portions"),
        ("percent", "percent % pct per_cent"),
        ("degC", "degC °C deg_C celsius"),
        ("degF", "degF °F deg_F Fahrenheit"),
        ("scoop_8", "scoop_8 #8_scoop No._8_scoop 8_scoop scoop_no._8 Scoop_#8 number_8_disher scoop_08"),
    ],
)
def test_u2_common_spellings_mean_the_canonical_unit(unit: str, spellings: str) -> None:
    for spelling in spellings.split():
        assert canonical_unit(spelling) == unit
        assert canonical_unit(spelling.replace("_", " ")) == unit


@pytest.mark.parametrize(
    ("text", "advice"),
    [("t", "tsp or tbsp"), ("T", "tsp or tbsp"), ("c", "cup"), ("C", "cup"), ("pt", "pint or imperial_pint"), ("PT", "pint")],
)
def test_u2_units_that_cooks_read_in_two_ways_are_refused_with_what_to_write(text: str, advice: str) -> None:
    for read in (canonical_unit, measure_or_unit):
        with pytest.raises(AmbiguousUnit, match=advice):
            read(text)


@pytest.mark.parametrize("text", ["pinch", "dash", "ct_10", "k", "scoop", "scoop_7", "bunch"])
def test_u2_a_name_outside_the_vocabulary_may_only_be_a_measure_of_the_items_own(text: str) -> None:
    assert measure_or_unit(text) == text
    with pytest.raises(UnknownUnit, match="write one of mg, g, kg"):
        canonical_unit(text)


@pytest.mark.parametrize(
    ("text", "unit"), [("kilogam", "kg"), ("tbps", "tbsp"), ("Galon", "gallon"), ("teespoons", "tsp"), ("celcius", "degC")]
)
def test_u2_the_error_of_a_slip_asks_whether_the_nearest_unit_is_meant(text: str, unit: str) -> None:
    with pytest.raises(UnknownUnit, match=rf"\(is {unit} meant\?\): write one of mg, g, kg"):
        canonical_unit(text)


@pytest.mark.parametrize("text", ["bunch", "Stone", "pinch", "xylophone", "x" * 10_000])
def test_u2_what_is_near_to_no_unit_is_asked_of_none(text: str) -> None:
    with pytest.raises(UnknownUnit) as refused:
        canonical_unit(text)
    assert "meant" not in refused.value.detail


NO_NAMES = ["", " ", "Bunch", "2 g", "g g", "kg/L", "_x", "9bunch", "b" * 33, "\u212ag", "\uff47", "#9 scoop", None, 3, ["g"]]


@pytest.mark.parametrize("text", [*NO_NAMES, pytest.param(10**5000, id="a number of 5000 digits")])
def test_u2_what_can_be_neither_unit_nor_measure_is_unknown(text: object) -> None:
    with pytest.raises(UnknownUnit):
        measure_or_unit(text)


@pytest.mark.parametrize("unit", ["portion", "percent", "degC", "degF"])
def test_u2_what_is_no_mass_volume_or_count_has_no_kind_and_no_size(unit: str) -> None:
    for ask in (kind_of, factor):
        with pytest.raises(WrongKind, match=unit):
            ask(unit)


def test_u2_a_temperature_is_no_quantity() -> None:
    with pytest.raises(WrongKind, match="temperature"):
        Quantity.read({"amount": 74, "unit": "°C"})


@given(st.text(max_size=40))
def test_u2_any_text_is_a_unit_or_refused_by_a_kitchen_error(text: str) -> None:
    try:
        unit = canonical_unit(text)
    except KitchenError:
        unit = "kg"
    assert unit in VOCABULARY


@given(st.sampled_from(sorted(VOCABULARY)))
def test_u2_a_canonical_name_means_itself(unit: str) -> None:
    assert canonical_unit(unit) == measure_or_unit(unit) == unit


@pytest.mark.parametrize(
    ("value", "amount"),
    [
        (2, "2"),
        (2.5, "5/2"),
        (0.1, "1/10"),
        (1e-9, "1/1000000000"),
        (Decimal("0.1"), "1/10"),
        (Decimal("1E+3"), "1000"),
        (Decimal("2.5000000000000"), "5/2"),
        ("2", "2"),
        ("2.5", "5/2"),
        ("1/3", "1/3"),
        ("7/2", "7/2"),
        ("2 1/2", "5/2"),
        (10**7, "10000000"),
    ],
)
def test_u4_a_number_or_a_text_states_an_exact_amount(value: object, amount: str) -> None:
    assert parse_amount(value) == Fraction(amount)


def test_u4_three_thirds_of_a_cup_are_a_cup() -> None:
    third = Quantity.read({"amount": "1/3", "unit": "cups"})
    assert str(third) == "1/3 cup"
    assert 3 * third.amount * factor(third.unit) == factor("cup")


@pytest.mark.parametrize(
    ("value", "code"),
    [
        (True, "wrong_type"),
        (None, "wrong_type"),
        ([2], "wrong_type"),
        (float("nan"), "wrong_type"),
        (float("inf"), "wrong_type"),
        (Decimal("sNaN"), "wrong_type"),
        ("", "wrong_type"),
        ("1e3", "wrong_type"),
        ("-1", "wrong_type"),
        ("+1", "wrong_type"),
        ("1_000", "wrong_type"),
        ("1,5", "wrong_type"),
        (".5", "wrong_type"),
        ("2.", "wrong_type"),
        ("½", "wrong_type"),
        ("１", "wrong_type"),
        ("٣", "wrong_type"),
        ("2 3/2", "wrong_type"),
        ("2.5 1/2", "wrong_type"),
        (" 2", "wrong_type"),
        ("2\n", "wrong_type"),
        ("9" * 5000, "wrong_type"),
        (-1, "out_of_range"),
        (-0.5, "out_of_range"),
        (Decimal("-1E+999999"), "out_of_range"),
        (Decimal("1E+999999"), "out_of_range"),
        (Decimal("1E-999999"), "out_of_range"),
        (10**7 + 1, "out_of_range"),
        pytest.param(10**5000, "out_of_range", id="a number of 5000 digits"),
        ("10000000.000000001", "out_of_range"),
        (0.1 + 0.2, "out_of_range"),
        ("0.1234567891", "out_of_range"),
        ("1/0", "out_of_range"),
        ("1/1000001", "out_of_range"),
        ("1000001/2", "out_of_range"),
        (0, "out_of_range"),
        ("0/5", "out_of_range"),
        (Decimal("0E-999999"), "out_of_range"),
    ],
)
def test_u4_any_other_amount_is_refused_with_what_to_write(value: object, code: str) -> None:
    with pytest.raises(BadAmount) as refusal:
        parse_amount(value)
    assert refusal.value.code == code
    assert any(word in refusal.value.detail for word in ("write", "round", "shorten"))


@pytest.mark.parametrize("value", [0, 0.0, "0", "0.00", Decimal("0E-999999")])
def test_u4_nothing_is_an_amount_of_what_is_told(value: object) -> None:
    assert parse_amount(value, told=True) == 0
    assert Quantity.read({"amount": value, "unit": "g"}, told=True) == Quantity(Fraction(0), "g")


def test_u4_less_than_nothing_is_refused_even_of_what_is_told() -> None:
    with pytest.raises(BadAmount, match="0 or more"):
        parse_amount(-1, told=True)


@pytest.mark.parametrize(
    ("value", "amount"),
    [
        (Decimal("3644.9386875000005"), Fraction("3644.938687500")),
        (Decimal("0.0000000019"), Fraction("0.000000002")),
        (Decimal("1E-999999"), Fraction(0)),
        (1436.3999999999999, Fraction("1436.4")),
        (Decimal("98765432.125"), Fraction("98765432.125")),
        (10**12, Fraction(10**12)),
    ],
)
def test_u4_what_is_told_may_be_any_number_that_an_answer_has(value: object, amount: Fraction) -> None:
    assert parse_amount(value, told=True) == amount
    with pytest.raises(BadAmount):
        parse_amount(value)


@pytest.mark.parametrize("value", [10**12 + 1, Decimal("1E999999"), "1.0000000001", "2000001/3000000", Decimal("-0.1")])
def test_u4_what_is_told_has_bounds_and_a_text_is_exact(value: object) -> None:
    with pytest.raises(BadAmount):
        parse_amount(value, told=True)


@given(st.integers(1, 10**16).map(lambda nano: Fraction(nano, 10**9)))
def test_u4_a_decimal_of_nine_places_survives_writing_and_reading(amount: Fraction) -> None:
    text = write_amount(amount)
    assert parse_amount(text) == parse_amount(Decimal(text)) == amount


@given(st.integers(0, 10**6), st.integers(1, 10**6), st.integers(1, 10**6))
def test_u4_a_mixed_number_survives_writing_and_reading(whole: int, top: int, bottom: int) -> None:
    amount = whole + Fraction(top % bottom or 1, bottom)
    if amount.denominator <= 10**6:
        assert parse_amount(write_amount(amount)) == amount


@given(st.floats(allow_nan=True, allow_infinity=True) | st.decimals() | st.integers() | st.text(max_size=30))
def test_u4_whatever_is_written_is_an_amount_in_range_or_a_bad_amount(value: object) -> None:
    try:
        amount = parse_amount(value)
    except BadAmount:
        amount = Fraction(1)
    assert 0 < amount <= 10**7


@given(st.integers(1, 10**10).map(lambda milli: Fraction(milli, 1000)), st.sampled_from(sorted(SIZES)))
def test_u7_floats_agree_with_exact_rational_arithmetic(amount: Fraction, unit: str) -> None:
    exact = amount * Fraction(SIZES[unit])
    assert float(amount) * float(factor(unit)) == pytest.approx(float(exact), rel=1e-9)


def test_pint_is_imported_only_when_the_first_factor_is_asked_for() -> None:
    script = (
        "import sys, service.kitchen.measures.display, service.kitchen.measures.equivalents as e; before = 'pint' in sys.modules\n"
        "e.units.factor('lb'); print(before, 'pint' in sys.modules)"
    )
    answer = subprocess.run([sys.executable, "-W", "error", "-c", script], capture_output=True, text=True, check=True)
    assert answer.stdout.split() == ["False", "True"]

"""What the cook reads: rules D1 to D3, by examples, and beside a reading of D2 straight from its text."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.measures.amounts import parse_amount
from service.kitchen.measures.display import NOTHING, display, total
from service.kitchen.measures.units import Kind, System, canonical_unit, factor
from tests.kitchen.measures.reading import CUP, GALLON, OZ, QUART, TBSP, TSP, read


def metric(amount: float | Fraction, kind: Kind = "mass") -> str:
    return display(amount, kind, "metric").text


def us(amount: float | Fraction, kind: Kind = "volume") -> str:
    return display(float(amount), kind, "us").text


@pytest.mark.parametrize(
    ("grams", "text"),
    [
        (0.003, "0.01 g"),
        (0.125, "0.13 g"),
        (0.35, "0.35 g"),
        (0.996, "1 g"),
        (1.25, "1.3 g"),
        (2.5, "2.5 g"),
        (9.94, "9.9 g"),
        (9.95, "10 g"),
        (10.4, "10 g"),
        (43.775, "44 g"),
        (99.4, "99 g"),
        (99.5, "100 g"),
        (102.4, "100 g"),
        (102.5, "105 g"),
        (997.4, "995 g"),
        (997.5, "1 kg"),
        (999.9, "1 kg"),
        (1024, "1 kg"),
        (1025, "1.05 kg"),
        (2500, "2.5 kg"),
        (9975, "10 kg"),
        (10_049, "10 kg"),
        (10_050, "10.1 kg"),
        (11_363.636, "11.4 kg"),
        (1_234_567, "1234.6 kg"),
    ],
)
def test_d2_metric_steps_follow_the_amount_and_the_unit_is_chosen_after_rounding(grams: float, text: str) -> None:
    assert metric(grams) == text
    assert metric(grams, "volume") == text.replace("kg", "L").replace("g", "mL")


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (TSP / 8, "1/8 tsp"),
        (TSP / 4, "1/4 tsp"),
        (TSP * Fraction("0.4"), "3/8 tsp"),
        (TSP * Fraction("0.8"), "3/4 tsp"),
        (TSP * Fraction("1.5"), "1 1/2 tsp"),
        (TSP * Fraction("2.8"), "2 3/4 tsp"),
        (TSP * Fraction("2.9"), "1 tbsp"),
        (TBSP * Fraction("1.5"), "1 1/2 tbsp"),
        (TBSP * Fraction("3.4"), "3 1/2 tbsp"),
        (TBSP * Fraction("3.85"), "1/4 cup"),
        (CUP / 4, "1/4 cup"),
        (CUP * Fraction("0.34"), "1/3 cup"),
        (CUP * Fraction("0.65"), "2/3 cup"),
        (CUP * Fraction("0.75"), "3/4 cup"),
        (CUP * Fraction("1.3"), "1 1/3 cup"),
        (CUP * Fraction("1.29"), "1 1/4 cup"),
        # Half way between 1 1/4 and 1 1/3: halves go up.
        (CUP * Fraction(31, 24), "1 1/3 cup"),
        (CUP * Fraction("3.9"), "1 quart"),
        (QUART * Fraction("2.6"), "2 1/2 quart"),
        (QUART * Fraction("15.8"), "15 3/4 quart"),
        (QUART * Fraction("15.9"), "4 gallon"),
        (GALLON * 4, "4 gallon"),
        (GALLON * Fraction("4.2"), "4 1/4 gallon"),
        (GALLON * Fraction("19.98"), "20 gallon"),
    ],
)
def test_d2_us_volumes_are_in_spoons_cups_quarts_and_gallons(amount: Fraction, text: str) -> None:
    assert us(amount) == text


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (CUP * Fraction("0.875"), "3/4 cup + 2 tbsp"),
        (QUART * Fraction("1.125"), "1 quart + 1/2 cup"),
        (CUP * Fraction(7, 16), "1/3 cup + 1 1/2 tbsp"),
        (TBSP * Fraction("1.2"), "1 tbsp + 1/2 tsp"),
        # The smallest spoon there is follows, never mL.
        (TSP * Fraction("0.625"), "1/2 tsp + 1/8 tsp"),
        (TSP * Fraction("0.53"), "1/2 tsp"),
        # 5 % exactly stands: 20/19 of a quart is read as one.
        (QUART * Fraction(20, 19), "1 quart"),
        (QUART * Fraction("1.053"), "1 quart + 3 1/2 tbsp"),
    ],
)
def test_d2_a_second_smaller_measure_follows_where_the_first_errs_by_more_than_five_percent(amount: Fraction, text: str) -> None:
    assert us(amount) == text


@pytest.mark.parametrize(
    ("ounces", "text"),
    [
        ("0.035", "0.99 g"),
        ("0.25", "7.1 g"),
        ("0.999", "28 g"),
        ("1", "1 oz"),
        ("1.25", "1.3 oz"),
        ("3.94", "3.9 oz"),
        ("3.96", "4 oz"),
        ("5.1", "5 oz"),
        ("5.125", "5 1/4 oz"),
        ("15.8", "15 3/4 oz"),
        ("15.9", "1 lb"),
        ("16.2", "1 lb"),
        ("16.25", "1 lb 1/2 oz"),
        ("35.5", "2 lb 3 1/2 oz"),
        ("159.7", "9 lb 15 1/2 oz"),
        ("159.8", "10 lb"),
        ("160.5", "10 lb 1 oz"),
        ("163.4", "10 lb 3 oz"),
        ("799.4", "49 lb 15 oz"),
        ("799.5", "50 lb"),
        ("801.9", "50 lb"),
        ("802", "50 lb 4 oz"),
    ],
)
def test_d2_us_masses_are_in_grams_then_ounces_then_pounds_and_ounces(ounces: str, text: str) -> None:
    assert us(Fraction(ounces) * OZ, "mass") == text


@pytest.mark.parametrize(
    ("pieces", "text"),
    [(12, "12 each"), (11.2, "12 each"), (0.01, "1 each"), (3.0000000001, "3 each"), (3.00001, "4 each"), (89.99999999999, "90 each")],
)
def test_d2_counts_of_whole_things_go_up(pieces: float, text: str) -> None:
    assert metric(pieces, "count") == us(pieces, "count") == text


def test_d2_what_is_too_little_for_a_spoon_is_in_ml() -> None:
    assert us(TSP / 10) == "0.49 mL"
    assert us(0.004) == "0.01 mL"


@pytest.mark.parametrize("kind", ["mass", "volume", "count"])
@pytest.mark.parametrize("system", ["metric", "us"])
def test_d3_a_positive_amount_is_never_shown_as_nothing(kind: Kind, system: System) -> None:
    assert display(1e-7, kind, system).amount > 0


@pytest.mark.parametrize("kind", ["mass", "volume", "count"])
@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("amount", [0, 0.0, -1e-9])
def test_d2_nothing_is_0_without_a_unit(amount: float, kind: Kind, system: System) -> None:
    assert display(amount, kind, system) == NOTHING
    assert NOTHING.text == "0"


@pytest.mark.parametrize(
    ("grams", "text"),
    [(12.34, "12.3 g"), (12.35, "12.4 g"), (1234.56, "1234.6 g"), (0.35, "0.4 g"), (0.03, "0.1 g")],
)
def test_d3_a_critical_mass_is_shown_to_a_tenth_of_a_gram_in_either_system(grams: float, text: str) -> None:
    assert display(grams, "mass", "metric", critical=True).text == display(grams, "mass", "us", critical=True).text == text


def test_d3_a_critical_volume_or_count_is_shown_as_any_other() -> None:
    assert display(float(TSP * 2), "volume", "us", critical=True).text == "2 tsp"
    assert display(2.5, "count", "metric", critical=True).text == "3 each"


def test_d3_floats_a_hair_under_a_half_step_count_as_the_half() -> None:
    assert metric(102.49999999999) == "105 g"
    assert us(Fraction("2.625") * TSP * (1 - Fraction(1, 10**11))) == "2 3/4 tsp"
    assert metric(102.4999) == "100 g"


@pytest.mark.parametrize(
    ("amount", "kind", "system", "text"),
    [
        (2501, "mass", "metric", "2.55 kg"),
        (2500, "mass", "metric", "2.5 kg"),
        (2500.0000001, "mass", "metric", "2.5 kg"),
        (996, "volume", "metric", "1 L"),
        (OZ * Fraction("35.1"), "mass", "us", "2 lb 3 1/2 oz"),
        (QUART * Fraction("1.1"), "volume", "us", "1 quart + 1/2 cup"),
        (QUART * Fraction("2.9"), "volume", "us", "3 quart"),
        (QUART * Fraction("2.76"), "volume", "us", "2 3/4 quart + 2 tsp"),
        (2.1, "count", "metric", "3 each"),
    ],
)
def test_d3_pulls_and_orders_go_up(amount: float | Fraction, kind: Kind, system: System, text: str) -> None:
    assert display(amount, kind, system, up=True).text == text


@pytest.mark.parametrize("amount", [-1.0, -1e-5, float("nan"), float("inf")])
def test_d1_an_amount_that_no_rule_gives_is_not_dressed_up(amount: float) -> None:
    with pytest.raises(ValueError, match="finite and not negative"):
        display(amount, "mass", "metric")


def test_d3_a_total_is_the_sum_of_the_batches_as_displayed() -> None:
    batch = display(1167, "mass", "metric")
    assert batch.text == "1.15 kg"
    summed = total([(3, batch)], "mass", "metric")
    assert (summed.amount, summed.text) == (Fraction(3450), "3.45 kg")
    parts = [(2, display(1024, "mass", "metric")), (1, display(12, "mass", "metric"))]
    assert total(parts, "mass", "metric").text == "2.012 kg"
    assert total([(2, display(10.2, "count", "us"))], "count", "us").text == "22 each"


def test_d3_a_total_of_critical_lines_keeps_its_tenths_of_a_gram() -> None:
    cure = display(400.52, "mass", "us", critical=True)
    assert total([(3, cure)], "mass", "us").text == "1201.5 g"
    assert total([(1, cure), (1, display(1000, "mass", "metric"))], "mass", "metric").text == "1400.5 g"


@pytest.mark.parametrize(
    ("count", "amount", "text"),
    [
        (3, TBSP * Fraction("1.5"), "1/4 cup + 1 1/2 tsp"),
        (3, CUP * 4 / 3, "1 quart"),
        (4, QUART * Fraction("5.25"), "5 1/4 gallon"),
        (5, QUART * Fraction("4.25"), "5 1/4 gallon + 1 cup"),
        (12, TSP / 4, "1 tbsp"),
        (5, CUP / 3, "1 2/3 cup"),
        (2, CUP * Fraction("0.875"), "1 3/4 cup"),
    ],
)
def test_d3_a_total_is_told_without_further_rounding_in_measures_that_exist(count: int, amount: Fraction, text: str) -> None:
    assert total([(count, display(amount, "volume", "us"))], "volume", "us").text == text


@pytest.mark.parametrize(
    ("count", "ounces", "text"),
    [(3, "35.5", "6 lb 10 1/2 oz"), (21, "15.25", "20 lb 1/4 oz"), (3, "2.3", "6.9 oz"), (6, "3.3", "1 lb 3.8 oz")],
)
def test_d3_a_total_of_ounces_tells_what_they_add_up_to(count: int, ounces: str, text: str) -> None:
    assert total([(count, display(OZ * Fraction(ounces), "mass", "us"))], "mass", "us").text == text


def test_d3_a_total_never_mixes_systems() -> None:
    # 2 × 1/2 tsp and 0.5 mL are 1.1 tsp; 1 oz and 26 g are 1.92 oz.
    parts = [(2, display(TSP / 2, "volume", "us")), (1, display(0.5, "volume", "us"))]
    assert total(parts, "volume", "us").text == "1 tsp + 1/8 tsp"
    assert total([(1, display(28.5, "mass", "us")), (1, display(26, "mass", "us"))], "mass", "us").text == "1.9 oz"
    assert total([(3, display(27, "mass", "us"))], "mass", "us").text == "81 g"


def test_d3_a_total_of_nothing_is_nothing() -> None:
    assert total([], "mass", "metric") == NOTHING
    assert total([(2, NOTHING), (1, display(500, "mass", "metric"))], "mass", "metric").text == "500 g"


KINDS: st.SearchStrategy[Kind] = st.sampled_from(["mass", "volume"])
ALL_KINDS: st.SearchStrategy[Kind] = st.sampled_from(["mass", "volume", "count"])
SYSTEMS: st.SearchStrategy[System] = st.sampled_from(["metric", "us"])
# Anything that a kitchen measures, at and between half steps and bounds: so many parts of a measure.
PARTS = st.builds(
    lambda measure, parts, of: measure * Fraction(parts, of),
    st.sampled_from([Fraction(1), Fraction(1000), OZ, 16 * OZ, TSP, TBSP, CUP, QUART, GALLON]),
    st.integers(1, 100) | st.integers(1, 20_000),
    st.sampled_from([1, 2, 8, 16, 24, 40, 100, 480, 1000]),
)


@given(PARTS, ALL_KINDS, SYSTEMS, st.booleans())
def test_d2_the_text_is_that_of_a_plain_reading_of_the_rule(amount: Fraction, kind: Kind, system: System, up: bool) -> None:  # noqa: FBT001 - drawn
    assert display(float(amount), kind, system, up=up).text == read(amount, kind, system, up=up)


@given(st.floats(0.2, 1e7), SYSTEMS, st.booleans())
def test_d2_masses_and_more_than_a_few_drops_err_by_five_percent_at_most(amount: float, system: System, volume: bool) -> None:  # noqa: FBT001 - drawn
    shown = display(amount, "volume" if volume else "mass", system)
    # An eighth of a teaspoon is the finest spoon: it is near enough from 1 1/4 teaspoons on.
    if not volume or amount >= 1.25 * TSP:
        assert abs(float(shown.amount) / amount - 1) <= 0.05 + 1e-8


@given(st.floats(1e-7, 1e7), KINDS, SYSTEMS, st.booleans(), st.booleans())
def test_d1_the_text_says_exactly_the_amount_shown(amount: float, kind: Kind, system: System, critical: bool, up: bool) -> None:  # noqa: FBT001 - drawn
    shown = display(amount, kind, system, critical=critical, up=up)
    said = re.findall(r"([0-9][0-9./]*(?: [0-9]+/[0-9]+)?) ([a-zA-Z]+)", shown.text)
    assert sum(parse_amount(number) * factor(canonical_unit(unit)) for number, unit in said) == shown.amount
    if up:
        assert float(shown.amount) >= amount * (1 - 1e-8)


@given(st.floats(0.05, 1e7), st.floats(0.05, 1e7), KINDS, SYSTEMS)
def test_d3_more_is_never_shown_as_much_less(one: float, other: float, kind: Kind, system: System) -> None:
    less, more = sorted((one, other))
    if less >= 1.25 * TSP:
        # Two measures may show a hair more than one coarse step does for more, never more than both errors.
        assert float(display(less, kind, system).amount) <= float(display(more, kind, system).amount) * 1.05 / 0.95


@given(st.lists(st.tuples(st.integers(1, 20), st.floats(0.2, 1e5)), min_size=1, max_size=3), KINDS, SYSTEMS)
def test_d3_a_total_is_exactly_its_parts_where_they_are_of_one_system(parts: list[tuple[int, float]], kind: Kind, system: System) -> None:
    shown = [(count, display(amount, kind, system)) for count, amount in parts]
    summed = total(shown, kind, system)
    if len({part.on for _, part in shown}) == 1:
        assert summed.amount == sum(count * part.amount for count, part in shown)
    assert not (re.search(r"\b(oz|lb|tsp|tbsp|cup|quart|gallon)\b", summed.text) and re.search(r"\b(k?g|m?L)\b", summed.text))

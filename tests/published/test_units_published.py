"""Units, equivalents and display against published values.

Each check names its source and how the value was come by: `seen` in the source, `verified` (inputs and
answer both seen, and recomputed), `computed` from seen inputs, `secondhand` from a page that cites the
source, or `dataset`.
"""

import csv
import math
from fractions import Fraction
from pathlib import Path

import pytest

from service.kitchen.measures.amounts import parse_amount
from service.kitchen.measures.display import display
from service.kitchen.measures.equivalents import Conversions, Equivalent, contradictions
from service.kitchen.measures.units import Quantity, canonical_unit, factor

WEIGHTS = Path(__file__).parent / "data" / "usda_sr26_household_weights.csv"


def size(text: str) -> Fraction:
    """The canonical amount of a sum such as ``5 Tbsp + 1 tsp``."""
    terms = [term.rsplit(" ", 1) for term in text.split(" + ")]
    return sum((parse_amount(number) * factor(canonical_unit(unit)) for number, unit in terms), Fraction(0))


def quantity(text: str) -> Quantity:
    amount, unit = text.rsplit(" ", 1)
    return Quantity.read({"amount": amount, "unit": unit})


# NIST Handbook 44 Appendix C and NIST SP 811 Appendix B.8 (secondhand); imperial units: SP 811 B.8 (UK gallon)
# and the UK Weights and Measures Act (the fluid ounce secondhand, the gallon computed from it). All exact.
DEFINITIONS = {
    "lb": "453.59237",
    "oz": "28.349523125",
    "gallon": "3785.411784",
    "quart": "946.352946",
    "pint": "473.176473",
    "cup": "236.5882365",
    "fl_oz": "29.5735295625",
    "tbsp": "14.78676478125",
    "tsp": "4.92892159375",
    "imperial_fl_oz": "28.4130625",
    "imperial_gallon": "4546.09",
}


@pytest.mark.parametrize("unit", DEFINITIONS)
def test_u3_unit_definitions_are_nists(unit: str) -> None:
    assert factor(unit) == Fraction(DEFINITIONS[unit])


@pytest.mark.parametrize(
    ("many", "one"),
    [("4 qt", "1 gal"), ("2 pints", "1 qt"), ("2 cups", "1 pint"), ("16 tbsp", "1 cup"), ("3 tsp", "1 tbsp"), ("16 oz", "1 lb")],
)
def test_u3_the_us_ladder_holds_exactly(many: str, one: str) -> None:
    # TM 10-412 (2003), card A-1(3), note (seen).
    assert size(many) == size(one)


def test_u3_imperial_and_us_gallons_are_not_mixed_up() -> None:
    # 160 imperial fluid ounces of 28.4130625 mL to the imperial gallon (UK Weights and Measures Act, computed); 231 cubic inches,
    # 128 US fluid ounces, to the US gallon (NIST Handbook 44 Appendix C, secondhand).
    assert 160 * factor("imperial_fl_oz") == factor("imperial_gallon")
    assert 20 * factor("imperial_fl_oz") == factor("imperial_pint")
    assert factor("gallon") == 231 * Fraction("2.54") ** 3 == 128 * factor("fl_oz")


# Institute of Child Nutrition, "Basics at a Glance", panels Scoops, Ladles, Equivalents.
PRINTED_SCOOPS = {
    6: "2/3 cup", 8: "1/2 cup", 10: "3/8 cup", 12: "1/3 cup", 16: "1/4 cup", 20: "3 1/3 Tbsp", 24: "2 2/3 Tbsp", 30: "2 Tbsp",
    40: "1 2/3 Tbsp", 50: "3 3/4 tsp", 60: "3 1/4 tsp", 70: "2 3/4 tsp", 100: "2 tsp",
}  # fmt: skip


@pytest.mark.parametrize("number", PRINTED_SCOOPS)
def test_u2_a_scoop_is_32_fluid_ounces_divided_by_its_number(number: int) -> None:
    # The rule of the poster (verified): the number is that of level scoopfuls per quart.
    assert factor(canonical_unit(f"#{number} scoop")) == size("32 floz") / number


@pytest.mark.parametrize("number", PRINTED_SCOOPS)
def test_u2_the_printed_scoop_measures_are_the_rule_rounded(number: int) -> None:
    # The table of the poster (seen) rounds to measures that a drawer has, by up to 6.7 % of what it prints.
    printed = size(PRINTED_SCOOPS[number])
    assert abs(factor(f"scoop_{number}") / printed - 1) < Fraction("0.067")


@pytest.mark.parametrize(
    ("cups", "spoons"),
    [
        ("1/8", "2 Tbsp"),
        ("1/4", "4 Tbsp"),
        ("1/3", "5 Tbsp + 1 tsp"),
        ("3/8", "6 Tbsp"),
        ("1/2", "8 Tbsp"),
        ("5/8", "10 Tbsp"),
        ("2/3", "10 Tbsp + 2 tsp"),
        ("3/4", "12 Tbsp"),
        ("7/8", "14 Tbsp"),
        ("1", "16 Tbsp"),
    ],
)
def test_u4_fractions_of_a_cup_are_whole_spoons_exactly(cups: str, spoons: str) -> None:
    # "Basics at a Glance", Equivalents (verified).
    assert size(f"{cups} cup") == size(spoons)


@pytest.mark.parametrize(("ounces", "cups"), [(1, "1/8"), (2, "1/4"), (3, "3/8"), (4, "1/2"), (6, "3/4"), (8, "1"), (12, "1 1/2")])
def test_u3_ladles_labelled_in_ounces_hold_fluid_ounces(ounces: int, cups: str) -> None:
    # "Basics at a Glance", Ladles (verified).
    assert size(f"{ounces} floz") == size(f"{cups} cups")


@pytest.mark.parametrize(("ounces", "portions"), [(10, 24), (8, 30), (6, 40), (4, 60), (2, 120), (1, 240)])
def test_u2_a_portion_counts_out_a_pan(ounces: int, portions: int) -> None:
    # A steam cooker's manual, pan capacity chart: a pan of 240 fl oz (verified).
    soup = Conversions("soup", [], "volume", quantity(f"{ounces} floz"))
    assert soup.to_stock(Quantity(Fraction(portions), "portion")) == size("240 floz")


def test_u6_a_can_is_a_measure_of_its_own() -> None:
    # Kansas State Research and Extension, can sizes (seen): a No. 303 can is 1 lb, 2 cups.
    stated = [Equivalent(quantity("1 can_303"), quantity("1 lb")), Equivalent(quantity("1 can_303"), quantity("2 cups"))]
    peas = Conversions("peas", [stated], "mass")
    assert peas.to_stock(quantity("3 can_303")) == size("3 lb")
    assert peas.to_stock(quantity("1 cup")) == size("8 oz")


def test_u5_the_label_cup_is_not_the_customary_cup() -> None:
    # 21 CFR 101.9(b)(5)(viii) (seen): for labels only, a cup is 240 mL, a teaspoon 5 mL; 240 / 236.5882365 is 1.44 % more (computed).
    label = [Equivalent(quantity("1 cup"), quantity("240 mL")), Equivalent(quantity("1 tsp"), quantity("5 mL"))]
    ((first, cup), (second, _)) = contradictions(label)
    assert (first, second) == (0, 1)
    assert "1.442 % apart" in cup


@pytest.mark.parametrize("hundredths", range(100))
def test_d3_decimal_ounces_are_rounded_to_quarters_as_on_the_army_card(hundredths: int) -> None:
    # TM 10-412 (2003), card A-1(2), step 2 (verified): .00-.12, .13-.37, .38-.62, .63-.87, .88-.99.
    quarters = (hundredths > 12) + (hundredths > 37) + (hundredths > 62) + (hundredths > 87)
    ounces = Fraction(800 + hundredths, 100)
    assert display(float(ounces * factor("oz")), "mass", "us").amount == (8 + Fraction(quarters, 4)) * factor("oz")


def test_d2_decimal_pounds_become_pounds_and_ounces_as_on_the_army_card() -> None:
    # TM 10-412 (2003), card A-1(2), step 2 (verified): 1.25 lb x 3.48 = 4.35 lb = 4 lb 5.60 oz, in quarters 4 lb 5 1/2 oz.
    weight = parse_amount("1.25") * parse_amount("3.48")
    assert weight == parse_amount("4.35")
    assert display(float(weight * factor("lb")), "mass", "us").text == "4 lb 5 1/2 oz"


# TM 10-412 (2003), card A-1(2), table 1 (verified): ounces in pounds, two decimals.
OUNCES_IN_POUNDS = {
    1: ".06", 2: ".13", 3: ".19", 4: ".25", 5: ".31", 6: ".38", 7: ".44", 8: ".50",
    9: ".56", 10: ".63", 11: ".69", 12: ".75", 13: ".81", 14: ".88", 15: ".94", 16: "1.00",
}  # fmt: skip


@pytest.mark.parametrize("ounces", OUNCES_IN_POUNDS)
def test_u3_ounces_are_exact_enough_for_the_ties_of_the_army_table(ounces: int) -> None:
    # 2, 6, 10 and 14 oz are ties (0.125 lb, ...) that the table rounds up; a factor that is off by a hair would lose them.
    pounds = ounces * factor("oz") / factor("lb")
    assert Fraction(math.floor(pounds * 100 + Fraction(1, 2)), 100) == Fraction(OUNCES_IN_POUNDS[ounces])


def test_u3_the_volume_cascade_of_the_army_card() -> None:
    # TM 10-412 (2003), card A-1(2)-(3), step 3 (verified): 6 gal x 3.33 = 19.98 gal = 19 gal 3 qt 1 pt 1 c 10 tbsp 2.64 tsp,
    # at the end to the nearest 1/4 tsp: 2 3/4 tsp.
    rest = size("6 gal") * parse_amount("3.33")
    for taken in ("19 gal", "3 qt", "1 pint", "1 cup", "10 tbsp"):
        largest = factor(canonical_unit(taken.split(" ", 1)[1]))
        assert rest // largest == size(taken) / largest
        rest -= size(taken)
    assert rest == size("2.64 tsp")
    assert display(float(rest), "volume", "us").text == "2 3/4 tsp"


def weights(food: str) -> dict[str, Fraction]:
    """Grams of one of each household measure of a food, in USDA SR26 (dataset)."""
    with WEIGHTS.open(newline="", encoding="utf-8") as file:
        return {row["desc"]: Fraction(row["weight"]) / Fraction(row["amount"]) for row in csv.DictReader(file) if row["id"] == food}


@pytest.mark.parametrize(
    ("food", "cup", "others"),
    [
        ("01001", "cup", {"tbsp": "tbsp"}),
        ("02047", "cup", {"tsp": "tsp", "tbsp": "tbsp"}),
        ("19335", "cup", {"tsp": "tsp"}),
        ("01077", "cup", {"fl oz": "fl_oz", "tbsp": "tbsp", "quart": "quart"}),
        ("19296", "cup", {"tbsp": "tbsp"}),
        ("01053", "cup, fluid (yields 2 cups whipped)", {"tbsp": "tbsp", "fl oz": "fl_oz"}),
        ("19165", "cup", {"tbsp": "tbsp"}),
        ("11215", "cup", {"tsp": "tsp"}),
        ("14429", "cup 8 fl oz", {"fl oz": "fl_oz", "liter": "L"}),
    ],
)
def test_u5_the_cup_of_a_food_gives_its_spoons_within_the_rounding_of_the_data(food: str, cup: str, others: dict[str, str]) -> None:
    # USDA SR26 (dataset) rounds the rows of a food separately, which puts them up to 2 % apart.
    published = weights(food)
    item = Conversions(food, [[Equivalent(quantity("1 cup"), Quantity(published[cup], "g"), "USDA SR26")]], "mass")
    for measure, unit in others.items():
        assert float(item.to_stock(Quantity(Fraction(1), unit))) == pytest.approx(float(published[measure]), rel=0.02)


def test_u5_the_eggs_of_a_cup_are_as_many_as_published() -> None:
    # USDA SR26 (dataset), 01123: a large egg is 50 g, and a cup 243 g, "4.86 large eggs".
    published = weights("01123")
    stated = [
        Equivalent(quantity("1 each"), Quantity(published["large"], "g"), "USDA SR26"),
        Equivalent(quantity("1 cup"), Quantity(published["cup (4.86 large eggs)"], "g"), "USDA SR26"),
    ]
    assert Conversions("egg", [stated], "mass").convert(quantity("1 cup"), "count") == Fraction("4.86")


def test_u6_cloves_and_sticks_are_measures_of_their_items() -> None:
    # USDA SR26 (dataset), 11215: a clove of garlic is 3 g, nine grams are three; 01001: a stick of butter is 113 g, half a cup.
    garlic, butter = weights("11215"), weights("01001")
    item = Conversions("garlic", [[Equivalent(quantity("1 clove"), Quantity(garlic["clove"], "g"))]], "mass")
    assert item.to_stock(quantity("3 clove")) == 3 * garlic["cloves"] == 9
    stated = [Equivalent(quantity("1 stick"), Quantity(butter["stick"], "g")), Equivalent(quantity("1 cup"), Quantity(butter["cup"], "g"))]
    assert contradictions([*stated, Equivalent(quantity("2 stick"), quantity("1 cup"))]) == []


def test_u5_published_rows_of_one_food_may_contradict_each_other() -> None:
    # USDA SR26 (dataset), 04582: a tablespoon of canola oil is 14 g and a cup 218 g, 2.75 % apart; only one can be stated.
    oil = weights("04582")
    stated = [Equivalent(quantity("1 cup"), Quantity(oil["cup"], "g")), Equivalent(quantity("1 tbsp"), Quantity(oil["tbsp"], "g"))]
    ((index, sentence),) = contradictions(stated)
    assert index == 1
    assert "2.752 % apart" in sentence


def test_u5_chopping_changes_what_a_cup_weighs_and_not_what_a_piece_weighs() -> None:
    # USDA SR26 (dataset), 11282: a cup of onion is 160 g chopped and 115 g sliced; a medium onion is 110 g.
    onion = weights("11282")
    whole = [Equivalent(quantity("1 each"), Quantity(onion['medium (2-1/2" dia)'], "g"))]
    chopped = Conversions("onion/chopped", [[Equivalent(quantity("1 cup"), Quantity(onion["cup, chopped"], "g"))], whole], "mass")
    sliced = Conversions("onion/sliced", [[Equivalent(quantity("1 cup"), Quantity(onion["cup, sliced"], "g"))], whole], "mass")
    assert chopped.to_stock(quantity("2 cup")) == 320
    assert sliced.to_stock(quantity("2 cup")) == 230
    assert chopped.to_stock(quantity("2 each")) == sliced.to_stock(quantity("2 each")) == 220

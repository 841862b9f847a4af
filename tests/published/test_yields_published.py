"""Trim yields and refuse against published tables (Y1, Y2, S5), through the interface.

`verified` means that inputs and answer were both read and recomputed, `seen` that the figure was read in the source, `dataset` that it was
read from the data. A cook needs edible portion and the house says what to purchase, or has so much as purchased and
the house says how much it makes.
"""

import csv
from pathlib import Path

import pytest

from service.kitchen.measures.units import factor
from tests.published.house import House, amounts, line

REFUSE = Path(__file__).parent / "data" / "usda_sr26_refuse.csv"
POUND = float(factor("lb"))

# TM 10-412, Armed Forces Recipe Service, card A-6, "Table of conversion factors, EP to AP", vegetables (seen).
VEGETABLES = {
    "green beans, trimmed": 1.14,
    "broccoli florets": 2.2,
    "brussels sprouts": 1.11,
    "cabbage, trimmed and cored": 1.25,
    "carrots, peeled": 1.22,
    "celery, trimmed": 1.37,
    "corn on the cob": 1.43,
    "cucumbers, pared": 1.19,
    "eggplant, pared": 1.23,
    "mushrooms": 1.1,
    "onions, dry, peeled": 1.11,
    "parsnips, pared": 1.18,
    "peppers, sweet, cored": 1.22,
}
# TM 10-412, card A-7, fruits (seen). The copy prints some factors as fractions; only plain decimals are kept.
FRUITS = {
    "grapefruit segments": 1.92,
    "grapes, seeded": 1.12,
    "oranges, sections": 2.0,
    "peaches, peeled and pitted": 1.32,
    "pears, pared and cored": 1.28,
    "pears, unpared": 1.09,
    "strawberries, capped": 1.06,
    "tangerine sections": 1.39,
}


def code(food: str) -> str:
    return food.replace(",", "").replace(" ", "-")


def purchased(house: House, yields: dict[str, float], ready: str) -> dict[str, float]:
    """AP of each food for so much EP of each."""
    for food, trim_yield in yields.items():
        house.trimmed(code(food), trim_yield)
    house.recipe("platter", f"{len(yields)} lb", [line(f"{code(food)}/ready", ready) for food in yields])
    weights = amounts(house.open().scaled("platter", f"{len(yields)} lb")["ingredients"])
    return {food: weights[code(food)] for food in yields}


@pytest.mark.parametrize("factors", [VEGETABLES, FRUITS], ids=["card A-6", "card A-7"])
def test_y1_purchased_weight_is_edible_weight_times_the_factor_of_the_card(house: House, factors: dict[str, float]) -> None:
    # The cards state AP = EP x factor, so the yield of the form is 1 / factor.
    weights = purchased(house, {food: 1 / each for food, each in factors.items()}, "10 lb")
    assert weights == pytest.approx({food: 10 * POUND * each for food, each in factors.items()}, rel=1e-9)


@pytest.mark.parametrize("factors", [VEGETABLES, FRUITS], ids=["card A-6", "card A-7"])
def test_y1_a_yield_rounded_to_a_tenth_of_a_percent_stays_within_the_rounding_of_the_card(house: House, factors: dict[str, float]) -> None:
    # A house that writes the yield as a percentage with one decimal is off by at most 0.0005 / yield, 0.11 % of the broccoli.
    weights = purchased(house, {food: round(1 / each, 3) for food, each in factors.items()}, "10 lb")
    off = {food: abs(weights[food] / (10 * POUND * each) - 1) for food, each in factors.items()}
    assert all(off[food] <= 0.0005 * each for food, each in factors.items()), off


def test_y1_three_pounds_of_pared_cucumbers(house: House) -> None:
    # TM 10-412, card A-6, worked example (verified): 3 lb EP x 1.19 = 3.57 lb, 3 lb 9 oz AP; 3.57 / 1.19 = 3 lb again.
    house.trimmed("cucumber", 1 / 1.19)
    house.recipe("pared-cucumber", "3 lb", [line("cucumber/ready", "3 lb")])
    (needed,) = house.open().scaled("pared-cucumber", "3 lb", "us")["ingredients"]
    assert needed["quantity"]["amount"] == pytest.approx(3.57 * POUND, rel=1e-9)
    assert needed["quantity"]["display"] == "3 lb 9 oz"
    made = house.from_what_is_here("pared-cucumber", "cucumber", "3.57 lb", "us")["quantity"]
    assert made["amount"] == pytest.approx(3 * POUND, rel=1e-9)
    assert made["display"] == "3 lb"


def refuse() -> dict[str, int]:
    """Refuse in percent of AP, by the food's number."""
    with REFUSE.open(newline="", encoding="utf-8") as file:
        return {row["id"]: int(row["ref_pct"]) for row in csv.DictReader(file)}


def test_y1_what_is_left_after_refuse_is_the_trim_yield(house: House) -> None:
    # USDA National Nutrient Database for Standard Reference, release 26, field Refuse of FOOD_DES (dataset): 10 kg of carrots as purchased,
    # 11 % refuse, are 8.9 kg edible, and so for every food of the table; back again the 10 kg.
    percentages = refuse()
    assert (percentages["11124"], percentages["11282"], percentages["01123"]) == (11, 10, 12)
    for food, percentage in percentages.items():
        house.trimmed(food, (100 - percentage) / 100)
    edible = {food: (100 - percentage) / 10 for food, percentage in percentages.items()}
    house.recipe("edible", "150 kg", [line(f"{food}/ready", f"{edible[food]} kg") for food in percentages])
    weights = amounts(house.open().scaled("edible", "150 kg")["ingredients"])
    assert weights == pytest.approx(dict.fromkeys(percentages, 10_000.0), rel=1e-9)


def test_y2_what_is_refused_is_kept_where_another_recipe_uses_it(house: House) -> None:
    # The same data (dataset): 14 % of a head of broccoli in a house that keeps the stalks, of the 39 % refuse; the other 25 % are waste.
    # 6.1 kg EP draw 10 kg AP and give 1.4 kg of stalks, which a soup takes before anything is pulled for it.
    assert refuse()["11090"] == 39
    house.trimmed("broccoli", 0.61, by_products=[{"ingredient": "broccoli-stalk", "fraction": 0.14}])
    house.ingredient("broccoli-stalk", keeps="P1D")
    house.recipe("florets", "1 each", [line("broccoli/ready", "6.1 kg")])
    house.sold("florets")
    house.open().expect({1: 1}, "florets")
    (today,) = house.lists(1)
    assert amounts(today["pulls"]) == {"broccoli": pytest.approx(10_000, rel=1e-9)}
    assert amounts(today["left_over"]) == {"broccoli-stalk": pytest.approx(1_400, rel=1e-9)}


# Yield tests as text books work them: as purchased, yield as the book states it, what it makes, and how near the book's own rounding is.
CUTTING_TESTS = [
    # BCcampus, Basic Kitchen and Food Service Management, chapter 12, example 12 (verified): a tenderloin of 2.5 kg less 750 g of trim is
    # 1,750 g, 70 %.
    pytest.param("2.5 kg", 0.70, 1_750.0, 1e-9, id="tenderloin"),
    # The same example (verified): a salmon of 7.75 kg less 2.75 kg is 5,000 g; the 64.51 % printed is 64.516 % cut off, so within 0.01 %.
    pytest.param("7.75 kg", 0.6451, 5_000.0, 1.1e-4, id="salmon"),
    # Foundations of Cost Control, chapter 4, exercise 4c (verified): 10 lb of broccoli at 68 % are 6.8 lb, 108.8 oz.
    pytest.param("10 lb", 0.68, 108.8 * float(factor("oz")), 1e-9, id="broccoli"),
    # The same chapter, exercise 4a (verified): 17 lb of cauliflower give 10 lb, 58.8 %.
    pytest.param("17 lb", 0.588, 10 * POUND, 5e-4, id="cauliflower"),
]


@pytest.mark.parametrize(("have", "trim_yield", "made", "rounding"), CUTTING_TESTS)
def test_s5_what_is_on_the_scale_makes_what_the_yield_test_says(
    house: House, have: str, trim_yield: float, made: float, rounding: float
) -> None:
    house.trimmed("piece", trim_yield)
    house.recipe("trimmed", "1 kg", [line("piece/ready", "1 kg")])
    answer = house.open().from_what_is_here("trimmed", "piece", have)
    assert answer["quantity"]["amount"] == pytest.approx(made, rel=rounding)


def test_y1_the_yield_of_a_cutting_test_is_usable_over_purchased(house: House) -> None:
    # BCcampus, example 12 (verified), with the weights themselves in place of the rounded percentage: 5 kg of 7.75 kg.
    house.trimmed("salmon", 5 / 7.75)
    house.recipe("fillet", "5 kg", [line("salmon/ready", "5 kg")])
    assert amounts(house.open().scaled("fillet", "5 kg")["ingredients"]) == {"salmon": pytest.approx(7_750, rel=1e-9)}

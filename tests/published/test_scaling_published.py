"""Scaling against published worked examples (S1, S2, S3), each through the interface.

`verified` means that inputs and answer were both read in the source and recomputed, `seen` that the fact was
read in the source, `computed` that the inputs were read and the answer recomputed.
"""

import pytest

from service.kitchen.measures.units import factor
from tests.published.house import House, amounts, line, percent

POUND = float(factor("lb"))
OUNCE = float(factor("oz"))
TABLESPOON = float(factor("tbsp"))


def test_s1_the_working_factor_is_portions_needed_over_portions_made(house: House) -> None:
    # TM 10-412 (2003), Armed Forces Recipe Service, card A-1(2), step 2 (verified): a recipe for 100 portions, 348 needed, is multiplied
    # by 3.48; 1.25 lb becomes 4.35 lb, which reads 4 lb 5 1/2 oz.
    house.ingredient("beef")
    house.recipe("stew", "62 1/2 lb", [line("beef", "1.25 lb")], portion={"amount": 10, "unit": "oz"}, gains_water=True)
    (batch,) = house.open().scaled("stew", "348 portion", "us")["batches"]
    assert (batch["count"], batch["factor"]) == (1, pytest.approx(3.48, rel=1e-9))
    (beef,) = batch["lines"]
    assert beef["quantity"]["amount"] == pytest.approx(4.35 * POUND, rel=1e-9)
    assert beef["quantity"]["display"] == "4 lb 5 1/2 oz"


def test_s1_a_weight_times_the_factor(house: House) -> None:
    # US Navy training manual 14163 (verified): 2 lb of cornstarch x 2.61 = 5.22 lb.
    house.ingredient("cornstarch")
    house.recipe("filling", "100 lb", [line("cornstarch", "2 lb")], gains_water=True)
    answer = house.open().scaled("filling", "261 lb", "us")
    assert amounts(answer["ingredients"]) == {"cornstarch": pytest.approx(5.22 * POUND, rel=1e-9)}


def test_s1_the_factor_method_of_school_kitchens(house: House) -> None:
    # USDA Recipes for Schools, "Recipe Adjustment - Method 1 (Factor Method)", p. 17-19, example 1, recipe E-05 (computed: the method, 100
    # portions brought to 80 and 3.49 oz were read): 100 x 3.49 oz = 349 oz, 80 x 3.49 oz = 279.2 oz, factor 0.80.
    house.ingredient("filling")
    house.recipe("burrito", "349 oz", [line("filling", "349 oz")], portion={"amount": 3.49, "unit": "oz"})
    house.open()
    assert house.scaled("burrito", "100 portion")["quantity"]["amount"] == pytest.approx(349 * OUNCE, rel=1e-9)
    answer = house.scaled("burrito", "80 portion")
    assert answer["quantity"]["amount"] == pytest.approx(279.2 * OUNCE, rel=1e-9)
    assert [batch["factor"] for batch in answer["batches"]] == [pytest.approx(0.80, rel=1e-9)]


def test_s1_the_conversion_factor_is_new_yield_over_old_yield(house: House) -> None:
    # Teaching slides on bakeshop mathematics (verified): a recipe for 8 portions brought to 18 is multiplied by 2.25.
    house.ingredient("apple")
    house.recipe("crumble", "8 each", [line("apple", "2 lb")])
    (batch,) = house.open().scaled("crumble", "18 each")["batches"]
    assert batch["factor"] == pytest.approx(2.25, rel=1e-9)


# Canadian Spice Association, foodservice rules of thumb for scaling up (verified): herbs double at twice the recipe, and every further
# multiple adds half of the original, so that 1 tbsp of basil for 10 portions is 6 tbsp for 100. The rows between are
# base x (2 + (k - 2) / 2).
HERBS = {1: 1, 2: 2, 3: 2.5, 4: 3, 6: 4, 8: 5, 10: 6}


def test_s2_herbs_follow_the_spice_traders_rule_as_tested_points(house: House) -> None:
    house.ingredient("basil", "volume")
    tested = {"rule": "tested", "points": [[1, 1], [2, 2], [10, 6]]}
    house.recipe("tomato-sauce", "2 kg", [line("basil", "1 tbsp", scaling=tested)], portion={"amount": 200, "unit": "g"}, gains_water=True)
    house.open()
    answers = {times: house.scaled("tomato-sauce", f"{10 * times} portion") for times in HERBS}
    found = {times: amounts(answer["ingredients"])["basil"] / TABLESPOON for times, answer in answers.items()}
    assert found == pytest.approx(HERBS, rel=1e-9)
    assert [len(answer["notes"]) for answer in answers.values()] == [1] * len(HERBS)


def test_s2_beyond_what_was_tried_the_rule_goes_on_with_a_warning(house: House) -> None:
    # The same rule (verified) holds beyond the example: another 2 multiples add 2 halves, 7 tbsp, but nobody tried it here.
    house.ingredient("basil", "volume")
    tested = {"rule": "tested", "points": [[1, 1], [2, 2], [10, 6]]}
    house.recipe("tomato-sauce", "2 kg", [line("basil", "1 tbsp", scaling=tested)], portion={"amount": 200, "unit": "g"}, gains_water=True)
    answer = house.open().scaled("tomato-sauce", "120 portion")
    assert amounts(answer["ingredients"]) == {"basil": pytest.approx(7 * TABLESPOON, rel=1e-9)}
    assert len(answer["notes"]) == 2


def test_s2_hot_spices_go_straight_through_by_weight(house: House) -> None:
    # The same rules of thumb (seen): pepper, cinnamon, ginger, allspice and cloves are multiplied like everything else, by weight.
    spices = ("pepper", "cinnamon", "ginger", "allspice", "cloves")
    for spice in spices:
        house.ingredient(spice)
    house.recipe("spice-cake", "10 kg", [line(spice, "3 g") for spice in spices], gains_water=True)
    answer = house.open().scaled("spice-cake", "100 kg")
    assert amounts(answer["ingredients"]) == pytest.approx(dict.fromkeys(spices, 30.0), rel=1e-9)


def test_s2_bakers_percentages_become_weights_through_the_loaves(house: House) -> None:
    # A worksheet on baker's percentage (verified): 73 baguettes of 390 g, flour 100, water 67, salt 2, yeast 1, 170 in all. The sheet
    # rounds the flour to 16,747 g first, so its water is 11,220.49; exactly 28,470 x 67 / 170 = 11,220.53. Within 0.5 g of both.
    for code in ("flour", "water", "salt", "yeast"):
        house.ingredient(code)
    dough = [line("flour", "1 kg"), percent("water", 67, 1), percent("salt", 2, 1), percent("yeast", 1, 1)]
    house.recipe("baguette-dough", "1.7 kg", dough)
    house.recipe("baguette", "1 each", [line("=baguette-dough", "390 g")])
    house.open()
    weights = amounts(house.scaled("baguette", "73 each")["ingredients"])
    assert sum(weights.values()) == pytest.approx(28470, rel=1e-9)
    assert weights == pytest.approx({"flour": 16747.06, "water": 11220.53, "salt": 334.94, "yeast": 167.47}, abs=0.01)
    assert weights == pytest.approx({"flour": 16747, "water": 11220.49, "salt": 334.94, "yeast": 167.47}, abs=0.5)
    # The dough asked for by weight takes the same.
    assert amounts(house.scaled("baguette-dough", "28.47 kg")["ingredients"]) == pytest.approx(weights, rel=1e-9)


def test_s2_bakers_percentages_add_up_to_the_divisor(house: House) -> None:
    # Slides "Baker's math" (verified): 100 + 1.75 + 2 + 0.375 + 58 = 162.125 %, so flour is the dough divided by 1.62125 (the slides cut it
    # to 1.62); 23 lb of water on 40 lb of flour are 57.5 %.
    for code in ("flour", "salt", "yeast", "malt", "water"):
        house.ingredient(code)
    shares = {"salt": "1.75", "yeast": "2", "malt": "0.375", "water": "58"}
    house.recipe("bread-dough", "162.125 lb", [line("flour", "100 lb"), *(percent(code, share, 1) for code, share in shares.items())])
    house.recipe("plain-dough", "63 lb", [line("flour", "40 lb"), percent("water", "57.5", 1)])
    house.open()
    bread = amounts(house.scaled("bread-dough", "100 lb")["ingredients"])
    assert bread["flour"] == pytest.approx(100 * POUND / 1.62125, rel=1e-9)
    assert bread["flour"] == pytest.approx(100 * POUND / 1.62, rel=1e-3)
    assert sum(bread.values()) == pytest.approx(100 * POUND, rel=1e-9)
    assert amounts(house.scaled("plain-dough", "63 lb")["ingredients"])["water"] == pytest.approx(23 * POUND, rel=1e-9)


SCOOPS = (6, 8, 10, 12, 16, 20, 24, 30, 40, 50, 60, 70, 100)


def test_s5_a_quart_makes_as_many_portions_as_the_number_of_the_scoop(house: House) -> None:
    # Institute of Child Nutrition, "Basics at a Glance", scoops (verified): the number of a scoop is that of its level scoopfuls to the
    # quart; eight No. 8 scoops are one quart.
    house.ingredient("potato", "volume")
    for number in SCOOPS:
        house.recipe(f"mash-{number}", "3 gallon", [line("potato", "3 gallon")], portion={"amount": 1, "unit": f"scoop_{number}"})
    house.open()
    quarts = {number: house.scaled(f"mash-{number}", f"{number} portion")["quantity"]["amount"] for number in SCOOPS}
    assert quarts == pytest.approx(dict.fromkeys(SCOOPS, float(factor("quart"))), rel=1e-9)


# A steam cooker's manual, chart of pan capacities (verified): portions of so many fluid ounces out of a pan of 240 fl oz.
PAN = {10: 24, 8: 30, 6: 40, 4: 60, 2: 120, 1: 240}


@pytest.mark.parametrize("ounces", PAN)
def test_s3_whole_pans_are_filled_for_the_portions_of_the_chart(house: House, ounces: int) -> None:
    house.ingredient("soup-base", "volume")
    pan = {"amount": 240, "unit": "fl_oz"}
    batch = {"multiple": pan, "largest": pan}
    portion = {"amount": ounces, "unit": "fl_oz"}
    house.recipe("soup", "240 fl_oz", [line("soup-base", "240 fl_oz")], batch=batch, portion=portion)
    house.open()
    assert [each["count"] for each in house.scaled("soup", f"{PAN[ounces]} portion")["batches"]] == [1]
    assert [each["count"] for each in house.scaled("soup", f"{PAN[ounces] + 1} portion")["batches"]] == [2]

"""Lines as numbers: rules Y1 to Y3, S2 and P12 where they convert what a version takes and gives."""

from datetime import date
from fractions import Fraction

import pytest

from service.errors import MissingEquivalent
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.lines import LineAmount, NotInForce, by_product_amounts, line_amount, line_amounts, looking_up, trimmings
from service.kitchen.book.recipe import Version
from tests.kitchen.larder import SITE, TUE, form, ingredient, item, kitchen, line, recipe


def amount(catalogue: Catalogue, version: Version, number: int, on: date = TUE) -> LineAmount:
    """The amount of one line, counted from 1."""
    return line_amount(version, version.lines[number - 1], looking_up(catalogue, SITE, on))


def test_y1_a_line_that_names_a_form_states_its_edible_portion() -> None:
    onion = ingredient("onion", form("dice", "0.88", equivalents=["1 cup = 160 g"]))
    soup = recipe("soup", "20 L", line("onion/dice", "2 cup"))
    found = amount(kitchen(onion, soup), soup, 1)
    # Two cups of dice are 320 g of dice, whatever was trimmed off to get them.
    assert found.stock == pytest.approx(320, rel=1e-12)
    # The batch card shows the line in the kind it was authored in: 2 × 236.5882365 mL.
    assert found.shown_kind == "volume"
    assert found.shown == pytest.approx(473.176473, rel=1e-12)


def test_s2_a_percentage_is_of_the_mass_of_its_base_lines_a_forms_edible_portion() -> None:
    # 1.8 % of (2 kg of dice as authored + 1 L of stock at 1.02 kg) = 0.018 × 3020 = 54.36 g.
    onion = ingredient("onion", form("dice", "0.5"))
    stock = ingredient("stock", kind="volume", equivalents=["1 L = 1.02 kg"])
    soup = recipe(
        "soup",
        "3 L",
        line("onion/dice", "2 kg"),
        line("stock", "1 L"),
        line("salt", "1.8 percent", scaling={"rule": "percent", "of": [1, 2]}),
    )
    found = amount(kitchen(onion, stock, ingredient("salt"), soup), soup, 3)
    assert found.shown_kind == "mass"
    assert found.shown == pytest.approx(54.36, rel=1e-12)
    # Baker's percentage is linear from there on: a batch of factor 2.5 takes 135.9 g.
    assert found.in_batch(2.5) == pytest.approx(135.9, rel=1e-12)


def test_s2_a_percentage_reaches_the_items_own_stock_kind() -> None:
    # 2 % of 1 kg is 20 g; oil at 0.92 g/mL is kept by volume: 21.739 mL.
    oil = ingredient("oil", kind="volume", equivalents=["1 L = 920 g"])
    dough = recipe("dough", "1 kg", line("flour", "1 kg"), line("oil", "2 percent", scaling={"rule": "percent", "of": [1]}))
    found = amount(kitchen(ingredient("flour"), oil, dough), dough, 2)
    assert found.stock == pytest.approx(20 / 0.92, rel=1e-12)
    assert found.shown == pytest.approx(20, rel=1e-12)


def test_p12_a_line_in_portions_is_converted_by_the_sub_recipes_version_in_force_on_the_date() -> None:
    # From Wednesday on a portion of sauce is 60 mL instead of 50 mL: ten portions are 500, then 600 mL.
    old = recipe("sauce", "5 L", portion="50 mL")
    new = recipe("sauce", "5 L", portion="60 mL", number=2, starts_on=date(2026, 12, 2))
    plate = recipe("plate", "10 each", line("recipe sauce", "10 portion"))
    catalogue = kitchen(old, new, plate)
    assert amount(catalogue, plate, 1, TUE).stock == pytest.approx(500, rel=1e-12)
    assert amount(catalogue, plate, 1, date(2026, 12, 2)).stock == pytest.approx(600, rel=1e-12)


def test_p12_a_line_that_calls_a_recipe_not_in_force_cannot_be_converted_and_says_why() -> None:
    sauce = recipe("sauce", "5 L", starts_on=date(2026, 12, 2))
    plate = recipe("plate", "10 each", line("recipe sauce", "1 L"), line("salt", "5 g"))
    catalogue = kitchen(sauce, plate, ingredient("salt"))
    with pytest.raises(NotInForce, match="sauce has no version in force"):
        amount(catalogue, plate, 1)
    first, second = line_amounts(plate, looking_up(catalogue, SITE, TUE))
    assert isinstance(first, NotInForce)
    assert isinstance(second, LineAmount)
    assert second.stock == 5


def test_u5_a_line_without_the_equivalent_it_needs_names_item_and_kinds() -> None:
    dough = recipe("dough", "1 kg", line("flour", "2 cup"))
    with pytest.raises(MissingEquivalent, match="flour is measured here by volume and kept by mass"):
        amount(kitchen(ingredient("flour"), dough), dough, 1)


def test_y3_by_products_of_cooking_are_quantities_per_authored_batch_in_their_own_stock_kind() -> None:
    # 1.5 L of rendered fat at 0.9 kg/L is kept by mass: 1350 g.
    duck = recipe("confit", "8 kg", gives={"fat": "1.5 L"})
    catalogue = kitchen(ingredient("fat", equivalents=["1 L = 0.9 kg"]), duck)
    ((given, grams),) = by_product_amounts(catalogue, duck)
    assert given == item("fat")
    assert grams == pytest.approx(1350, rel=1e-12)


def test_y2_trimmings_are_a_fraction_of_the_ap_and_cross_by_the_trimmed_ingredients_equivalents() -> None:
    # An orange weighs 200 g; 5 % of it is zest, kept by mass: 10 g of each piece.
    orange = ingredient("orange", form("juiced", "0.4", gives={"zest": "0.05"}), kind="count", equivalents=["1 each = 200 g"])
    catalogue = kitchen(orange, ingredient("zest"))
    assert trimmings(catalogue, "orange", Fraction(1, 20), "zest") == pytest.approx(10, rel=1e-12)

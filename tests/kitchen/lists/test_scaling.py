"""Scaling one recipe: rules S1 to S6 as a cook asks for them."""

from datetime import date

import pytest

from service.errors import Invalid
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.lists.scaling import TIMES_NOTE, Limits, Scaler, draws, needed, scaling_document
from service.kitchen.measures.units import Quantity, System
from tests.kitchen.larder import (
    SITE,
    TUE,
    WED,
    Document,
    form,
    ingredient,
    item,
    kitchen,
    line,
    near,
    only_site,
    quantity,
    recipe,
    site,
    step,
)

LIMITS = Limits(1e-4, 1e4)


def scaler(catalogue: Catalogue, code: str = "soup", on: date = TUE) -> Scaler:
    """The version in force of a recipe, ready to be scaled."""
    place = only_site(catalogue)
    version = catalogue.in_force(code, place.code, on)
    assert version is not None
    return Scaler(catalogue, place, version, on)


def scaled(catalogue: Catalogue, amount: str, system: System = "metric", code: str = "soup") -> Document:
    """What a scaling to a quantity of a recipe answers."""
    asked = scaler(catalogue, code)
    planned = asked.run_to(float(asked.version.conversions.to_stock(Quantity.read(quantity(amount)))))
    return dict(scaling_document(asked, planned, system))


def most(catalogue: Catalogue, words: str, have: float, code: str = "soup") -> float | None:
    """The largest quantity of a recipe that so much of an item allows."""
    return scaler(catalogue, code).limited_by(item(words), have, LIMITS)


def ap(document: Document) -> dict[str, float]:
    """The ingredients as purchased that a scaling names."""
    return {row["item"]["ingredient"]: row["quantity"]["amount"] for row in document["ingredients"]}


def soup() -> Version:
    return recipe(
        "soup",
        "20 L",
        line("onion/dice", "2 kg"),
        line("cumin", "40 g", scaling={"rule": "power", "exponent": "0.585"}),
        line("lentil", "4 kg"),
        line("bay", "2 each", scaling={"rule": "per_batch"}),
        batch={"largest": "30 L"},
        portion="240 mL",
    )


def soups(*things: Version | Site) -> Catalogue:
    return kitchen(
        ingredient("onion", form("dice", "0.88")),
        ingredient("cumin"),
        ingredient("lentil"),
        ingredient("bay", kind="count"),
        *(things or (soup(),)),
    )


def test_s1_the_factor_of_a_batch_is_its_quantity_by_the_authored_yield() -> None:
    (card,) = scaled(soups(), "25 L")["batches"]
    assert (card["count"], card["quantity"]["amount"], card["factor"]) == (1, near(25_000), near(1.25))
    # Of the batch, not of the run: each of the two batches of 25 L that make 50 L has the same factor.
    (card,) = scaled(soups(), "50 L")["batches"]
    assert (card["count"], card["factor"]) == (2, near(1.25))


def test_s3_seventy_litres_are_three_batches_each_scaled_by_its_own_factor() -> None:
    # 70 L, largest 30 L: 3 × 23.3333 L, f = 1.16667; 40 × f^0.585 = 43.775 g, 131.32 g in all; 4 kg → 14 kg; 2 each → 6;
    # dice 3 × 2 × 1.16667 = 7 kg, AP 7 ÷ 0.88 = 7.9545 kg.
    document = scaled(soups(), "70 L")
    (card,) = document["batches"]
    assert (card["count"], card["factor"]) == (3, near(7 / 6))
    amounts = [each["quantity"]["amount"] for each in card["lines"]]
    assert amounts == [near(2000 * 7 / 6), pytest.approx(43.7748, rel=1e-6), near(4000 * 7 / 6), 2]
    found = ap(document)
    assert found["cumin"] == pytest.approx(131.3243, rel=1e-6)
    assert found["lentil"] == near(14_000)
    assert found["bay"] == near(6)
    assert found["onion"] == near(7000 / 0.88)


def test_s5_a_recipe_scales_to_portions() -> None:
    # 350 portions of 240 mL are 84 L: three batches of 28 L.
    (card,) = scaled(soups(), "350 portion")["batches"]
    assert (card["count"], card["quantity"]["amount"]) == (3, near(28_000))


def test_s5_the_sites_vessel_cuts_the_batches() -> None:
    (card,) = scaled(soups(soup(), site(vessels={"soup": "20 L"})), "70 L")["batches"]
    assert (card["count"], card["quantity"]["amount"]) == (4, near(17_500))


def test_s5_sub_recipes_are_one_run_each_by_their_own_batch_rule() -> None:
    # The stew's batches want 3 × 0.9 L of stock: one run of 2.7 L in pots of 2 L: 4 L, not 3 pots.
    catalogue = kitchen(
        ingredient("bones"),
        recipe("stock", "10 L", line("bones", "5 kg"), batch={"multiple": "2 L"}),
        recipe("base", "5 kg", line("recipe stock", "1.5 L")),
        recipe("soup", "10 L", line("recipe base", "1 kg"), line("recipe stock", "2.4 L"), steps=[step(None, "P3D")]),
    )
    # 10 L of soup draw 1 kg of base (0.3 L of stock) and 2.4 L of stock at other moments: 2.7 L in one run, 4 L made, 2 kg of bones.
    assert ap(scaled(catalogue, "10 L")) == {"bones": near(2000)}


def test_s5_every_need_joins_one_run_whatever_its_date() -> None:
    # The stock is drawn on two dates, three days apart, and keeps one: still one run.
    catalogue = kitchen(
        ingredient("bones"),
        recipe("stock", "10 L", line("bones", "5 kg"), batch={"multiple": "10 L"}),
        recipe("soup", "10 L", line("recipe stock", "1 L", 1), line("recipe stock", "1 L", 2), steps=[step(None, "P3D"), step("PT1H")]),
    )
    assert ap(scaled(catalogue, "10 L")) == {"bones": near(5000)}


def test_s5_every_need_of_a_form_joins_one_run_too() -> None:
    # 400 g of boned leg at 0.5 on each of two dates are 800 g AP twice: one piece of 2 kg together, not one for each date.
    catalogue = kitchen(
        ingredient("leg", form("boned", "0.5", whole=True, keeps="P0D"), piece="2 kg"),
        recipe("soup", "10 L", line("leg/boned", "400 g", 1), line("leg/boned", "400 g", 2), steps=[step(None, "P3D"), step("PT1H")]),
    )
    assert ap(scaled(catalogue, "10 L")) == {"leg": near(2000)}


def test_s5_every_recipe_on_the_way_is_of_the_version_in_force_on_the_date_asked() -> None:
    # Soup of Tuesday draws its stock three days before, when the first version was in force: it is scaled by what Tuesday's cook reads.
    catalogue = kitchen(
        ingredient("bones"),
        ingredient("wings"),
        recipe("stock", "10 L", line("bones", "5 kg"), portion="100 mL"),
        recipe("stock", "10 L", line("wings", "4 kg"), number=2, starts_on=TUE, portion="200 mL"),
        recipe("soup", "10 L", line("recipe stock", "5 portion"), steps=[step(None, "P3D")]),
    )
    # Five portions are 1 L by the second version, which take 0.4 kg of wings.
    assert ap(scaled(catalogue, "10 L")) == {"wings": near(400)}


def test_s5_a_recipe_that_is_drawn_before_the_date_asked_converts_its_own_lines_by_that_date_too() -> None:
    # The base is drawn three days before and takes ten portions of glaze, which are 60 mL each from Tuesday on.
    catalogue = kitchen(
        ingredient("bones"),
        recipe("glaze", "1 L", line("bones", "1 kg"), portion="50 mL"),
        recipe("glaze", "1 L", line("bones", "1 kg"), number=2, starts_on=TUE, portion="60 mL"),
        recipe("base", "1 L", line("recipe glaze", "10 portion")),
        recipe("soup", "1 L", line("recipe base", "1 L"), steps=[step(None, "P3D")]),
    )
    assert ap(scaled(catalogue, "1 L")) == {"bones": near(600)}


def test_s5_a_limiting_item_gives_the_largest_quantity_it_allows() -> None:
    # 12 kg of lentils at 4 kg to 20 L: 60 L, in two batches of 30 L.
    assert most(soups(), "lentil", 12_000) == near(60_000)


def test_s5_a_limiting_ingredient_counts_through_trim_and_sub_recipes() -> None:
    # A plate takes 0.5 L of soup, soup 0.1 kg of dice a litre, dice 1 ÷ 0.88 of onion: 5.68182 kg AP are 5 kg of dice, 50 L, 100 plates.
    catalogue = soups(soup(), recipe("plate", "1 each", line("recipe soup", "500 mL")))
    assert most(catalogue, "onion", 5000 / 0.88, "plate") == near(100)
    assert most(catalogue, "onion/dice", 5000, "plate") == near(100)
    assert most(catalogue, "recipe soup", 50_000, "plate") == near(100)
    # A gram less does not give the hundredth plate.
    assert most(catalogue, "onion/dice", 4999, "plate") == near(99)


def test_s5_a_line_that_grows_less_than_the_batch_allows_more() -> None:
    # 100 g of cumin by 40 × f^0.5 within one batch: f = 6.25, 125 L.
    power = {"rule": "power", "exponent": "0.5"}
    catalogue = kitchen(ingredient("cumin"), recipe("soup", "20 L", line("cumin", "40 g", scaling=power)))
    assert most(catalogue, "cumin", 100) == near(125_000)


def test_s5_a_line_that_grows_faster_than_the_batch_allows_more_in_smaller_batches() -> None:
    # 1 g of chilli a litre, 4 g for two: 3 g make 1.667 L in one batch (1 + 3 × 0.667), but also 2 × 1.1667 L (2 × 1.5 g).
    tested = {"rule": "tested", "points": [[1, 1], [2, 4]]}
    catalogue = kitchen(ingredient("chilli"), recipe("sauce", "1 L", line("chilli", "1 g", scaling=tested), batch={"largest": "2 L"}))
    assert most(catalogue, "chilli", 3, "sauce") == near(7000 / 3)
    assert most(catalogue, "chilli", 1, "sauce") == near(1000)


def test_s5_per_batch_lines_allow_whole_batches() -> None:
    # Two bay leaves a batch and seven leaves: three batches of at most 30 L.
    assert most(soups(), "bay", 7) == near(90_000)


def test_s5_rounding_to_whole_multiples_counts_against_what_is_on_hand() -> None:
    # Trays of 12 take 600 g each; 2 kg are enough for three.
    catalogue = kitchen(ingredient("flour"), recipe("scone", "12 each", line("flour", "600 g"), batch={"multiple": "12 each"}))
    assert most(catalogue, "flour", 2000, "scone") == near(36)


def test_s5_less_than_the_least_batch_needs_allows_nothing() -> None:
    catalogue = kitchen(ingredient("flour"), recipe("scone", "12 each", line("flour", "600 g"), batch={"multiple": "12 each"}))
    assert most(catalogue, "flour", 599, "scone") is None


def test_s5_enough_for_more_than_the_largest_scaling_is_refused() -> None:
    with pytest.raises(Invalid) as refused:
        most(soups(), "lentil", 1e9)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("/to/have/quantity", "out_of_range")]


def test_s5_whether_an_item_is_used_at_any_level_is_known() -> None:
    planned = scaler(soups()).run_to(20_000)
    assert draws(planned, item("onion"))
    assert draws(planned, item("onion/dice"))
    assert not draws(planned, item("leek"))
    assert not draws(planned, item("recipe soup"))
    assert needed(planned, item("onion/dice")) == near(2000)


def test_s6_the_answer_says_that_cooking_times_do_not_scale() -> None:
    notes = scaled(soups(), "70 L")["notes"]
    assert notes == [TIMES_NOTE]
    assert "do not scale" in TIMES_NOTE


def test_s4_the_answer_names_what_rounding_makes_beyond_the_need() -> None:
    catalogue = kitchen(ingredient("flour"), recipe("scone", "12 each", line("flour", "600 g"), batch={"multiple": "12 each"}))
    document = scaled(catalogue, "30 each", code="scone")
    assert document["quantity"]["amount"] == 36
    assert document["notes"][1] == "Rounding to whole batches makes 6 each beyond what was asked."


def test_s2_the_answer_warns_of_a_batch_beyond_what_was_tested() -> None:
    tested = {"rule": "tested", "points": [[1, 1], [2, 2], [10, 6]]}
    catalogue = kitchen(ingredient("chilli"), recipe("soup", "10 L", line("chilli", "20 g", scaling=tested)))
    # f = 14 lies beyond 10: 6 + 4 × 0.5 = 8 times 20 g.
    document = scaled(catalogue, "140 L")
    assert ap(document) == {"chilli": near(160)}
    assert len(document["notes"]) == 2
    assert "tested" in document["notes"][1]


def test_s5_the_version_is_that_in_force_on_the_date() -> None:
    catalogue = soups(soup(), recipe("soup", "20 L", line("lentil", "5 kg"), number=2, starts_on=WED))
    answers = [dict(scaling_document(asked, asked.run_to(20_000), "metric")) for asked in (scaler(catalogue), scaler(catalogue, on=WED))]
    assert [(each["version"], ap(each)["lentil"]) for each in answers] == [(1, near(4000)), (2, near(5000))]


def test_d1_a_scaling_is_shown_in_the_units_asked_for() -> None:
    document = scaled(soups(), "70 L", "us")
    # A batch of 23.3333 L is 6.164 gallons, shown by quarters; three of them as displayed are 18 3/4 gallons.
    assert document["batches"][0]["quantity"]["display"] == "6 1/4 gallon"
    assert document["quantity"]["display"] == "18 3/4 gallon"
    assert document["recipe"] == "soup"
    assert only_site(soups()).code == SITE

"""What a unit costs (C1): as purchased, ready, and shared over a cut; and what is said where a price is missing (C2)."""

from datetime import date
from fractions import Fraction
from typing import Any

from service.kitchen.costs.costing import Costings, Part
from tests.kitchen.larder import LONG_AGO, TUE, WED, form, kitchen, line, near, recipe
from tests.kitchen.prices import bought, by_product, cost_of, credited, flour_and_water, missing, pack, written


def kilo(*packs: dict[str, Any], at: str | None = None, on: date = TUE) -> str | None:
    """What a kilo as purchased costs."""
    return written(cost_of("plain", bought("flour", *packs), recipe("plain", "1 kg", line("flour", "1 kg")), at=at, on=on).batch)


# C1: as purchased.


def test_c1_the_unit_cost_is_the_price_of_the_pack_over_its_quantity() -> None:
    assert kilo(pack("25 kg", "23.80 EUR")) == "0.952 EUR"
    assert kilo(pack("50 lb", "31.50 USD")) == "1.3889 USD"  # 31.50 / 22.6796185 kg


def test_c1_a_pack_in_another_kind_crosses_by_the_ingredients_equivalents() -> None:
    oil = bought("oil", pack("5 L", "23.00 EUR"), equivalents=["1 L = 920 g"])
    assert written(cost_of("dip", oil, recipe("dip", "1 kg", line("oil", "1 kg"))).batch) == "5.00 EUR"  # 23 / 4.6 kg


def test_c1_the_price_in_force_is_the_newest_that_has_begun() -> None:
    packs = (pack("1 kg", "3.00 EUR", since=WED), pack("1 kg", "2.00 EUR", since=TUE), pack("1 kg", "1.00 EUR", since=None))
    assert [kilo(*packs, on=on) for on in (LONG_AGO, TUE, WED)] == ["1.00 EUR", "2.00 EUR", "3.00 EUR"]


def test_c1_a_new_size_takes_the_place_of_the_old_pack_of_its_label() -> None:
    assert kilo(pack("1 kg", "1.00 EUR"), pack("800 g", "1.00 EUR", since=TUE)) == "1.25 EUR"


def test_c1_of_several_packs_the_cheapest_per_unit_counts() -> None:
    assert kilo(pack("1 kg", "2.00 EUR", "bag"), pack("10 kg", "15.00 EUR", "sack"), pack("2 kg", "3.50 EUR", "box")) == "1.50 EUR"


def test_c1_a_pack_of_the_sites_own_goes_before_packs_for_all_even_if_it_is_dearer() -> None:
    packs = (pack("1 kg", "1.00 EUR", "bag"), pack("1 kg", "4.00 EUR", "tub", at="mill-street"), pack("1 kg", "2.00 EUR", at="quayside"))
    assert [kilo(*packs, at=at) for at in (None, "mill-street", "orangery")] == ["1.00 EUR", "4.00 EUR", "1.00 EUR"]


def test_c1_a_pack_of_the_sites_own_without_a_price_leaves_it_without_one_and_says_why() -> None:
    flour = bought("flour", pack("1 kg", "1.00 EUR", "bag"), pack("1 kg", None, "tub", at="mill-street"))
    cost = cost_of("plain", flour, recipe("plain", "1 kg", line("flour", "1 kg")), at="mill-street")
    why = "Flour has no price in force at mill-street on 2026-12-01; a site that has packs of its own buys those alone"
    assert [each.detail for each in cost.missing] == [why]


def test_c1_a_pack_of_the_sites_own_that_has_not_begun_leaves_those_for_all() -> None:
    assert kilo(pack("1 kg", "1.00 EUR"), pack("1 kg", "4.00 EUR", since=WED, at="mill-street"), at="mill-street") == "1.00 EUR"


# C1: edible portion.


def test_c1_nine_a_kilo_at_three_quarters_with_two_credits_is_11_36_a_kilo_ready() -> None:
    # (9.00 - 0.36 - 0.12) / 0.75 = 11.36
    assert written(cost_of("roast", *credited()).batch) == "11.36 EUR"


def test_c1_a_by_product_without_a_value_is_no_credit_and_nothing_is_missing() -> None:
    meat, bones, _, roast = credited()
    cost = cost_of("roast", meat, bones, by_product("fat", None), roast)
    assert (written(cost.batch), missing(cost)) == ("11.52 EUR", [])  # (9.00 - 0.36) / 0.75


def test_c1_a_by_products_value_is_for_a_piece_or_a_litre_of_its_own_kind() -> None:
    egg = bought("egg", pack("30 each", "9.00 EUR"), kind="count", forms=(form("cracked", "1", gives={"shell": "1"}),))
    shell = by_product("shell", "0.05 EUR", kind="count")
    assert written(cost_of("mix", egg, shell, recipe("mix", "1 each", line("egg/cracked", "10 each"))).batch) == "2.50 EUR"


def test_c1_forms_of_a_cut_share_the_cost_of_the_pieces_by_ep() -> None:
    # 6.00 a kilo, 0.3 breast and 0.2 leg, bones of both worth 0.5 × 1.00: (6.00 - 0.50) / 0.5 = 11.00 a kilo of either.
    forms = (form("breast", "0.3", cut="whole", gives={"bones": "0.4"}), form("leg", "0.2", cut="whole", gives={"bones": "0.1"}))
    hen = bought("hen", pack("1 kg", "6.00 EUR"), forms=forms)
    made = recipe("dish", "2 kg", line("hen/breast", "1 kg"), line("hen/leg", "500 g"))
    cost = cost_of("dish", hen, by_product("bones", "1.00 EUR"), made)
    assert [written(each.cost) for each in cost.lines] == ["11.00 EUR", "5.50 EUR"]


def test_c1_a_cut_drawn_in_the_proportion_it_gives_costs_what_its_pieces_cost() -> None:
    forms = (form("yolk", "0.3", cut="egg"), form("white", "0.55", cut="egg"))
    egg = bought("egg", pack("1 kg", "5.00 EUR"), forms=forms)
    made = recipe("mix", "850 g", line("egg/yolk", "300 g"), line("egg/white", "550 g"))
    assert written(cost_of("mix", egg, made).batch) == "5.00 EUR"


def test_c1_what_no_pack_offers_costs_the_value_that_its_giver_was_credited_with() -> None:
    stock = recipe("stock", "4 L", line("bones", "2 kg"))
    assert written(cost_of("stock", by_product("bones", "3.00 EUR"), stock).batch) == "6.00 EUR"
    # Credit and charge meet: the roast with the stock from its bones costs what the meat costs, fat aside.
    meat, bones, fat, _ = credited("0.75")
    both = recipe("both", "1 kg", line("meat/trimmed", "750 g"), line("bones", "120 g"))
    assert written(cost_of("both", meat, bones, fat, both).batch) == "8.88 EUR"


# C2: what is missing.


def test_c2_a_missing_price_gives_a_partial_cost_that_names_it_at_every_level() -> None:
    pie = recipe("pie", "10 each", line("recipe dough", "1 kg"), line("salt", "5 g"), portion="1 each")
    flour, _, dough = flour_and_water()
    things = (flour, bought("butter", pack("1 kg", None)), dough, bought("salt"), pie)
    cost = cost_of("pie", *things)
    assert (written(cost.batch), written(cost.portion), missing(cost)) == ("0.50 EUR", "0.05 EUR", ["butter", "salt"])
    assert [(written(each.cost), [gone.item.label for gone in each.missing]) for each in cost.lines] == [
        ("0.50 EUR", ["butter"]),
        (None, ["salt"]),
    ]
    assert "Salt has no price in force on 2026-12-01" in cost.missing[1].detail


def test_c2_a_cost_of_which_nothing_is_known_is_none_and_never_nothing() -> None:
    cost = cost_of("dough", bought("flour"), recipe("dough", "1 kg", line("flour", "1 kg"), portion="100 g"))
    assert (cost.batch, cost.portion, cost.currency, missing(cost)) == (None, None, None, ["flour"])


def test_c1_what_is_on_tap_costs_nothing_unless_it_is_priced() -> None:
    def cost(*packs: dict[str, Any]) -> tuple[str | None, list[str]]:
        dough = recipe("dough", "2 kg", line("flour", "1 kg"), line("water", "1 kg"))
        found = cost_of("dough", bought("flour", pack("1 kg", "1.20 EUR")), bought("water", *packs, on_tap=True), dough)
        return written(found.batch), missing(found)

    assert cost() == ("1.20 EUR", [])
    assert cost(pack("1000 kg", "2.00 EUR")) == ("1.202 EUR", [])


def test_c2_a_price_of_nothing_is_a_price() -> None:
    cost = cost_of("dough", bought("water", pack("1 kg", "0.00 EUR")), recipe("dough", "1 kg", line("water", "1 kg")))
    assert (written(cost.batch), missing(cost)) == ("0.00 EUR", [])


def test_c2_a_price_that_has_not_begun_is_missing() -> None:
    cost = cost_of("dough", bought("flour", pack("1 kg", "1.00 EUR", since=WED)), recipe("dough", "1 kg", line("flour", "1 kg")))
    assert missing(cost) == ["flour"]


def test_c2_a_second_currency_is_a_missing_price() -> None:
    dough = recipe("dough", "2 kg", line("flour", "1 kg"), line("butter", "1 kg"))
    cost = cost_of("dough", bought("flour", pack("1 kg", "1.00 EUR")), bought("butter", pack("1 kg", "8.00 USD")), dough)
    assert (written(cost.batch), missing(cost)) == ("1.00 EUR", ["butter"])
    assert cost.missing[0].detail == "Butter is priced in USD, and this cost is in EUR"


def test_c2_the_currency_is_that_of_the_sites_own_packs_wherever_they_stand() -> None:
    dough = recipe("dough", "2 kg", line("flour", "1 kg"), line("butter", "1 kg"))
    butter = bought("butter", pack("1 kg", "7.00 EUR", "tub"), pack("1 kg", "8.00 USD", at="mill-street"))
    things = (bought("flour", pack("1 kg", "1.00 EUR")), butter, dough)
    here, elsewhere = cost_of("dough", *things, at="mill-street"), cost_of("dough", *things, at="quayside")
    assert (written(here.batch), missing(here)) == ("8.00 USD", ["flour"])
    assert (written(elsewhere.batch), missing(elsewhere)) == ("8.00 EUR", [])


def test_c2_a_credit_in_a_second_currency_is_missing_too() -> None:
    meat, bones, _, roast = credited()
    cost = cost_of("roast", meat, bones, by_product("fat", "1.20 USD"), roast)
    assert (written(cost.batch), missing(cost)) == ("11.52 EUR", ["fat"])


def test_c2_a_sub_recipe_without_a_version_in_force_is_named() -> None:
    pie = recipe("pie", "10 each", line("recipe dough", "1 kg"), line("butter", "1 kg"))
    cost = cost_of("pie", *flour_and_water(starts_on=WED), pie)
    assert (written(cost.batch), missing(cost)) == ("8.00 EUR", ["dough"])


def test_c2_a_recipe_that_needs_itself_is_named_and_not_followed() -> None:
    chicken = recipe("chicken", "1 kg", line("recipe egg", "1 kg"), line("butter", "1 kg"))
    egg = recipe("egg", "1 kg", line("recipe chicken", "1 kg"))
    cost = cost_of("chicken", bought("butter", pack("1 kg", "8.00 EUR")), chicken, egg)
    assert "chicken" in missing(cost)
    assert cost.batch is not None


def test_c2_yields_of_many_digits_make_no_number_that_arithmetic_takes_long_with() -> None:
    # Five doughs a level, each of a kilo of all five below; every yield has nine digits of its own, and those multiply.
    yields = {(level, number): f"4.{(level * 5 + number + 1) * 7919 % 999_983:06}117" for level in range(16) for number in range(5)}
    below = [["flour"] * 5, *([f"recipe dough-{level}-{number}" for number in range(5)] for level in range(15))]
    doughs = [
        recipe(f"dough-{level}-{number}", f"{makes} kg", *(line(words, "1 kg") for words in below[level]))
        for (level, number), makes in yields.items()
    ]
    catalogue = kitchen(bought("flour", pack("1 kg", "1.00 EUR")), *doughs)
    costing = Costings(catalogue, None, TUE).of([catalogue.versions["dough-15-0"][0]])
    kilos = [1.0] * 5
    for level in range(16):
        kilos = [sum(kilos) / float(yields[level, number]) for number in range(5)]
    unit = costing.made("dough-15-0").amount
    assert unit is not None
    assert float(unit * 1000) == near(kilos[0])
    assert unit.denominator < 10**400
    assert Part(Fraction(7, 3**100)).shortened() == Part(Fraction(7, 3**100))

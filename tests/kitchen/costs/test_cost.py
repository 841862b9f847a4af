"""What an authored batch, a portion and a menu item cost (C2)."""

from decimal import Decimal

from service.kitchen.measures.money import Money
from tests.kitchen.larder import TUE, WED, line, recipe
from tests.kitchen.prices import bought, by_product, cost_of, cost_sold, flour_and_water, missing, pack, sold, written

# C2: recipes.


def test_c2_a_batch_costs_its_lines_as_authored_and_a_portion_its_part() -> None:
    cost = cost_of("dough", *flour_and_water(portion="100 g"))
    assert (written(cost.batch), written(cost.portion), cost.currency) == ("3.00 EUR", "0.15 EUR", "EUR")
    assert [written(each.cost) for each in cost.lines] == ["1.00 EUR", "2.00 EUR"]


def test_c2_a_recipe_without_a_portion_has_no_portion_cost() -> None:
    assert cost_of("dough", *flour_and_water()).portion is None


def test_c2_whatever_a_lines_scaling_rule_the_authored_batch_takes_the_authored_quantity() -> None:
    rules = ({"rule": "per_batch"}, {"rule": "power", "exponent": "0.5"}, {"rule": "tested", "points": [[1, 1], [2, 3]]})
    lines = [line("flour", "1 kg", scaling=rule) for rule in rules]
    cost = cost_of("bread", bought("flour", pack("1 kg", "1.00 EUR")), recipe("bread", "3 kg", *lines))
    assert written(cost.batch) == "3.00 EUR"


def test_c2_a_percentage_costs_its_share_of_the_mass_of_its_base_lines() -> None:
    lines = (line("flour", "2 kg"), line("salt", "2 percent", scaling={"rule": "percent", "of": [1]}))
    things = (bought("flour", pack("1 kg", "1.00 EUR")), bought("salt", pack("1 kg", "0.50 EUR")), recipe("bread", "2 kg", *lines))
    assert written(cost_of("bread", *things).lines[1].cost) == "0.02 EUR"  # 40 g


def test_c2_a_sub_recipe_costs_by_the_version_in_force_at_the_site_on_the_date() -> None:
    pilot = recipe("dough", "1 kg", line("butter", "1 kg"), number=2, starts_on=WED, sites=["mill-street"])
    pie = recipe("pie", "10 each", line("recipe dough", "500 g"))
    things = (*flour_and_water(), pilot, pie)
    found = [cost_of("pie", *things, at=at, on=on).batch for at, on in (("mill-street", TUE), ("mill-street", WED), ("quayside", WED))]
    assert [written(each) for each in found] == ["0.75 EUR", "4.00 EUR", "0.75 EUR"]


def test_c2_by_products_of_a_recipe_are_credited_by_their_value() -> None:
    # 8 kg at 2.00 less 1.5 kg of fat at 2.40.
    things = (bought("pork", pack("1 kg", "2.00 EUR")), by_product("fat", "2.40 EUR"), by_product("bones", None))
    cost = cost_of("roast", *things, recipe("roast", "5 kg", line("pork", "8 kg"), gives={"fat": "1.5 kg", "bones": "1 kg"}))
    assert (written(cost.batch), [(each.item.label, written(each.credit)) for each in cost.credits]) == ("12.40 EUR", [("fat", "3.60 EUR")])


def test_c2_money_is_exact_until_it_is_written() -> None:
    # 1/3 kg at 1.00 three times is 1.00, not 0.9999; 1 lb at 0.30005 a pound is halfway between 0.30 and 0.3001.
    lines = [line("flour", "1/3 kg") for _ in range(3)]
    assert written(cost_of("dough", bought("flour", pack("1 kg", "1.00 EUR")), recipe("dough", "1 kg", *lines)).batch) == "1.00 EUR"
    pound = (bought("flour", pack("2 lb", "0.6001 EUR")), recipe("dough", "1 lb", line("flour", "1 lb")))
    assert cost_of("dough", *pound).batch == Money(Decimal("0.30005"), "EUR")
    assert written(cost_of("dough", *pound).batch) == "0.3001 EUR"


# C2: menu items.


def test_c2_a_menu_item_costs_its_components_times_their_uptake_and_that_in_percent_of_its_price() -> None:
    # 200 g of a dough at 1.50 a kilo, for half of the guests: 0.15 of a price of 2.00 is 7.5 %.
    cost = cost_sold("pie", *flour_and_water(), sold("pie", {"dough": "200 g"}, "2.00 EUR", 0.5))
    assert (written(cost.cost), cost.food_cost_percent, cost.unpriced) == ("0.15 EUR", Decimal("7.5"), None)
    assert [(each.component.recipe, written(each.cost)) for each in cost.components] == [("dough", "0.15 EUR")]


def test_c2_a_component_in_portions_is_as_large_as_the_version_in_force_says() -> None:
    cost = cost_sold("pie", *flour_and_water(portion="100 g"), sold("pie", {"dough": "2 portion"}, "3.00 EUR"))
    assert (written(cost.cost), cost.food_cost_percent) == ("0.30 EUR", Decimal(10))


def test_c2_without_a_price_in_the_costs_currency_there_is_no_percentage_and_a_reason() -> None:
    reasons = []
    for price in (None, "2.00 USD", "0.00 EUR"):
        cost = cost_sold("pie", *flour_and_water(), sold("pie", {"dough": "200 g"}, price))
        assert cost.food_cost_percent is None
        reasons.append(cost.unpriced)
    assert reasons == ["it states no price", "its price is in USD, and its cost in EUR", "its price is 0"]


def test_c2_a_component_without_a_version_in_force_is_named_beside_the_others() -> None:
    cost = cost_sold("pie", *flour_and_water(), sold("pie", {"dough": "200 g", "sauce": "1 kg"}, "3.00 EUR"))
    assert (written(cost.cost), missing(cost)) == ("0.30 EUR", ["sauce"])

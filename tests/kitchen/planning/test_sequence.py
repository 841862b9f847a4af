"""The order of planning: consumers before suppliers, and loops (P4, P5)."""

import pytest

from service.errors import RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.sequence import active_between, depth, edges, in_order, lead_of_cut, ordered
from tests.kitchen.larder import SITE, TUE, form, ingredient, item, kitchen, line, recipe


def order(catalogue: Catalogue) -> list[str]:
    """The labels of all items in the order of planning."""
    return [each.label for each in in_order(edges(catalogue, active_between(catalogue, SITE, TUE)))]


def test_p4_consumers_come_before_suppliers() -> None:
    catalogue = kitchen(
        ingredient("onion", form("dice")),
        recipe("soup", "20 L", line("onion/dice", "2 kg"), line("recipe stock", "10 L")),
        recipe("stock", "10 L", line("onion", "1 kg")),
    )
    found = order(catalogue)
    assert found.index("soup") < found.index("stock") < found.index("onion")
    assert found.index("soup") < found.index("onion/dice") < found.index("onion")


@pytest.mark.parametrize("giver", ["recipe roast", "hen/jointed"])
def test_p5_an_item_that_receives_a_by_product_comes_after_every_item_that_gives_it(giver: str) -> None:
    # By lines alone the bones would stand right after the stock; their giver stands deep below the buffet.
    catalogue = kitchen(
        ingredient("hen", form("jointed", gives={"bones": "0.3"})),
        ingredient("bones"),
        recipe("buffet", "1 each", line("recipe platter", "1 each")),
        recipe("platter", "1 each", line(giver, "1 kg")),
        recipe("roast", "1 kg", gives={"bones": "100 g"}),
        recipe("stock", "10 L", line("bones", "5 kg")),
    )
    found = order(catalogue)
    assert found.index("bones") > max(found.index(label) for label in (item(giver).label, "stock"))


def test_y7_the_forms_of_a_cut_are_handled_together() -> None:
    egg = ingredient("egg", form("yolk", cut="separated"), form("white", cut="separated", gives={"shell": "0.1"}), form("boiled"))
    catalogue = kitchen(egg, ingredient("shell"), recipe("meringue", "1 kg", line("egg/white", "500 g")))
    assert lead_of_cut(catalogue, item("egg/white")) == lead_of_cut(catalogue, item("egg/yolk")) == item("egg/yolk")
    assert lead_of_cut(catalogue, item("egg/boiled")) == item("egg/boiled")
    found = order(catalogue)
    assert "egg/white" not in found
    assert found.index("meringue") < found.index("egg/yolk") < min(found.index("egg"), found.index("shell"))


def test_p4_a_loop_through_lines_is_named_with_its_path() -> None:
    catalogue = kitchen(recipe("a", "1 kg", line("recipe b", "1 kg")), recipe("b", "1 kg", line("recipe a", "1 kg")))
    with pytest.raises(RecipeLoop) as loop:
        order(catalogue)
    assert set(loop.value.path) == {"a", "b"}
    assert loop.value.path[0] == loop.value.path[-1]


def test_p5_a_by_product_that_comes_back_by_a_longer_way_is_no_loop() -> None:
    # The roast draws a jus, the jus a glaze, the glaze the bones that the roast gives: all are planned before the bones are pulled.
    catalogue = kitchen(
        ingredient("bones"),
        recipe("roast", "1 kg", line("recipe jus", "100 mL"), gives={"bones": "200 g"}),
        recipe("jus", "1 L", line("recipe glaze", "1 L")),
        recipe("glaze", "1 L", line("bones", "2 kg")),
    )
    assert order(catalogue) == ["roast", "jus", "glaze", "bones"]


def test_p4_items_without_a_relation_come_in_a_fixed_order() -> None:
    things = [recipe(code, "1 kg") for code in ("c", "a", "b")]
    assert order(kitchen(*things)) == order(kitchen(*reversed(things))) == ["a", "b", "c"]


def test_depth_counts_recipes_on_recipes() -> None:
    catalogue = kitchen(
        ingredient("onion"),
        recipe("stock", "10 L", line("onion", "1 kg")),
        recipe("soup", "20 L", line("recipe stock", "10 L")),
        recipe("plate", "1 each", line("recipe soup", "1 L"), line("onion", "1 kg")),
    )
    found = depth(ordered(edges(catalogue, active_between(catalogue, SITE, TUE))))
    assert {each.code: deep for each, deep in found.items()} == {"stock": 1, "soup": 2, "plate": 3}

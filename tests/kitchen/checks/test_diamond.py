"""A diamond: each recipe of a level calls all of the next one. Whatever looks through it goes through recipes, never through paths."""

from collections.abc import Callable
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.users import users_of
from service.kitchen.checks.additions import additions
from service.kitchen.checks.foresight import Foresight
from service.kitchen.checks.recipe import group_faults
from service.kitchen.costs.cost import menu_item_cost, recipe_cost
from service.kitchen.costs.costing import Costings
from service.kitchen.lists.scaling import Scaler
from service.kitchen.planning.horizon import Outlook
from service.kitchen.safety.allergen_reports import menu_item_report, recipe_report
from tests.kitchen.larder import TUE, WED, kitchen, line, menu_item, only_site, recipe, with_things
from tests.kitchen.prices import bought, pack
from tests.kitchen.steps import steps

WIDE = 5


def diamond(levels: int) -> Catalogue:
    """So many levels of five recipes, above some ingredients of which one has a price."""
    bottom = [line(f"i{number}", "1 kg") for number in range(WIDE)]
    calls = [bottom, *([line(f"recipe r{level}-{number}", "1 kg") for number in range(WIDE)] for level in range(levels - 1))]
    recipes = [recipe(f"r{level}-{number}", "7 kg", *called) for level, called in enumerate(calls) for number in range(WIDE)]
    things = [bought(f"i{number}", *([pack("1 kg", "3.00 EUR")] if number else [])) for number in range(WIDE)]
    return kitchen(*recipes, *things, menu_item("plate", (f"r{levels - 1}-0", "100 g")))


def foresight(catalogue: Catalogue) -> Foresight:
    """What another version of a recipe at the bottom would change."""
    (older,) = catalogue.versions["r0-0"]
    newer = recipe("r0-0", "7 kg", line("i0", "1 kg"), number=2, starts_on=WED)
    return Foresight(catalogue, with_things(catalogue, newer), newer, older)


def top(catalogue: Catalogue) -> Version:
    """A recipe of the highest level."""
    return list(catalogue.versions.values())[-1][0]


LOOKS: dict[str, Callable[[Catalogue], Any]] = {
    "what a recipe costs": lambda catalogue: recipe_cost(Costings(catalogue, None, TUE), top(catalogue)),
    "what a menu item costs": lambda catalogue: menu_item_cost(Costings(catalogue, None, TUE), "plate"),
    "the allergens of a recipe": lambda catalogue: recipe_report(catalogue, top(catalogue), None, TUE),
    "the allergens of a menu item": lambda catalogue: menu_item_report(catalogue, "plate", None, TUE),
    "what uses an ingredient": lambda catalogue: users_of(catalogue, "i0", TUE),
    "what allergens a version adds": lambda catalogue: additions(catalogue, foresight(catalogue).after, TUE),
    "what a version breaks": lambda catalogue: group_faults(catalogue, [top(catalogue)], TUE),
    "allergens before and after": lambda catalogue: foresight(catalogue).allergens(TUE),
    "costs before and after": lambda catalogue: foresight(catalogue).recipe_costs(None, WED),
    "costs of what is sold before and after": lambda catalogue: foresight(catalogue).menu_item_costs(None, WED),
    "what a version is served with": lambda catalogue: foresight(catalogue).served(only_site(catalogue).code, WED),
    "how far a plan looks": lambda catalogue: Outlook(catalogue, only_site(catalogue), TUE, TUE).horizon([]),
    "what a run needs": lambda catalogue: Scaler(catalogue, only_site(catalogue), top(catalogue), TUE).run_to(100),
}


@pytest.mark.parametrize("name", LOOKS)
def test_twice_the_levels_are_about_twice_the_work(name: str) -> None:
    # By paths eight levels would be 625 times the work of four.
    look, small, large = LOOKS[name], diamond(4), diamond(8)
    look(diamond(2))
    few = steps(lambda: look(small))
    assert few > 4 * WIDE
    assert steps(lambda: look(large), most=2.6 * few) > few

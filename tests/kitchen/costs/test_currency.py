"""In which currency the cost of something is told (C2), whatever else was costed before it."""

from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.recipe import Version
from service.kitchen.costs.currency import Currencies
from tests.kitchen.larder import SITE, TUE, kitchen, line, recipe
from tests.kitchen.prices import bought, by_product, pack

OIL = bought("oil", pack("1 L", "2.00 EUR"), kind="volume")
SALT = bought("salt", pack("1 kg", "1.00 USD"))
LOCAL = bought("local", pack("1 kg", "5.00 GBP", "sack", at=SITE), pack("1 kg", "3.00 EUR"))
DRESSING = recipe("dressing", "1 L", line("oil", "1 L"), line("salt", "1 g"))


def currencies(*things: Ingredient | Version, site: str | None = None) -> dict[str, str | None]:
    """The currency of each recipe, all asked of one value, in their order and in the other."""
    catalogue = kitchen(*things)
    recipes = [versions[0] for versions in catalogue.versions.values()]
    known = Currencies(catalogue, site, TUE)
    found = {version.recipe: known.of([version]) for version in recipes}
    other = Currencies(catalogue, site, TUE)
    assert {version.recipe: other.of([version]) for version in reversed(recipes)} == found
    return found


def test_c2_it_is_the_first_in_order_of_lines_at_every_level() -> None:
    salad = recipe("salad", "1 kg", line("recipe dressing", "1 L"), line("salt", "1 g"))
    brine = recipe("brine", "1 L", line("salt", "1 kg"), line("recipe dressing", "1 L"))
    assert currencies(OIL, SALT, DRESSING, salad, brine) == {"dressing": "EUR", "salad": "EUR", "brine": "USD"}


def test_c2_a_pack_of_the_sites_own_goes_before_all_others() -> None:
    salad = recipe("salad", "1 kg", line("salt", "1 g"), line("recipe mix", "1 kg"))
    things = (SALT, LOCAL, recipe("mix", "1 kg", line("local", "1 kg")), salad)
    assert currencies(*things, site=SITE) == {"mix": "GBP", "salad": "GBP"}
    assert currencies(*things) == {"mix": "EUR", "salad": "USD"}


def test_c2_the_value_of_what_no_pack_offers_has_a_currency_too() -> None:
    assert currencies(by_product("bones", "1.00 EUR"), recipe("stock", "1 L", line("bones", "1 kg"))) == {"stock": "EUR"}
    assert currencies(bought("bones", value=None), recipe("stock", "1 L", line("bones", "1 kg"))) == {"stock": None}


def test_c2_recipes_that_need_each_other_each_have_one() -> None:
    a = recipe("a", "1 kg", line("recipe b", "1 kg"), line("salt", "1 g"))
    b = recipe("b", "1 kg", line("recipe a", "1 kg"))
    assert currencies(SALT, a, b) == {"a": "USD", "b": "USD"}

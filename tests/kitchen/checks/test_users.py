"""Checks of users: what a change would break, wherever a version can be in force (P12, U5)."""

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.checks.users import Place, broken_component, broken_lines, broken_par, broken_users, places
from tests.kitchen.larder import SITE, THU, TUE, WED, form, ingredient, item, kitchen, line, menu_item, par, recipe, site
from tests.kitchen.steps import steps


def users(catalogue: Catalogue, *words: str) -> list[tuple[str, str]]:
    """User and pointer of everything that a change of these items leaves broken."""
    return [(broken.user, broken.pointer) for broken in broken_users(catalogue, frozenset(map(item, words)), TUE)]


def test_p12_places_are_the_sites_and_dates_at_which_something_changes_while_the_version_is_in_force() -> None:
    soup = recipe("soup", "20 L", line("recipe sauce", "1 L"), starts_on=TUE)
    catalogue = kitchen(
        soup,
        recipe("soup", "20 L", number=2, starts_on=THU, sites=[SITE]),
        recipe("sauce", "5 L"),
        recipe("sauce", "5 L", number=2, starts_on=WED),
    )
    assert list(places(catalogue, soup, TUE)) == [Place(None, TUE), Place(None, WED), Place(SITE, TUE), Place(SITE, WED)]


def test_p12_a_line_is_looked_at_by_every_version_of_what_it_calls_and_told_once() -> None:
    plate = recipe("plate", "1 each", line("recipe sauce", "1 portion"), line("recipe sauce", "1 L"))
    catalogue = kitchen(
        plate,
        recipe("sauce", "5 L", portion="50 mL"),
        recipe("sauce", "5 L", number=2, starts_on=WED),
        recipe("sauce", "5 L", number=3, starts_on=THU),
    )
    (broken,) = broken_lines(catalogue, plate, TUE)
    assert (broken.pointer, broken.place, broken.error.code) == ("/lines/0", Place(None, WED), "wrong_kind")


def test_u5_an_ingredient_that_loses_an_equivalent_breaks_lines_percentages_by_products_and_pars() -> None:
    percent = {"rule": "percent", "of": [1]}
    catalogue = kitchen(
        ingredient("stock", kind="volume"),
        ingredient("salt"),
        ingredient("fat"),
        ingredient("onion", form("dice")),
        recipe("soup", "20 L", line("stock", "1 kg")),
        recipe("brine", "20 L", line("stock", "1 L"), line("salt", "2 percent", scaling=percent)),
        recipe("roast", "1 kg", gives={"fat": "1 L"}),
        recipe("tart", "1 kg", line("onion/dice", "2 cup")),
        site(pars=[par("onion/dice", "2 cup", "09:00")]),
    )
    assert users(catalogue, "stock") == [("recipe brine", "/lines/1"), ("recipe soup", "/lines/0")]
    assert users(catalogue, "fat") == [("recipe roast", "/by_products/0/quantity/unit")]
    assert users(catalogue, "onion") == [("recipe tart", "/lines/0"), ("a par of site mill-street", "/pars/0/level/unit")]
    assert users(catalogue, "salt") == [("recipe brine", "/lines/1")]


def test_p12_versions_that_are_past_break_nothing() -> None:
    catalogue = kitchen(
        ingredient("stock", kind="volume"), recipe("soup", "20 L", line("stock", "1 kg")), recipe("soup", "20 L", number=2, starts_on=TUE)
    )
    assert users(catalogue, "stock") == []


def test_recipes_excepted_are_not_told() -> None:
    catalogue = kitchen(ingredient("stock", kind="volume"), recipe("soup", "20 L", line("stock", "1 kg")))
    assert broken_users(catalogue, frozenset({item("stock")}), TUE, but=frozenset({"soup"})) == []


def test_a_component_is_told_once_and_one_with_no_version_in_force_not_at_all() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L"),
        recipe("soup", "20 L", number=2, starts_on=THU),
        menu_item("bowl", ("soup", "1 portion"), ("stew", "1 portion")),
    )
    assert [broken.pointer for broken in broken_component(catalogue, "bowl", 0, TUE)] == ["/components/0/quantity/unit"]
    assert list(broken_component(catalogue, "bowl", 1, TUE)) == []


def test_p16_a_par_is_looked_at_by_the_versions_of_its_own_site() -> None:
    pilot = recipe("soup", "20 L", number=2, starts_on=THU, sites=["harbour"])
    catalogue = kitchen(recipe("soup", "20 L", portion="250 mL"), pilot, site(pars=[par("recipe soup", "4 portion", "09:00")]))
    assert list(broken_par(catalogue, "mill-street", 0, TUE)) == []
    catalogue = kitchen(recipe("soup", "20 L", portion="250 mL"), pilot, site("harbour", pars=[par("recipe soup", "4 portion", "09:00")]))
    (broken,) = broken_par(catalogue, "harbour", 0, TUE)
    assert (broken.user, broken.place) == ("a par of site harbour", Place("harbour", THU))


def test_only_what_uses_an_item_is_looked_at() -> None:
    soup, bowl = recipe("soup", "20 L", line("stock", "1 kg")), menu_item("bowl", ("soup", "250 mL"))
    others = [recipe(f"other-{number}", "1 kg", line("salt", "1 g")) for number in range(200)]
    sold = [menu_item(f"plate-{number}", (f"other-{number}", "100 g")) for number in range(200)]
    alone = kitchen(ingredient("stock", kind="volume"), ingredient("salt"), soup, bowl)
    among = kitchen(ingredient("stock", kind="volume"), ingredient("salt"), soup, bowl, *others, *sold)
    for catalogue in (alone, among):
        assert users(catalogue, "stock") == [("recipe soup", "/lines/0")]
    assert steps(lambda: users(among, "stock")) == steps(lambda: users(alone, "stock"))

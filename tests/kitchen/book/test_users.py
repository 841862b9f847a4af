"""What reaches an ingredient: every user once, at its lowest level, wherever and whenever it is in force."""

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import MenuItem, Site
from service.kitchen.book.users import callers, levels_above, sold_at, users_of
from tests.kitchen.larder import LONG_AGO, MON, SAT, TUE, WED, form, ingredient, item, kitchen, line, menu_item, par, recipe, site

BASE = recipe("base", "1 L", line("onion/diced", "1 kg"))
SOUP = recipe("soup", "1 L", line("recipe base", "1 L"))
BOWL = menu_item("bowl", ("soup", "1 L"))


def pantry(*more: Version | MenuItem | Site) -> Catalogue:
    return kitchen(ingredient("onion", form("diced")), ingredient("oil"), BASE, SOUP, BOWL, *more)


def versions(catalogue: Catalogue, sites: list[str | None] | None = None) -> dict[tuple[str, int], int]:
    found = users_of(catalogue, "onion", TUE, sites).versions
    return {(version.recipe, version.number): level for version, level in found.items()}


def test_users_stand_at_every_level_up_to_menu_items() -> None:
    found = users_of(pantry(), "onion", TUE)
    assert versions(pantry()) == {("base", 1): 1, ("soup", 1): 2}
    assert found.menu_items == {"bowl": 3}
    assert users_of(pantry(), "oil", TUE).versions == {}


def test_a_user_on_two_ways_stands_once_at_the_lower_level() -> None:
    stew = recipe("stew", "1 L", line("recipe soup", "1 L"), line("onion", "1 kg"))
    plate = menu_item("plate", ("soup", "1 L"), ("stew", "1 L"))
    assert versions(pantry(stew, plate))["stew", 1] == 1
    assert users_of(pantry(stew, plate), "onion", TUE).menu_items == {"bowl": 3, "plate": 2}


def test_versions_in_force_or_to_come_count_and_past_ones_do_not() -> None:
    without = recipe("base", "1 L", line("oil", "1 kg"), number=2, starts_on=TUE)
    assert versions(pantry(without)) == {}
    later = recipe("base", "1 L", line("oil", "1 kg"), number=2, starts_on=WED)
    assert versions(pantry(later)) == {("base", 1): 1, ("soup", 1): 2}
    again = recipe("base", "1 L", line("onion", "1 kg"), number=3, starts_on=SAT)
    assert versions(pantry(without, again)) == {("base", 3): 1, ("soup", 1): 2}
    ended = recipe("soup", "1 L", line("recipe base", "1 L"), starts_on=LONG_AGO, withdrawn_from=MON)
    assert versions(kitchen(ingredient("onion", form("diced")), BASE, ended)) == {("base", 1): 1}


def test_a_pilot_is_a_user_at_its_sites_alone() -> None:
    pilot = recipe("sauce", "1 L", line("onion", "1 kg"), sites=["harbour"])
    catalogue = pantry(pilot, site("harbour"), site("mill-street"))
    assert ("sauce", 1) in versions(catalogue)
    assert ("sauce", 1) in versions(catalogue, ["harbour"])
    assert ("sauce", 1) not in versions(catalogue, ["mill-street"])


def test_pars_of_forms_and_of_recipes_are_users_at_their_sites() -> None:
    kept = [par("onion/diced", "1 kg", "09:00"), par("recipe soup", "1 L", "10:00")]
    pilot = recipe("soup", "1 L", line("oil", "1 L"), number=2, sites=["harbour"])
    catalogue = pantry(pilot, site("harbour", pars=kept), site("mill-street", pars=kept))

    def pars(sites: list[str | None] | None = None) -> dict[tuple[str, str], int]:
        found = users_of(catalogue, "onion", TUE, sites).pars
        return {(code, each.item.label): level for (code, each), level in found.items()}

    mill_street = {("mill-street", "onion/diced"): 1, ("mill-street", "soup"): 3}
    assert pars() == {("harbour", "onion/diced"): 1, **mill_street}
    assert pars(["mill-street"]) == mill_street


def test_levels_above_a_recipe_are_those_in_force_on_a_date() -> None:
    catalogue = pantry(recipe("soup", "1 L", line("oil", "1 L"), number=2, starts_on=SAT))
    reaching = callers(catalogue, [item("recipe base")])
    assert reaching == {item("recipe base"), item("recipe soup")}
    before = levels_above(catalogue, item("recipe base"), reaching, None, TUE)
    assert before == {item("recipe base"): 0, item("recipe soup"): 1}
    assert sold_at(catalogue, before) == {"bowl": 2}
    assert levels_above(catalogue, item("recipe base"), reaching, None, SAT) == {item("recipe base"): 0}


def test_pars_stand_in_the_order_of_the_sites_asked_for_whoever_has_versions_of_its_own() -> None:
    kept = [par("onion/diced", "1 kg", "09:00")]
    pilot = recipe("soup", "1 L", line("oil", "1 L"), number=2, sites=["harbour"])
    catalogue = pantry(pilot, *(site(code, pars=kept) for code in ("airport", "harbour", "mill-street")))
    found = users_of(catalogue, "onion", TUE, ["airport", "harbour", "mill-street"]).pars
    assert [code for code, _ in found] == ["airport", "harbour", "mill-street"]

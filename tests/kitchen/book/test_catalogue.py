"""What is in force when and where: rule P12 and the catalogue's look-ups."""

from datetime import date

import pytest

from service.kitchen.book.catalogue import Catalogue
from tests.kitchen.larder import FRI, MON, SAT, SITE, THU, TUE, WED, form, ingredient, item, kitchen, line, recipe


def number(catalogue: Catalogue, on: date, site: str | None = SITE) -> int | None:
    """The number of the version of soup in force."""
    version = catalogue.in_force("soup", site, on)
    return version.number if version else None


def test_p12_a_version_is_in_force_from_its_date() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=WED))
    assert [number(catalogue, on) for on in (TUE, WED, SAT)] == [None, 1, 1]


def test_p12_of_two_in_force_the_later_from_wins_even_with_the_lower_number() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=THU), recipe("soup", "20 L", number=2, starts_on=TUE))
    assert [number(catalogue, on) for on in (MON, TUE, WED, THU, FRI)] == [None, 2, 2, 1, 1]


def test_p12_of_two_from_one_date_the_higher_number_wins() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=TUE), recipe("soup", "20 L", number=2, starts_on=TUE))
    assert number(catalogue, TUE) == 2


def test_p12_from_its_withdrawal_on_the_next_older_version_applies() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", starts_on=MON),
        recipe("soup", "20 L", number=2, starts_on=TUE, withdrawn_from=THU),
    )
    assert [number(catalogue, on) for on in (MON, TUE, WED, THU)] == [1, 2, 2, 1]


def test_p12_a_withdrawal_of_the_only_version_leaves_none() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=MON, withdrawn_from=WED))
    assert [number(catalogue, on) for on in (TUE, WED)] == [1, None]


def test_p12_a_version_withdrawn_before_it_began_never_counts() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=MON), recipe("soup", "20 L", number=2, starts_on=THU, withdrawn_from=TUE))
    assert [number(catalogue, on) for on in (TUE, THU, SAT)] == [1, 1, 1]


def test_p12_a_pilot_is_in_force_at_its_sites_alone() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=MON), recipe("soup", "20 L", number=2, starts_on=TUE, sites=[SITE]))
    assert number(catalogue, WED, SITE) == 2
    assert number(catalogue, WED, "harbour") == 1
    assert number(catalogue, WED, None) == 1


def test_p12_a_later_version_for_all_sites_ends_a_pilot() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", starts_on=MON),
        recipe("soup", "20 L", number=2, starts_on=TUE, sites=[SITE]),
        recipe("soup", "20 L", number=3, starts_on=THU),
    )
    assert [number(catalogue, on) for on in (MON, TUE, THU)] == [1, 2, 3]


def test_p12_the_versions_of_a_range_are_those_in_force_on_some_date_of_it() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", starts_on=MON),
        recipe("soup", "20 L", number=2, starts_on=WED),
        recipe("soup", "20 L", number=3, starts_on=FRI, withdrawn_from=SAT),
    )

    def numbers(first: date, last: date | None = None) -> list[int]:
        return [version.number for version in catalogue.in_force_between("soup", SITE, first, last)]

    assert numbers(MON, TUE) == [1]
    assert numbers(TUE, WED) == [1, 2]
    assert numbers(WED, THU) == [2]
    # After the withdrawal of the third version the second one is in force again.
    assert numbers(THU) == [2, 3, 2]
    assert numbers(SAT) == [2]
    assert catalogue.in_force_between("stew", SITE, MON) == []


def test_p12_from_the_last_turn_up_to_a_date_the_same_is_in_force_as_from_the_date() -> None:
    catalogue = kitchen(recipe("soup", "20 L", starts_on=TUE, withdrawn_from=FRI), recipe("bread", "5 kg", starts_on=THU))
    assert [catalogue.last_turn(on) for on in (MON, TUE, WED, THU, FRI, SAT)] == [date.min, TUE, TUE, THU, FRI, FRI]


def test_audiences_are_the_sites_that_a_version_singles_out_and_all_the_others() -> None:
    catalogue = kitchen(recipe("soup", "20 L"), recipe("soup", "20 L", number=2, sites=["mill-street", "harbour"]))
    assert catalogue.audiences == (None, "harbour", "mill-street")


def test_titles_are_those_of_the_newest_version_and_of_ingredient_and_form() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", title="Soup"),
        recipe("soup", "20 L", number=2, title="Lentil soup"),
        ingredient("onion", form("dice", name="peeled, small dice"), name="Yellow onion"),
    )
    assert catalogue.title(item("recipe soup")) == "Lentil soup"
    assert catalogue.title(item("onion/dice")) == "Yellow onion, peeled, small dice"
    assert catalogue.title(item("onion")) == "Yellow onion"
    assert [catalogue.title(item(words)) for words in ("recipe stew", "leek", "leek/rings")] == ["stew", "leek", "leek/rings"]


def test_the_title_at_a_site_is_of_no_version_for_others() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", title="Soup"),
        recipe("soup", "20 L", number=2, title="Harbour dal", sites=["harbour"]),
        recipe("stew", "20 L", title="Harbour stew", sites=["harbour"]),
    )
    assert [catalogue.title(item("recipe soup"), site) for site in ("harbour", "mill-street", None)] == [
        "Harbour dal",
        "Soup",
        "Harbour dal",
    ]
    assert [catalogue.title(item("recipe stew"), site) for site in ("harbour", "mill-street")] == ["Harbour stew", "stew"]


def test_u5_a_recipe_crosses_kinds_by_the_version_in_force() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", line("onion", "1 kg"), equivalents=["1 L = 1.05 kg"]),
        recipe("soup", "20 L", equivalents=["1 L = 1 kg"], number=2, starts_on=THU),
    )
    kettle = catalogue.versions["soup"][0].makes

    def mass(on: date | None) -> float:
        conversions = catalogue.conversions(item("recipe soup"), SITE, on)
        assert conversions is not None
        return float(conversions.convert(kettle, "mass"))

    assert mass(WED) == pytest.approx(21_000)
    assert mass(THU) == pytest.approx(20_000)
    assert mass(None) == pytest.approx(20_000)
    assert catalogue.conversions(item("recipe soup"), SITE, date(2025, 1, 1)) is None
    assert catalogue.conversions(item("leek"), SITE, THU) is None

"""Checks of a withdrawal: rule P12, by which the next older version applies, and a user left without one is told."""

from service.kitchen.book.recipe import Version
from service.kitchen.book.site import MenuItem, Site
from service.kitchen.checks.withdrawal import withdrawal_faults
from tests.kitchen.larder import MON, SAT, THU, TUE, WED, kitchen, line, menu_item, par, recipe, site, with_things


def faults(*things: Version | MenuItem | Site, withdrawn: Version) -> list[str]:
    """What a withdrawal breaks: the catalogue holds the things and then, in place of one, the withdrawn version."""
    before = kitchen(*things)
    found = withdrawal_faults(before, with_things(before, withdrawn), withdrawn, TUE)
    assert all((fault.pointer, fault.code) == ("/from", "in_use") for fault in found)
    return [fault.detail for fault in found]


def test_p12_where_an_older_version_applies_again_nothing_breaks() -> None:
    newer = recipe("soup", "20 L", number=2, starts_on=TUE, withdrawn_from=THU)
    assert (
        faults(recipe("soup", "20 L"), recipe("soup", "20 L", number=2, starts_on=TUE), menu_item("bowl", ("soup", "1 L")), withdrawn=newer)
        == []
    )


def test_p12_the_last_version_of_what_a_menu_item_par_or_recipe_needs_is_not_withdrawn() -> None:
    gone = recipe("soup", "20 L", withdrawn_from=THU)
    found = faults(
        recipe("soup", "20 L"),
        recipe("plate", "1 each", line("recipe soup", "1 L")),
        menu_item("bowl", ("soup", "1 L")),
        site(pars=[par("recipe soup", "5 L", "09:00")]),
        withdrawn=gone,
    )
    assert found == [
        "recipe plate from 2026-12-03: soup has no version in force",
        "menu item bowl would have no version from 2026-12-03 on",
        "a par of site mill-street would have no version from 2026-12-03 on",
    ]


def test_p12_a_recipe_that_nobody_needs_may_lose_its_last_version() -> None:
    assert faults(recipe("soup", "20 L"), withdrawn=recipe("soup", "20 L", withdrawn_from=THU)) == []


def test_p12_an_older_version_that_cannot_give_what_a_user_asks_for_breaks_it() -> None:
    # Only the second version states a portion.
    newer = recipe("soup", "20 L", portion="250 mL", number=2, starts_on=TUE)
    gone = recipe("soup", "20 L", portion="250 mL", number=2, starts_on=TUE, withdrawn_from=WED)
    (found,) = faults(recipe("soup", "20 L"), newer, menu_item("bowl", ("soup", "1 portion")), withdrawn=gone)
    assert found.startswith("menu item bowl from 2026-12-0")


def test_p12_a_pilots_withdrawal_concerns_its_sites_alone() -> None:
    pilot = recipe("soup", "20 L", sites=["harbour"])
    gone = recipe("soup", "20 L", sites=["harbour"], withdrawn_from=THU)
    elsewhere = site(pars=[par("recipe soup", "5 L", "09:00")])
    assert faults(pilot, elsewhere, withdrawn=gone) == []
    there = site("harbour", pars=[par("recipe soup", "5 L", "09:00")])
    assert faults(pilot, there, withdrawn=gone) == ["a par of site harbour would have no version from 2026-12-03 on"]


def test_p12_what_only_unsold_items_use_may_lose_its_last_version() -> None:
    gone = recipe("soup", "20 L", withdrawn_from=THU)
    assert faults(recipe("soup", "20 L"), menu_item("bowl", ("soup", "1 L"), sold=(None, WED)), withdrawn=gone) == []
    still = menu_item("bowl", ("soup", "1 L"), sold=(None, THU))
    assert faults(recipe("soup", "20 L"), still, withdrawn=gone) == ["menu item bowl would have no version from 2026-12-03 on"]


def test_p12_what_a_menu_item_cannot_get_while_it_is_not_sold_does_not_break_it() -> None:
    # Only the second version, until Wednesday, states a portion.
    newer = recipe("soup", "20 L", portion="250 mL", number=2)
    gone = recipe("soup", "20 L", portion="250 mL", number=2, withdrawn_from=WED)
    for sold, breaks in (((None, TUE), False), ((None, WED), True), ((THU, None), True), ((MON, MON), False)):
        bowl = menu_item("bowl", ("soup", "1 portion"), sold=sold)
        assert bool(faults(recipe("soup", "20 L"), newer, bowl, withdrawn=gone)) == breaks, sold


def test_p12_where_pilots_cover_every_site_the_version_for_all_sites_may_go() -> None:
    everywhere = recipe("soup", "20 L")
    gone = recipe("soup", "20 L", withdrawn_from=THU)
    pilots = [recipe("soup", "20 L", number=number, sites=[code]) for number, code in ((2, "harbour"), (3, "mill-street"))]
    bowl, plate = menu_item("bowl", ("soup", "1 L")), recipe("plate", "1 each", line("recipe soup", "1 L"))
    users: list[Version | MenuItem | Site] = [bowl, plate, site(pars=[par("recipe soup", "5 L", "09:00")]), site("harbour")]
    assert faults(everywhere, *pilots, *users, withdrawn=gone) == []
    # A third site cooks by the version for all sites; so does one whose pilot ends.
    missed = ["recipe plate from 2026-12-03: soup has no version in force", "menu item bowl would have no version from 2026-12-03 on"]
    assert faults(everywhere, *pilots, *users, site("quay"), withdrawn=gone) == missed
    ending = recipe("soup", "20 L", number=2, sites=["harbour"], withdrawn_from=SAT)
    later = [each.replace("2026-12-03", "2026-12-05") for each in missed]
    assert faults(everywhere, ending, pilots[1], *users, withdrawn=gone) == later

"""Checks of a withdrawal: who would be left without a version.

Responsible for the users that a withdrawn version would break. Refuses to know who withdraws it.
"""

from dataclasses import replace
from datetime import date

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.users import occasions
from service.kitchen.checks.combined import outlasting_users
from service.kitchen.checks.users import broken_users


def withdrawal_faults(before: Catalogue, after: Catalogue, version: Version, today: date) -> list[Fault]:
    """Recipes, menu items and pars that a withdrawal breaks; ``after`` is the catalogue in which it has happened."""
    sites = _places(after)
    faults = [
        Fault("/from", "in_use", f"{broken.user} from {broken.place.on}: {broken.error.detail}")
        for broken in broken_users(after, frozenset({version.item}), today, sites=sites)
    ]
    faults += [replace(fault, pointer="/from") for fault in outlasting_users(before, after, version.recipe, today, sites=sites)]
    left = version.withdrawn_from
    if left is None:
        return faults
    bare: dict[str, date] = {}
    for site, on in occasions(left, before, after, sites=sites):
        if before.in_force(version.recipe, site, on) is not None and after.in_force(version.recipe, site, on) is None:
            for seller in _sellers(after, version.recipe, site, on):
                bare[seller] = min(on, bare.get(seller, on))
    faults += [Fault("/from", "in_use", f"{seller} would have no version from {on} on") for seller, on in bare.items()]
    return list(dict.fromkeys(faults))


def _places(catalogue: Catalogue) -> tuple[str | None, ...]:
    """Where a version can be missed: where versions single out every site, nobody is left for those that single out none."""
    named = catalogue.audiences
    covered = bool(catalogue.sites) and catalogue.sites.keys() <= set(named)
    return tuple(site for site in named if site is not None or not covered)


def _sellers(catalogue: Catalogue, recipe: str, place: str | None, on: date) -> list[str]:
    """The menu items that sell a recipe on a date or later, and the pars of it at a place.

    That is a site that versions single out, or (None) all others.
    """
    sold = [item for item in catalogue.menu_items.values() if (item.sold_until or date.max) >= on]
    sellers = [f"menu item {item.code}" for item in sold if any(each.recipe == recipe for each in item.components)]
    return sellers + [
        f"a par of site {each.code}"
        for each in catalogue.sites.values()
        if place == (each.code if each.code in catalogue.audiences else None)
        and any(par.item.is_recipe and par.item.code == recipe for par in each.pars)
    ]

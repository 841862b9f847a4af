"""Checks of a withdrawal: who would be left without a version.

Responsible for the users that a withdrawn version would break. Refuses to know who withdraws it.
"""

from datetime import date

from service.errors import Fault
from service.kitchen.catalogue import Catalogue
from service.kitchen.checks.users import broken_users
from service.kitchen.recipe import Version


def withdrawal_faults(before: Catalogue, after: Catalogue, version: Version, today: date) -> list[Fault]:
    """Recipes, menu items and pars that a withdrawal breaks; ``after`` is the catalogue in which it has happened."""
    faults = [
        Fault("/from", "in_use", f"{broken.user} from {broken.place.on}: {broken.error.detail}")
        for broken in broken_users(after, frozenset({version.item}), today)
    ]
    left = version.withdrawn_from
    if left is None:
        return faults
    for site in after.audiences:
        bare = before.in_force(version.recipe, site, left) is not None and after.in_force(version.recipe, site, left) is None
        if bare:
            sellers = _sellers(after, version.recipe, site)
            faults += [Fault("/from", "in_use", f"{seller} would have no version from {left} on") for seller in sellers]
    return list(dict.fromkeys(faults))


def _sellers(catalogue: Catalogue, recipe: str, site: str | None) -> list[str]:
    """The menu items that sell a recipe, and the pars of it at a site."""
    sellers = [f"menu item {item.code}" for item in catalogue.menu_items.values() if any(each.recipe == recipe for each in item.components)]
    return sellers + [
        f"a par of site {each.code}"
        for each in catalogue.sites.values()
        if site in (None, each.code) and any(par.item.is_recipe and par.item.code == recipe for par in each.pars)
    ]

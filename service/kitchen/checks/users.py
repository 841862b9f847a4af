"""Checks of users: what already refers to an item that changes.

Responsible for finding the recipes, menu items and pars that a change would break, wherever a version
can be in force from a date on. Refuses to change anything.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from typing import NamedTuple

from service.errors import KitchenError, ServiceError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.lines import amounts_at
from service.kitchen.book.recipe import Version

# Sites to look at; without them, all that versions single out, and (None) the others.
Sites = tuple[str | None, ...] | None


class Place(NamedTuple):
    """A date from which something else is in force, at a site or (None) wherever no version is limited to."""

    site: str | None
    on: date


class Broken(NamedTuple):
    """A user that a catalogue cannot serve, where in its document, and why."""

    user: str
    pointer: str
    error: ServiceError
    place: Place


def places(catalogue: Catalogue, version: Version, today: date, sites: Sites = None) -> Iterator[Place]:
    """Every site and date from ``today`` on at which a version, or what it calls, changes while it is in force (P12).

    With ``sites``, just at these.
    """
    recipes = {version.recipe, *(line.item.code for line in version.lines if line.item.is_recipe)}
    for site in catalogue.audiences if sites is None else sites:
        if not version.applies_to(site):
            continue
        turns = {turn for recipe in recipes for turn, _ in catalogue.timeline(recipe, site)}
        for on in sorted({today, *(turn for turn in turns if turn > today)}):
            if catalogue.in_force(version.recipe, site, on) is version:
                yield Place(site, on)


def broken_lines(
    catalogue: Catalogue, version: Version, today: date, only: frozenset[Item] | None = None, sites: Sites = None
) -> list[Broken]:
    """The lines of a version that cannot be served somewhere from ``today`` on; each line once.

    With ``only``, just the lines that call one of these items (an ingredient stands for its forms).
    """
    broken: dict[int, Broken] = {}
    for place in places(catalogue, version, today, sites):
        for index, amount in enumerate(amounts_at(catalogue, version, *place)):
            if isinstance(amount, ServiceError) and index not in broken and _concerns(version, index, only):
                broken[index] = Broken(f"recipe {version.recipe}", f"/lines/{index}", amount, place)
    return [broken[index] for index in sorted(broken)]


def _concerns(version: Version, index: int, only: frozenset[Item] | None) -> bool:
    """Whether a line, or a base line of its percentage, calls one of the items."""
    if only is None:
        return True
    line = version.lines[index]
    called = [line.item, *(version.lines[number - 1].item for number in line.scaling.of)]
    return any(item in only or item.ingredient in only for item in called)


def broken_users(
    catalogue: Catalogue, items: frozenset[Item], today: date, but: frozenset[str] = frozenset(), sites: Sites = None
) -> list[Broken]:
    """Every recipe, menu item and par that the catalogue cannot serve and that calls one of the items; recipes in ``but`` excepted.

    With ``sites``, recipes and menu items that it cannot serve at one of these.
    """
    users: Users = catalogue.once("users", lambda: _users(catalogue))
    concerned = {version for item in items for version in users.versions.get(item, ())}
    reached: list[Broken] = []
    for recipe in sorted({version.recipe for version in concerned}):
        if recipe not in but:
            for version in catalogue.versions[recipe]:
                if version in concerned:
                    reached += broken_lines(catalogue, version, today, items, sites)
        reached += _broken_by_products(catalogue, recipe, items, today, sites)
    for code, index in sorted({place for item in items for place in users.components.get(item, ())}):
        reached += broken_component(catalogue, code, index, today, sites)
    for code, index in sorted({place for item in items for place in users.pars.get(item, ())}):
        reached += broken_par(catalogue, code, index, today)
    return reached


def calling(catalogue: Catalogue, item: Item) -> Collection[Version]:
    """Every version that names an item, or a form of it, in its lines or by-products."""
    users: Users = catalogue.once("users", lambda: _users(catalogue))
    return users.versions.get(item, ())


class Users(NamedTuple):
    """What names each item or a form of it: versions in lines or by-products, and the components and pars of which menu item or site."""

    versions: Mapping[Item, Collection[Version]]
    components: Mapping[Item, Collection[tuple[str, int]]]
    pars: Mapping[Item, Collection[tuple[str, int]]]


def _users(catalogue: Catalogue) -> Users:
    versions: dict[Item, dict[Version, None]] = defaultdict(dict)
    for each in catalogue.versions.values():
        for version in each:
            for item in (*(line.item for line in version.lines), *(Item(code) for code, _ in version.by_products)):
                versions[item][version] = versions[item.ingredient][version] = None
    components: dict[Item, list[tuple[str, int]]] = defaultdict(list)
    for code, sold in catalogue.menu_items.items():
        for index, component in enumerate(sold.components):
            components[Item.recipe(component.recipe)].append((code, index))
    pars: dict[Item, list[tuple[str, int]]] = defaultdict(list)
    for code, site in catalogue.sites.items():
        for index, par in enumerate(site.pars):
            for item in {par.item, par.item.ingredient}:
                pars[item].append((code, index))
    return Users(versions, components, pars)


def _broken_by_products(catalogue: Catalogue, recipe: str, items: frozenset[Item], today: date, sites: Sites) -> Iterator[Broken]:
    """By-products among the items that a version in force from ``today`` on gives in a measure that the item no longer explains."""
    for place, version in _in_force_from(catalogue, recipe, today, sites):
        for index, (code, quantity) in enumerate(version.by_products):
            conversions = catalogue.conversions(Item(code)) if Item(code) in items else None
            try:
                if conversions is not None:
                    conversions.check(quantity.unit)
            except KitchenError as error:
                yield Broken(f"recipe {recipe}", f"/by_products/{index}/quantity/unit", error, place)


def broken_component(catalogue: Catalogue, code: str, index: int, today: date, sites: Sites = None) -> Iterator[Broken]:
    """A component of a menu item that a version in force from ``today`` on, while it is sold, cannot give, once.

    That none is in force is no fault.
    """
    item = catalogue.menu_items[code]
    component, last = item.components[index], item.sold_until or date.max
    for place, version in _in_force_from(catalogue, component.recipe, max(today, item.sold_from or today), sites, last):
        try:
            version.conversions.check(component.quantity.unit)
        except KitchenError as error:
            yield Broken(f"menu item {code}", f"/components/{index}/quantity/unit", error, place)
            return


def broken_par(catalogue: Catalogue, code: str, index: int, today: date) -> Iterator[Broken]:
    """A par of a site whose level what is in force from ``today`` on cannot be counted in, once."""
    par = catalogue.sites[code].pars[index]
    if par.item.is_recipe:
        readings = [(place.on, version.conversions) for place, version in _in_force_from(catalogue, par.item.code, today, (code,))]
    else:
        conversions = catalogue.conversions(par.item)
        if conversions is None:
            missing = KitchenError(f"there is no {par.item.label}")
            yield Broken(f"a par of site {code}", f"/pars/{index}/item", missing, Place(code, today))
            return
        readings = [(today, conversions)]
    for on, each in readings:
        try:
            each.check(par.level.unit)
        except KitchenError as error:
            yield Broken(f"a par of site {code}", f"/pars/{index}/level/unit", error, Place(code, on))
            return


def _in_force_from(
    catalogue: Catalogue, recipe: str, today: date, sites: Sites = None, last: date = date.max
) -> Iterator[tuple[Place, Version]]:
    """Every version of a recipe in force somewhere from a date on, up to a last one, with a place where it is."""
    if last < today:
        return
    for site in catalogue.audiences if sites is None else sites:
        for version in catalogue.in_force_between(recipe, site, today, last):
            yield Place(site, max(today, version.starts_on)), version

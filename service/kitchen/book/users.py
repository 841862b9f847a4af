"""Users: what reaches an item, from its own forms up to the menu items that sell it.

Responsible for who calls what at every level, and where and when what is in force can change. Refuses to know
quantities, and what a user makes of it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Par


@dataclass(slots=True)
class Users:
    """Every user once, with its level: the fewest recipes on a way up to it, 1 for what names the ingredient or a form of it."""

    versions: dict[Version, int] = field(default_factory=dict)
    menu_items: dict[str, int] = field(default_factory=dict)
    pars: dict[tuple[str, Par], int] = field(default_factory=dict)


def whole(item: Item) -> Item:
    """The recipe itself, or the ingredient that a form is cut from."""
    return item if item.is_recipe else item.ingredient


def callers(catalogue: Catalogue, items: Iterable[Item]) -> set[Item]:
    """The items, and every recipe that reaches one of them by some version, past ones included, at any level."""
    by_line: dict[Item, set[Item]] = defaultdict(set)
    for versions in catalogue.versions.values():
        for version in versions:
            for item in version.calls:
                by_line[item].add(version.item)
    found = set(items)
    waiting = list(found)
    while waiting:
        fresh = by_line[waiting.pop()] - found
        found |= fresh
        waiting += fresh
    return found


def below(catalogue: Catalogue, items: Iterable[Item]) -> set[Item]:
    """The items, and everything that they reach by some version, past ones included, at any level."""
    found = set(items)
    waiting = list(found)
    while waiting:
        item = waiting.pop()
        versions = catalogue.versions.get(item.code, ()) if item.is_recipe else ()
        fresh = {each for version in versions for each in version.calls} - found
        found |= fresh
        waiting += fresh
    return found


def occasions(
    today: date, *catalogues: Catalogue, sites: Sequence[str | None] | None = None, among: Iterable[Item] | None = None
) -> Iterator[tuple[str | None, date]]:
    """Every place and date from ``today`` on at which a version, of some items or any, comes into force or ends in some catalogues.

    The places are ``sites``, else those that versions are limited to and None for all others.
    """
    places = sites if sites is not None else dict.fromkeys(site for catalogue in catalogues for site in catalogue.audiences)
    wanted = None if among is None else {item.code for item in among if item.is_recipe}
    for site in places:
        turns = {
            turn
            for catalogue in catalogues
            for recipe in (catalogue.versions if wanted is None else wanted)
            for turn, _ in catalogue.timeline(recipe, site)
        }
        for on in sorted({today, *(turn for turn in turns if turn > today)}):
            yield site, on


def users_of(catalogue: Catalogue, ingredient: str, today: date, sites: Sequence[str | None] | None = None) -> Users:
    """What uses an ingredient on some date from ``today`` on, at any place or at some sites: each user once, at its lowest level."""
    users = Users()
    target = Item(ingredient)
    reaching = callers(catalogue, [target])
    # Sites that no version singles out have the same versions in force, and are looked at together.
    audiences = None if sites is None else list(dict.fromkeys(catalogue.audience(site) for site in sites))
    for site, on in occasions(today, catalogue, sites=audiences, among=reaching):
        levels = levels_above(catalogue, target, reaching, site, on)
        for item, level in levels.items():
            version = catalogue.in_force(item.code, site, on) if item.is_recipe else None
            if version is not None:
                users.versions[version] = min(level, users.versions.get(version, level))
        for code, level in sold_at(catalogue, levels).items():
            users.menu_items[code] = min(level, users.menu_items.get(code, level))
        for key, level in _par_levels(catalogue, levels, site):
            if sites is None or key[0] in sites:
                users.pars[key] = min(level, users.pars.get(key, level))
    if sites is not None:
        order = {site: place for place, site in enumerate(sites)}
        users.pars = dict(sorted(users.pars.items(), key=lambda par: order[par[0][0]]))
    return users


def levels_above(catalogue: Catalogue, target: Item, reaching: set[Item], site: str | None, on: date) -> dict[Item, int]:
    """An item at level 0, and the recipes above it as in force at a place on a date, each at its lowest level.

    ``reaching`` are the ``callers`` of the item.
    """
    by_line: dict[Item, set[Item]] = defaultdict(set)
    for item in reaching:
        version = catalogue.in_force(item.code, site, on) if item.is_recipe else None
        for each in version.calls & reaching if version is not None else ():
            by_line[each].add(item)
    levels = {target: 0}
    level = [target]
    while level:
        level = list({caller for item in level for caller in by_line[item] if caller not in levels})
        levels.update(dict.fromkeys(level, max(levels.values()) + 1))
    return levels


def sold_at(catalogue: Catalogue, levels: Mapping[Item, int]) -> dict[str, int]:
    """The menu items that sell one of some recipes, by code, each one level above the lowest that it sells."""
    sells = {
        code: [levels[item] for item in (Item.recipe(each.recipe) for each in sold.components) if item in levels]
        for code, sold in sorted(catalogue.menu_items.items())
    }
    return {code: min(found) + 1 for code, found in sells.items() if found}


def _par_levels(catalogue: Catalogue, levels: dict[Item, int], place: str | None) -> Iterator[tuple[tuple[str, Par], int]]:
    """The pars at a place of forms of the ingredient and of the recipes above it."""
    for code, kitchen in sorted(catalogue.sites.items()):
        if place in (None, code) and (place == code or code not in catalogue.audiences):
            yield from (((code, par), levels[whole(par.item)] + 1) for par in kitchen.pars if whole(par.item) in levels)

"""Checks of additions: which allergens a change brings to what already uses something (A2).

Responsible for comparing two catalogues, everywhere and on every date from one on, and for the fault of
each allergen that nobody acknowledged. Refuses to know who acknowledges, and laws.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.users import below, callers, occasions, whole
from service.kitchen.safety.allergens import Allergens, Rollup

USERS = ("recipe {}", "menu item {}", "a par of site {}")
RECIPE, MENU_ITEM, PAR = range(3)


class User(NamedTuple):
    """What an allergen reaches: a recipe, a menu item, or a site by its par."""

    kind: int
    code: str

    def __str__(self) -> str:
        return USERS[self.kind].format(self.code)


@dataclass(slots=True)
class Addition:
    """One allergen that a change adds: the users that it reaches, each with the first date, and the changed items that bring it."""

    allergen: str
    users: dict[User, date] = field(default_factory=dict)
    sources: dict[Item, None] = field(default_factory=dict)
    certain: bool = False

    @property
    def detail(self) -> str:
        """Which allergen comes to whom, from when, as a sentence without its end."""
        how = "" if self.certain else "a possible trace of "
        return f"this adds {how}{self.allergen} to {', '.join(map(str, sorted(self.users)))}, from {min(self.users.values())} on"


def covered(allergen: str, names: Collection[str]) -> bool:
    """Whether an allergen is among some names: by its own name, or a species by the name that it is a kind of.

    >>> covered("fish:cod", {"fish"}), covered("fish", {"fish:cod"}), covered("fish:cod", {"fish:hake"})
    (True, False, False)
    """
    return allergen in names or allergen.partition(":")[0] in names


def gained(before: Allergens, after: Allergens) -> Allergens:
    """What is new: contained where it was at most possible, possible where it was neither."""
    return Allergens(
        frozenset(each for each in after.contains if not covered(each, before.contains)),
        frozenset(each for each in after.may_contain if not covered(each, before.contains | before.may_contain)),
    )


def acknowledgement_faults(additions: Iterable[Addition], acknowledged: Collection[str]) -> list[Fault]:
    """A fault for every allergen that is added without being acknowledged by name, or by the name of what it is a kind of (A2)."""
    return [
        Fault("/acknowledge", "acknowledge_needed", f'{each.detail}: write "{each.allergen}" in acknowledge if that is meant')
        for each in additions
        if not covered(each.allergen, acknowledged)
    ]


def additions(before: Catalogue, after: Catalogue, today: date) -> list[Addition]:
    """The allergens that users gain through what they used before the change and still use, by name (A2).

    A user is a recipe, a menu item or a par, at every level up. What never was in force at a place adds nothing there: a
    recipe's first version. A user that changes itself gains nothing by its own new lines; whoever uses it does.
    """
    changed = changed_items(before, after)
    # Of a first catalogue nobody has used anything yet.
    if not changed or not (before.versions or before.menu_items or before.sites):
        return []
    affected = callers(before, changed) | callers(after, changed)
    added: dict[str, Addition] = {}
    concerned = below(before, affected) | below(after, affected)
    for site, on in occasions(today, before, after, among=concerned):
        comparison = Comparison(before, after, site, on)
        if not comparison.differs(changed):
            continue
        fresh: set[str] = set()
        for user, gain in comparison.user_gains(affected):
            for name in gain.names:
                addition = added.setdefault(name, Addition(name))
                addition.users[user] = min(on, addition.users.get(user, on))
                addition.certain |= name in gain.contains
                fresh.add(name)
        for item in changed if fresh else ():
            for name in fresh & comparison.own_gain(item).names:
                added[name].sources[item] = None
    return [added[name] for name in sorted(added)]


def changed_items(before: Catalogue, after: Catalogue) -> list[Item]:
    """Ingredients whose own allergens differ between two catalogues, and recipes whose versions do."""
    items = [
        Item(code)
        for code, each in sorted(after.ingredients.items())
        if (known := before.ingredients.get(code)) is not None and (known.contains, known.may_contain) != (each.contains, each.may_contain)
    ]
    recipes = (code for code, versions in sorted(after.versions.items()) if versions != before.versions.get(code, ()))
    return [*items, *map(Item.recipe, recipes)]


class Comparison:
    """Two catalogues at one place on one date."""

    def __init__(self, before: Catalogue, after: Catalogue, site: str | None, on: date) -> None:
        self.before = before
        self.after = after
        self.site = site
        self.on = on
        self.old = Rollup(before, site)
        self.new = Rollup(after, site)
        # Asked once for every line that calls an item, at every place and date.
        self._held: dict[Item, Allergens | None] = {}
        self._holds: dict[Item, Allergens] = {}

    def differs(self, changed: Iterable[Item]) -> bool:
        """Whether any of the changed items is another here now; many a site has a version of its own."""
        return any(
            not item.is_recipe or self.before.in_force(item.code, self.site, self.on) != self.after.in_force(item.code, self.site, self.on)
            for item in changed
        )

    def standing(self, recipe: str) -> Version | None:
        """The version in force before the change; where none is any more, the last one that was."""
        passed = [version for start, version in self.before.timeline(recipe, self.site) if start <= self.on and version is not None]
        return passed[-1] if passed else None

    def held(self, item: Item) -> Allergens | None:
        """What an item held before the change; None of what there was not yet."""
        if item not in self._held:
            self._held[item] = self._of_before(item)
        return self._held[item]

    def _of_before(self, item: Item) -> Allergens | None:
        if not item.is_recipe:
            return self.old.of_item(item, self.on) if item.code in self.before.ingredients else None
        version = self.standing(item.code)
        return None if version is None else self.old.of_version(version, self.on)

    def holds(self, item: Item) -> Allergens:
        """What an item holds after the change."""
        if item not in self._holds:
            self._holds[item] = self.new.of_item(item, self.on)
        return self._holds[item]

    def own_gain(self, item: Item) -> Allergens:
        """What an item holds after the change that it did not hold before."""
        return gained(self.held(item) or Allergens(), self.holds(item))

    def user_gains(self, affected: set[Item]) -> Iterator[tuple[User, Allergens]]:
        """What each user gains through what it used before and still uses."""
        for item in affected:
            version, newer = self.standing(item.code), self.after.in_force(item.code, self.site, self.on)
            if item.is_recipe and version is not None and newer is not None:
                kept = version.calls & newer.calls & affected
                yield User(RECIPE, item.code), gained(self.old.of_version(version, self.on), self._now(kept))
        for code, sold in self.before.menu_items.items():
            used = {Item.recipe(each.recipe) for each in sold.components}
            # What is sold no more gains nothing.
            if used.isdisjoint(affected) or (sold.sold_until or date.max) < self.on:
                continue
            still = {Item.recipe(each.recipe) for each in self.after.menu_items[code].components}
            yield User(MENU_ITEM, code), self._gain(used, used & still & affected)
        for code, kitchen in self.before.sites.items():
            if self.site == (code if code in self.after.audiences else None):
                still = {whole(par.item) for par in self.after.sites[code].pars}
                for item in {whole(par.item) for par in kitchen.pars} & still & affected:
                    yield User(PAR, code), self._gain({item}, {item})

    def _gain(self, used: set[Item], kept: set[Item]) -> Allergens:
        if not kept:
            return Allergens()
        return gained(together(self.held(item) for item in used), self._now(kept))

    def _now(self, items: set[Item]) -> Allergens:
        """What items hold after the change, of those that there were before."""
        return together(self.holds(item) for item in items if self.held(item) is not None)


def together(parts: Iterable[Allergens | None]) -> Allergens:
    """What some things hold together; most of them hold the same."""
    whole = Allergens()
    for held in set(parts):
        whole = whole.union(held or Allergens())
    return whole

"""Foresight: what a recipe version would change for those who use it, told before it is published.

Responsible for allergens that come and go at every level up, hands-on time by station, and costs before and after.
Refuses to know faults, forecasts, and how any of it is written.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Generic, NamedTuple, TypeVar

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.lines import LineAmount, line_amounts, looking_up
from service.kitchen.book.recipe import Version
from service.kitchen.book.users import below, callers, levels_above, occasions, sold_at
from service.kitchen.checks.additions import Comparison, gained, together
from service.kitchen.costs.cost import Cost, MenuItemCost, menu_item_cost, recipe_cost
from service.kitchen.costs.costing import Costings
from service.kitchen.safety.allergens import Allergens

Subject = TypeVar("Subject")


class Holder(NamedTuple):
    """A recipe or a menu item that the published one reaches, by level; the recipe itself is at level 0."""

    level: int
    is_menu_item: bool
    code: str


class Turnover(NamedTuple):
    """Allergens that something gains and loses, at any place and on any date."""

    added: Allergens = Allergens()
    removed: Allergens = Allergens()


@dataclass(frozen=True, slots=True)
class Compared(Generic[Subject]):
    """Something before and after a publication; None where there is none."""

    before: Subject | None
    after: Subject | None


@dataclass(frozen=True)
class Foresight:
    """Two catalogues, the later one with a version more; ``older`` is the version that it is compared with."""

    before: Catalogue
    after: Catalogue
    version: Version
    older: Version | None

    @cached_property
    def reaching(self) -> set[Item]:
        """The recipe, and every recipe that reaches it by some version."""
        return callers(self.after, [self.version.item])

    def levels(self, site: str | None, on: date) -> dict[Item, int]:
        """The recipe at level 0 and every recipe above it at a place on a date, while the version is in force there; else nothing."""
        if self.after.in_force(self.version.recipe, site, on) is not self.version:
            return {}
        return levels_above(self.after, self.version.item, self.reaching, site, on)

    def allergens(self, first: date) -> dict[Holder, Turnover]:
        """What comes and goes from a date on wherever the version is in force (A1): the recipe, all above it, and menu items, by level.

        Where a recipe or component was not in force before, all it holds is added.
        """
        turnovers: dict[tuple[bool, str], Turnover] = {}
        lowest: dict[tuple[bool, str], int] = {}
        concerned = below(self.before, self.reaching) | below(self.after, self.reaching)
        for site, on in occasions(first, self.before, self.after, among=concerned):
            levels = self.levels(site, on)
            comparison = Comparison(self.before, self.after, site, on)
            for holder, parts in self._holders(levels):
                key = (holder.is_menu_item, holder.code)
                lowest[key] = min(holder.level, lowest.get(key, holder.level))
                turnovers[key] = _joined(turnovers.get(key, Turnover()), comparison, parts)
        told = {Holder(lowest[key], *key): each for key, each in turnovers.items() if each != Turnover()}
        return {holder: told[holder] for holder in sorted(told)}

    def _holders(self, levels: dict[Item, int]) -> Iterator[tuple[Holder, list[Item]]]:
        """Recipes and menu items at some levels, each with the recipes that it is made of."""
        for item, level in levels.items():
            yield Holder(level, is_menu_item=False, code=item.code), [item]
        for code, level in sold_at(self.after, levels).items():
            parts = [Item.recipe(each.recipe) for each in self.after.menu_items[code].components]
            yield Holder(level, is_menu_item=True, code=code), parts

    def hands_on(self, site: str | None, on: date) -> dict[str, Compared[timedelta]]:
        """Hands-on time of an authored batch by station as authored: the steps, and making ready the forms that the lines name."""
        before = {} if self.older is None else hands_on(self.before, self.older, site, on)
        after = hands_on(self.after, self.version, site, on)
        return {station: Compared(before.get(station), after.get(station)) for station in dict.fromkeys([*before, *after])}

    def recipe_costs(self, site: str | None, on: date) -> dict[str, Compared[Cost]]:
        """What the recipe and every recipe above it cost at a place on a date, by level and code (C2)."""
        old, new = Costings(self.before, site, on), Costings(self.after, site, on)
        told = {}
        for item, _ in sorted(self.levels(site, on).items(), key=lambda each: (each[1], each[0].code)):
            own = item == self.version.item
            older = self.older if own else self.before.in_force(item.code, site, on)
            newer = self.version if own else self.after.in_force(item.code, site, on)
            told[item.code] = Compared(
                None if older is None else recipe_cost(old, older),
                None if newer is None else recipe_cost(new, newer),
            )
        return told

    def menu_item_costs(self, site: str | None, on: date) -> dict[str, Compared[MenuItemCost]]:
        """What every menu item that sells the recipe, or one above it, costs at a place on a date, by level and code (C2)."""
        old, new = Costings(self.before, site, on), Costings(self.after, site, on)
        sold = sold_at(self.after, self.levels(site, on))
        return {
            code: Compared(menu_item_cost(old, code), menu_item_cost(new, code))
            for code in sorted(sold, key=lambda each: (sold[each], each))
        }

    def served(self, site: str, on: date) -> frozenset[str]:
        """The menu items that the version reaches at a site on a date."""
        audience = self.after.audience(site)
        since = bisect_right(self._turns(audience), on)
        if (audience, since) not in self._served:
            self._served[audience, since] = frozenset(sold_at(self.after, self.levels(audience, on)))
        return self._served[audience, since]

    def _turns(self, audience: str | None) -> list[date]:
        """The dates on which another version of anything that reaches the recipe comes into force somewhere."""
        if audience not in self._turning:
            timelines = (self.after.timeline(item.code, audience) for item in self.reaching)
            self._turning[audience] = sorted({turn for timeline in timelines for turn, _ in timeline})
        return self._turning[audience]

    @cached_property
    def _served(self) -> dict[tuple[str | None, int], frozenset[str]]:
        return {}

    @cached_property
    def _turning(self) -> dict[str | None, list[date]]:
        return {}


def _joined(known: Turnover, comparison: Comparison, parts: list[Item]) -> Turnover:
    """What was known to come and go, and what comes and goes at one more place and date."""
    old, new = together(map(comparison.held, parts)), together(map(comparison.holds, parts))
    return Turnover(known.added.union(gained(old, new)), known.removed.union(gained(new, old)))


def hands_on(catalogue: Catalogue, version: Version, site: str | None, on: date) -> dict[str, timedelta]:
    """Hands-on time of an authored batch by station: the active time of the steps, set_up + time × EP ÷ per of the lines' forms.

    A form whose amount cannot be told is left out; sub-recipes have hands-on time of their own.
    """
    spent: dict[str, timedelta] = defaultdict(timedelta)
    for step in version.steps:
        spent[step.station] += step.active
    ready: dict[Item, float] = defaultdict(float)
    for amount in line_amounts(version, looking_up(catalogue, site, on)):
        if isinstance(amount, LineAmount):
            ready[amount.line.item] += amount.in_batch(1.0)
    for item, quantity in ready.items():
        form = None if item.is_recipe else catalogue.form(item)
        if form is not None and form.active is not None:
            spent[form.station] += catalogue.ingredients[item.code].hands_on(form, quantity)
    return dict(spent)

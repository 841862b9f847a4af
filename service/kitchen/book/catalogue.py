"""The catalogue: everything published, as one immutable value, and what of it is in force when and where.

Responsible for looking things up by code, date and site (domain P12). Refuses to know stock,
forecasts and how the catalogue is stored.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

from service.kitchen.book.capacity import Equipment
from service.kitchen.book.ingredient import Form, Ingredient
from service.kitchen.book.item import Item, ItemWithTitle
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import MenuItem, Site, Station
from service.kitchen.measures.equivalents import Conversions

Compiled = TypeVar("Compiled")
Timeline = tuple[tuple[date, Version | None], ...]


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """Stations, equipment, ingredients, recipe versions, menu items and sites of a group; ``drafted`` names recipes that have a draft."""

    stations: Mapping[str, Station] = field(default_factory=dict)
    equipment: Mapping[str, Equipment] = field(default_factory=dict)
    ingredients: Mapping[str, Ingredient] = field(default_factory=dict)
    versions: Mapping[str, tuple[Version, ...]] = field(default_factory=dict)
    menu_items: Mapping[str, MenuItem] = field(default_factory=dict)
    sites: Mapping[str, Site] = field(default_factory=dict)
    drafted: frozenset[str] = frozenset()
    revision: int = 0
    _timelines: dict[tuple[str, str | None], Timeline] = field(default_factory=dict, init=False, repr=False, compare=False)
    _compiled: dict[Hashable, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    def once(self, key: Hashable, compute: Callable[[], Compiled]) -> Compiled:
        """What follows from the catalogue alone, computed when it is first asked for."""
        if key not in self._compiled:
            self._compiled[key] = compute()
        compiled: Compiled = self._compiled[key]
        return compiled

    def has_recipe(self, code: str) -> bool:
        """Whether a recipe of that code exists, published or drafted."""
        return code in self.versions or code in self.drafted

    def published(self, code: str) -> bool:
        """Whether a recipe has at least one version."""
        return bool(self.versions.get(code))

    @cached_property
    def till_codes(self) -> dict[tuple[str, str], str]:
        """The menu item of each (source, till code)."""
        return {(code.source, code.till_code): item.code for item in self.menu_items.values() for code in item.codes}

    def sold_as(self, source: str, menu_item: str | None, till_code: str | None) -> str | None:
        """The menu item that a key of a source means, by its own code or by a till code; None where nothing has it."""
        code = menu_item or self.till_codes.get((source, till_code or ""))
        return code if code in self.menu_items else None

    def timeline(self, recipe: str, site: str | None) -> Timeline:
        """The dates from which another version of a recipe is in force at a site (None: a site of no pilot), earliest first (P12).

        Of two in force the later ``from`` wins, then the higher number; a withdrawn version no longer counts.
        """
        key = (recipe, self.audience(site))
        known = self._timelines.get(key)
        if known is None:
            known = self._timelines[key] = _timeline([each for each in self.versions.get(recipe, ()) if each.applies_to(site)])
        return known

    def in_force(self, recipe: str, site: str | None, on: date) -> Version | None:
        """The version of a recipe in force at a site on a date (P12); None where none is."""
        current: Version | None = None
        for starts_on, version in self.timeline(recipe, site):
            if starts_on > on:
                break
            current = version
        return current

    def in_force_between(self, recipe: str, site: str | None, first: date, last: date | None = None) -> list[Version]:
        """Every version in force at a site on some date of a range (to the end of time without ``last``), earliest first."""
        timeline = self.timeline(recipe, site)
        if not timeline:
            return []
        ends = [start for start, _ in timeline[1:]] + [date.max]
        return [
            version
            for (start, version), end in zip(timeline, ends, strict=True)
            if version is not None and end > first and (last is None or start <= last)
        ]

    @cached_property
    def _turns(self) -> list[date]:
        """Every date on which any version begins or is withdrawn, behind the first of all dates."""
        versions = [version for each in self.versions.values() for version in each]
        return sorted({date.min, *(each.starts_on for each in versions), *(each.withdrawn_from or date.min for each in versions)})

    def last_turn(self, on: date) -> date:
        """The last date up to one on which a version begins or is withdrawn: what is in force from either on is the same (P12).

        What is computed ``once`` for a date on goes by it: kept for every date that somebody plans from, it would fill the memory.
        """
        return self._turns[bisect_right(self._turns, on) - 1]

    def form(self, item: Item) -> Form | None:
        """The form that an item names, if there is one."""
        ingredient = self.ingredients.get(item.code)
        return ingredient.form(item.form) if ingredient and item.form else None

    def conversions(self, item: Item, site: str | None = None, on: date | None = None) -> Conversions | None:
        """How quantities of an item cross kinds; for a recipe by the version in force at the site on the date.

        None where the item does not exist or no version is in force. A recipe without a date: its newest version.
        """
        if not item.is_recipe:
            ingredient = self.ingredients.get(item.code)
            if ingredient is None or (item.form and ingredient.form(item.form) is None):
                return None
            return ingredient.conversions(item.form)
        version = self.in_force(item.code, site, on) if on else next(iter(reversed(self.versions.get(item.code, ()))), None)
        return version.conversions if version else None

    def title(self, item: Item, site: str | None = None) -> str:
        """What a cook calls an item: the newest title of a recipe (that applies to a site), the ingredient's name with its form's."""
        if item.is_recipe:
            versions = [each for each in self.versions.get(item.code, ()) if site is None or each.applies_to(site)]
            return versions[-1].title if versions else item.code
        ingredient = self.ingredients.get(item.code)
        if ingredient is None:
            return item.label
        form = self.form(item)
        return f"{ingredient.name}, {form.name}" if form else ingredient.name

    def station_name(self, code: str) -> str:
        """What a cook calls a station; one that is gone by its code."""
        station = self.stations.get(code)
        return station.name if station else code

    def equipment_name(self, code: str) -> str:
        """What a cook calls an equipment; one that is gone by its code."""
        equipment = self.equipment.get(code)
        return equipment.name if equipment else code

    def titled(self, item: Item, site: str | None = None) -> ItemWithTitle:
        """An item with what a cook calls it, as the interface writes it."""
        return {**item.reference(), "title": self.title(item, site)}

    @cached_property
    def audiences(self) -> tuple[str | None, ...]:
        """The sites that any version is limited to, and None for every site that no version singles out."""
        named = {site for versions in self.versions.values() for each in versions for site in each.sites or ()}
        return (None, *sorted(named))

    def audience(self, site: str | None) -> str | None:
        """The site, if any version singles it out, else None: at all other sites the same versions are in force."""
        return site if site in self.audiences else None


def _timeline(versions: Iterable[Version]) -> Timeline:
    """The versions in force over time, by comparing all of them at each date on which one begins or is withdrawn."""
    candidates = list(versions)
    turns: dict[date, None] = defaultdict(None)
    for each in candidates:
        turns[each.starts_on] = None
        if each.withdrawn_from is not None:
            turns[each.withdrawn_from] = None
    timeline: list[tuple[date, Version | None]] = []
    for turn in sorted(turns):
        live = [each for each in candidates if each.starts_on <= turn and (each.withdrawn_from is None or turn < each.withdrawn_from)]
        best = max(live, key=lambda each: (each.starts_on, each.number), default=None)
        if not timeline or timeline[-1][1] is not best:
            timeline.append((turn, best))
    return tuple(timeline)

"""Allergens: what a task or a recipe contains and may contain, rolled up from the ingredients.

Responsible for domain A1 over lines, forms and sub-recipes, and for the union with older lots (P12).
Refuses to know thresholds, laws and labels.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple, TypedDict

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from service.kitchen.planning.stock import Lot, PastRun


class AllergenNames(TypedDict):
    """Allergens as the interface writes them."""

    contains: list[str]
    may_contain: list[str]


class Allergens(NamedTuple):
    """Allergens by name, with their species where one is known (``fish:cod``)."""

    contains: frozenset[str] = frozenset()
    may_contain: frozenset[str] = frozenset()

    def union(self, other: "Allergens") -> "Allergens":
        """What both together contain and may contain; what is contained is no longer only possible."""
        contains = self.contains | other.contains
        return Allergens(contains, (self.may_contain | other.may_contain) - contains)

    @property
    def names(self) -> frozenset[str]:
        """All of them, contained or only possible."""
        return self.contains | self.may_contain

    def document(self) -> AllergenNames:
        """As the interface writes them."""
        return {"contains": sorted(self.contains), "may_contain": sorted(self.may_contain)}


class Rollup:
    """Allergens of anything at one site, of the runs and lots of a plan too, remembered while one answer is made."""

    def __init__(self, catalogue: Catalogue, site: str | None, plan: Plan | None = None) -> None:
        self.catalogue = catalogue
        self.site = site
        self.sources: Mapping[str, Sequence[Lot | Run]] = plan.sources() if plan else {}
        self.runs = {run.id: run for run in plan.runs} if plan else {}
        self._in_force: dict[tuple[str, date], Version | None] = {}
        self._versions: dict[tuple[str, int, date], Allergens] = {}
        self._runs: dict[Run, Allergens] = {}

    def of_item(self, item: Item, on: date) -> Allergens:
        """What an item holds by what is in force on a date (A1)."""
        if item.is_recipe:
            key = (item.code, on)
            if key not in self._in_force:
                self._in_force[key] = self.catalogue.in_force(item.code, self.site, on)
            version = self._in_force[key]
            return self.of_version(version, on) if version else Allergens()
        ingredient = self.catalogue.ingredients.get(item.code)
        return Allergens(ingredient.contains, ingredient.may_contain - ingredient.contains) if ingredient else Allergens()

    def of_version(self, version: Version, on: date) -> Allergens:
        """What a version holds, its sub-recipes as in force on a date (A1)."""
        key = (version.recipe, version.number, on)
        if key not in self._versions:
            # A loop between versions of the past would never end: what is being rolled up already counts as known.
            self._versions[key] = Allergens()
            whole = Allergens()
            # Most of what a recipe calls holds the same as something else that it calls.
            for held in {self.of_item(item, on) for item in version.calls}:
                whole = whole.union(held)
            self._versions[key] = whole
        return self._versions[key]

    def of_run(self, run: Run) -> Allergens:
        """What a run holds: its version, and whatever the lots and runs that it draws from hold (P12)."""
        if run.allergens is not None:
            return Allergens(*run.allergens)
        if run not in self._runs:
            held = self.of_version(run.version, run.on) if run.version else self.of_item(run.item, run.on)
            for source in self.sources.get(run.id, ()):
                held = held.union(self.of_lot(source) if isinstance(source, Lot) else self.of_run(source))
            self._runs[run] = held
        return self._runs[run]

    def of_lot(self, lot: Lot) -> Allergens:
        """What a lot holds by the version that made it (P12)."""
        if lot.item.is_recipe and isinstance(lot.source, PastRun):
            return Allergens(*lot.source.allergens)
        if lot.item.is_recipe and lot.source is not None:
            return self.of_run(self.runs[lot.source.id])
        if lot.item.is_recipe and lot.version is not None and lot.made is not None:
            version = next((each for each in self.catalogue.versions.get(lot.item.code, ()) if each.number == lot.version), None)
            return self.of_version(version, lot.made) if version else Allergens()
        return self.of_item(lot.item, lot.made or date.max)

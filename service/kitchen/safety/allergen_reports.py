"""Allergen reports: one vocabulary told as two laws name it, and which ingredient brings what.

Responsible for domain A1 as a reader of labels asks for it: the nine major food allergens of the United
States and the fourteen of the European Union, species kept. Refuses to know lots and thresholds: what an
ingredient's record names is told, however little of it there is.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.json import Json
from service.kitchen.book.recipe import Version
from service.kitchen.safety.allergens import Allergens, Rollup
from service.kitchen.safety.cautions import cautions
from service.limits import CEREALS, NUTS


class Group(NamedTuple):
    """One entry of a law's list, and the names of the vocabulary that come under it."""

    code: str
    title: str
    names: frozenset[str]


def group(code: str, title: str, names: Iterable[str] = ()) -> Group:
    """An entry of a law's list; without names it is the vocabulary's own of that code."""
    return Group(code, title, frozenset(names) or frozenset({code}))


# FALCPA 2004 (eight) and the FASTER Act of 2021 (sesame). The law names wheat; that the agency's guidance reads it as every
# species of Triticum, spelt among them, is from memory. Mollusks are no crustacean shellfish, and no other cereal is wheat.
US_NINE = (
    group("milk", "Milk"),
    group("egg", "Eggs"),
    group("fish", "Fish"),
    group("crustacean", "Crustacean shellfish"),
    group("tree_nut", "Tree nuts", NUTS),
    group("peanut", "Peanuts"),
    group("wheat", "Wheat", ("wheat", "spelt")),
    group("soy", "Soybeans"),
    group("sesame", "Sesame"),
)

# Regulation (EU) 1169/2011, Annex II, in its order. Its nuts are a closed list, which pine nuts are not on.
EU_FOURTEEN = (
    group("gluten_cereal", "Cereals containing gluten", CEREALS),
    group("crustacean", "Crustaceans"),
    group("egg", "Eggs"),
    group("fish", "Fish"),
    group("peanut", "Peanuts"),
    group("soy", "Soybeans"),
    group("milk", "Milk"),
    group("nut", "Nuts", (name for name in NUTS if name != "pine_nut")),
    group("celery", "Celery"),
    group("mustard", "Mustard"),
    group("sesame", "Sesame seeds"),
    group("sulphite", "Sulphur dioxide and sulphites, above 10 mg/kg or 10 mg/L"),
    group("lupin", "Lupin"),
    group("mollusc", "Molluscs"),
)


def told_by(law: Iterable[Group], allergens: Allergens) -> list[Json]:
    """What of some allergens a law's list names: each of its entries that is there, with the names that were recorded (A1).

    >>> told_by(US_NINE, Allergens(frozenset({"fish:cod", "mollusc"}), frozenset({"almond"})))[0]
    {'allergen': 'fish', 'title': 'Fish', 'contains': ['fish:cod'], 'may_contain': []}
    """
    rows = [
        {
            "allergen": each.code,
            "title": each.title,
            "contains": sorted(name for name in allergens.contains if kind(name) in each.names),
            "may_contain": sorted(name for name in allergens.may_contain if kind(name) in each.names),
        }
        for each in law
    ]
    return [row for row in rows if row["contains"] or row["may_contain"]]


def kind(name: str) -> str:
    """The allergen that a species belongs to.

    >>> kind("fish:cod"), kind("milk")
    ('fish', 'milk')
    """
    return name.partition(":")[0]


@dataclass(slots=True, kw_only=True)
class Sources:
    """Where the allergens of something come from: ingredients with the recipes whose lines name them, and what could not be read."""

    catalogue: Catalogue
    site: str | None
    on: date
    ingredients: dict[str, dict[str, None]] = field(default_factory=dict)
    seen: set[Version] = field(default_factory=set)
    missing: dict[str, None] = field(default_factory=dict)

    def follow(self, version: Version) -> None:
        """Add the ingredients of a version, through all its levels."""
        if version in self.seen:
            return
        self.seen.add(version)
        for line in version.lines:
            if not line.item.is_recipe:
                self.ingredients.setdefault(line.item.code, {})[version.recipe] = None
            else:
                self.follow_recipe(line.item.code)

    def follow_recipe(self, recipe: str) -> Version | None:
        """Add the version of a recipe in force; where none is, its allergens are unknown."""
        version = self.catalogue.in_force(recipe, self.site, self.on)
        if version is None:
            self.missing[recipe] = None
        else:
            self.follow(version)
        return version

    def document(self) -> list[Json]:
        """The ingredients that bring an allergen, by code."""
        known = [self.catalogue.ingredients[code] for code in sorted(self.ingredients) if code in self.catalogue.ingredients]
        return [
            {
                "item": {"ingredient": each.code, "title": each.name},
                **Allergens().union(Allergens(each.contains, each.may_contain)).document(),
                "recipes": sorted(self.ingredients[each.code]),
            }
            for each in known
            if each.contains or each.may_contain
        ]

    def warnings(self) -> list[Json]:
        """A warning for each recipe whose allergens are unknown: an empty list is no promise."""
        titles = [self.catalogue.title(Item.recipe(code), self.site) for code in self.missing]
        detail = "{} has no version in force on {}: what it contains is not known"
        return [{"code": "no_version", "detail": detail.format(title, self.on)} for title in titles]


def recipe_report(catalogue: Catalogue, version: Version, site: str | None, on: date) -> Json:
    """The allergens of a version with its sub-recipes as in force at a site on a date (A1, H3)."""
    sources = Sources(catalogue=catalogue, site=site, on=on)
    sources.follow(version)
    allergens = Rollup(catalogue, site).of_version(version, on)
    return {
        "recipe": version.recipe,
        "title": version.title,
        "version": version.number,
        "site": site,
        "on": on.isoformat(),
        **tell(allergens, sources),
    }


def menu_item_report(catalogue: Catalogue, code: str, site: str | None, on: date) -> Json:
    """The allergens of all that a guest may be served with a menu item, at a site on a date (A1, H3).

    A component that only some guests take counts as any other: who takes it is not known beforehand.
    """
    item, rollup = catalogue.menu_items[code], Rollup(catalogue, site)
    sources, allergens = Sources(catalogue=catalogue, site=site, on=on), Allergens()
    components: list[Json] = []
    for each in item.components:
        version = sources.follow_recipe(each.recipe)
        held = rollup.of_version(version, on) if version else Allergens()
        allergens = allergens.union(held)
        components.append(
            {
                "recipe": each.recipe,
                "title": catalogue.title(Item.recipe(each.recipe), site),
                "version": version.number if version else None,
                **held.document(),
            }
        )
    return {
        "menu_item": code,
        "name": item.name,
        "site": site,
        "on": on.isoformat(),
        **tell(allergens, sources),
        "components": components,
    }


def tell(allergens: Allergens, sources: Sources) -> Json:
    """What a report tells of allergens; that none is recorded is a statement too, so it is never without its caution (H3)."""
    return {
        **allergens.document(),
        "us": told_by(US_NINE, allergens),
        "eu": told_by(EU_FOURTEEN, allergens),
        "outside": outside(allergens.names),
        "sources": sources.document(),
        "warnings": sources.warnings(),
        "cautions": cautions(allergens=True, guarded=False),
    }


def outside(names: Collection[str]) -> list[str]:
    """The names that neither law lists, such as coconut and chestnut.

    >>> outside({"coconut", "pine_nut", "celery"})
    ['coconut']
    """
    listed = {name for each in (*US_NINE, *EU_FOURTEEN) for name in each.names}
    return sorted(name for name in names if kind(name) not in listed)

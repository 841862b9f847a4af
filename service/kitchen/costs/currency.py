"""Currency: which currency the cost of something is told in.

Responsible for domain C2's one currency: that of the first pack of the site's own among the ingredients, in order of
lines, else of the first pack for all sites. Refuses to know what anything costs.
"""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.item import Item
from service.kitchen.book.packs import packs_in_force
from service.kitchen.book.recipe import Version
from service.kitchen.book.users import whole


class Bought(NamedTuple):
    """The currency of the first pack of a site's own, and of the first of any, in which something is bought."""

    own: str | None = None
    any: str | None = None

    def then(self, other: "Bought") -> "Bought":
        """The first currencies of this, then of something else."""
        return Bought(self.own or other.own, self.any or other.any)


class Currencies:
    """The currencies of one site and date; of what many recipes share each is found once."""

    def __init__(self, catalogue: Catalogue, site: str | None, on: date) -> None:
        self.catalogue = catalogue
        self.site = site
        self.on = on
        self._known: dict[Item, Bought] = {}
        self._open: set[Item] = set()
        self._looped = False

    def of(self, versions: Iterable[Version]) -> str | None:
        """The currency of the cost of some versions; None where nothing of them has a price."""
        bought = Bought()
        for version in versions:
            bought = bought.then(self._of_version(version))
        if self._looped:
            # What was found inside a loop lacks what stood open then.
            self._known.clear()
            self._looped = False
        return bought.own or bought.any

    def _of_version(self, version: Version) -> Bought:
        self._open.add(version.item)
        bought = Bought()
        for line in version.lines:
            bought = bought.then(self._of_item(whole(line.item)))
        self._open.discard(version.item)
        return bought

    def _of_item(self, item: Item) -> Bought:
        if item in self._open:
            self._looped = True
            return Bought()
        if item not in self._known:
            version = self.catalogue.in_force(item.code, self.site, self.on) if item.is_recipe else None
            self._known[item] = self._of_ingredient(item) if version is None else self._of_version(version)
        return self._known[item]

    def _of_ingredient(self, item: Item) -> Bought:
        """The currencies of an ingredient's packs, else of its value; a recipe of which nothing is in force has none."""
        ingredient: Ingredient | None = None if item.is_recipe else self.catalogue.ingredients.get(item.code)
        if ingredient is None:
            return Bought()
        packs = packs_in_force(ingredient.packs, self.site, self.on)
        bought = Bought(any=ingredient.value.currency if not packs and ingredient.value is not None else None)
        for pack in packs:
            if pack.price is not None:
                bought = bought.then(Bought(pack.price.currency if pack.site is not None else None, pack.price.currency))
        return bought

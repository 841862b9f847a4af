"""Costing: what one unit of an ingredient, a form or a recipe costs at a site on a date.

Responsible for domain C1, and for C2 through all levels. Amounts of money are exact fractions until they become
``Money``. A price that is missing is named, never taken as nothing. Refuses to know which sums are told.

How it decides: any other currency than that of the cost counts as a missing price. Of several packs in force the
cheapest per unit counts. What has no pack costs its ``value``, which is what its giver was credited with. The forms of
a cut share the cost of the pieces by EP: each unit of EP costs the same.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Final

from service.errors import KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Form, Ingredient
from service.kitchen.book.item import Item
from service.kitchen.book.lines import authored, conversions_of, looking_up, trimmed_off
from service.kitchen.book.packs import OWN_ALONE, Pack, packs_in_force
from service.kitchen.book.recipe import Line, Version
from service.kitchen.book.site import Component
from service.kitchen.costs.currency import Currencies
from service.kitchen.measures.money import Money
from service.kitchen.measures.units import PORTION, Kind, Quantity

NOTHING: Final = Fraction(0)
# Beyond hundreds of digits a unit's cost goes by its first sixty decimals.
LONG: Final = 10**300
PRECISE: Final = 10**60
# A value is money for a kilo, a litre or a piece.
VALUED: Final[dict[Kind, int]] = {"mass": 1000, "volume": 1000, "count": 1}


@dataclass(frozen=True, slots=True)
class Missing:
    """A price that a cost lacks: of which item, and why."""

    item: Item
    detail: str


@dataclass(frozen=True, slots=True)
class Part:
    """A cost as far as it is known: None where nothing of it is, partial where prices are missing."""

    amount: Fraction | None
    missing: tuple[Missing, ...] = ()

    def times(self, number: Fraction) -> "Part":
        """The cost of so many."""
        return Part(None if self.amount is None else self.amount * number, self.missing)

    def shortened(self) -> "Part":
        """The cost in as many digits as arithmetic stays quick with: those of yields multiply from level to level."""
        if self.amount is None or self.amount.denominator < LONG:
            return self
        return Part(Fraction(round(self.amount * PRECISE), PRECISE), self.missing)

    def money(self, currency: str | None) -> Money | None:
        """The cost as money; None where nothing of it is known."""
        return None if self.amount is None or currency is None else Money.of(self.amount, currency)


def unit_price(ingredient: Ingredient, pack: Pack) -> Fraction | None:
    """What a pack charges for one g, mL or each of its ingredient (C1); None without a price.

    Raises KitchenError where the pack's measure does not convert.
    """
    if pack.price is None:
        return None
    return pack.price.exact / ingredient.conversions().to_stock(pack.quantity)


class Costing:
    """The unit costs of one site and date in one currency, each computed once."""

    def __init__(self, catalogue: Catalogue, site: str | None, on: date, currency: str | None) -> None:
        self.catalogue = catalogue
        self.site = site
        self.on = on
        self.currency = currency
        self._lookup = looking_up(catalogue, site, on)
        self._purchased: dict[str, Part] = {}
        self._made: dict[Version, Part] = {}
        self._lines: dict[Version, list[Part]] = {}
        self._units: dict[Version, Part] = {}
        self._open: set[str] = set()

    def purchased(self, code: str) -> Part:
        """What one g, mL or each of an ingredient costs as purchased: by its cheapest pack in force, else by its value (C1)."""
        if code not in self._purchased:
            self._purchased[code] = self._buy(code)
        return self._purchased[code]

    def ready(self, form: Form) -> Part:
        """What one g, mL or each of a form's EP costs: AP less what by-products are worth, ÷ trim yield (C1).

        The forms of a cut come out of the same pieces (Y7): the AP less the by-products of all of them, ÷ the sum of their
        trim yields, so that a unit of any of them costs the same.
        """
        ingredient = self.catalogue.ingredients[form.ingredient]
        forms = ingredient.cut_of(form)
        bought = self.purchased(ingredient.code)
        credits_ = [self._trimmed(ingredient, by_product, fraction) for each in forms for by_product, fraction in each.by_products]
        return _less(bought, credits_).times(1 / sum((each.trim_yield for each in forms), NOTHING))

    def made(self, code: str) -> Part:
        """What one g, mL or each of what a recipe makes costs, by the version in force; a loop is named, not followed."""
        item = Item.recipe(code)
        version = self.catalogue.in_force(code, self.site, self.on)
        if version is None:
            return self._unknown(item, f"{self._title(item)} has no version in force on {self.on}")
        if version not in self._units:
            unit = self.batch(version).times(1 / version.conversions.to_stock(version.makes)).shortened()
            # Inside of a loop it lacks what stands open: it is no cost to keep.
            if code in self._open:
                return unit
            self._units[version] = unit
        return self._units[version]

    def batch(self, version: Version) -> Part:
        """What an authored batch costs: its lines less what its by-products are worth (C2)."""
        if version.recipe in self._open:
            return self._unknown(version.item, f"{self._title(version.item)} needs itself")
        if version not in self._made:
            self._open.add(version.recipe)
            lines = total(self.lines(version))
            self._made[version] = _less(lines, [self.worth(item, quantity) for item, quantity in by_products(version)])
            self._open.remove(version.recipe)
        return self._made[version]

    def portion(self, version: Version) -> Part:
        """What one portion costs (C2); nothing is known of it where the version states no portion."""
        if version.portion is None:
            return Part(None)
        conversions = version.conversions
        try:
            portion = conversions.to_stock(Quantity(Fraction(1), PORTION))
        except KitchenError:
            return Part(None)
        return self.batch(version).times(portion / conversions.to_stock(version.makes))

    def lines(self, version: Version) -> list[Part]:
        """What each line of an authored batch costs."""
        if version not in self._lines:
            self._lines[version] = [self.line(version, line) for line in version.lines]
        return self._lines[version]

    def line(self, version: Version, line: Line) -> Part:
        """What a line of an authored batch costs."""
        try:
            amount = conversions_of(line.item, self._lookup).to_stock(authored(version, line, self._lookup))
        except KitchenError as error:
            return self._unknown(line.item, error.detail)
        return self._unit(line.item).times(amount)

    def component(self, component: Component) -> Part:
        """What a component of a menu item costs for each guest who orders it: its quantity × its uptake (C2)."""
        item = Item.recipe(component.recipe)
        try:
            amount = conversions_of(item, self._lookup).to_stock(component.quantity)
        except KitchenError as error:
            return self._unknown(item, error.detail)
        return self.made(component.recipe).times(amount * component.uptake)

    def worth(self, item: Item, quantity: Quantity) -> Part | None:
        """What so much of a by-product is credited with (C2); None where it states no value."""
        ingredient = self.catalogue.ingredients.get(item.code)
        if ingredient is None or ingredient.value is None:
            return None
        try:
            amount = ingredient.conversions().to_stock(quantity)
        except KitchenError as error:
            return self._unknown(item, error.detail)
        return self._in_currency(item, ingredient.value).times(amount / VALUED[ingredient.kind])

    def _trimmed(self, trimmed: Ingredient, by_product: str, fraction: Fraction) -> Part | None:
        """What trimming one g, mL or each of AP is credited with for a by-product (C1)."""
        ingredient = self.catalogue.ingredients.get(by_product)
        if ingredient is None or ingredient.value is None:
            return None
        item = Item(by_product)
        try:
            amount = trimmed_off(trimmed, fraction, ingredient.kind)
        except KitchenError as error:
            return self._unknown(item, error.detail)
        return self._in_currency(item, ingredient.value).times(amount / VALUED[ingredient.kind])

    def _unit(self, item: Item) -> Part:
        if item.is_recipe:
            return self.made(item.code)
        form = self.catalogue.form(item)
        return self.purchased(item.code) if form is None else self.ready(form)

    def _buy(self, code: str) -> Part:
        item, ingredient = Item(code), self.catalogue.ingredients[code]
        packs = packs_in_force(ingredient.packs, self.site, self.on)
        priced = [pack for pack in packs if pack.price is not None and pack.price.currency == self.currency]
        if priced:
            try:
                return Part(min(price for pack in priced if (price := unit_price(ingredient, pack)) is not None))
            except KitchenError as error:
                return self._unknown(item, error.detail)
        other = next((pack.price for pack in packs if pack.price is not None), None)
        if other is not None:
            return self._in_currency(item, other)
        # A value is for what nobody buys. Of what is bought a missing price is told, whatever else is known of it.
        if not packs and ingredient.value is not None:
            return self._in_currency(item, ingredient.value).times(Fraction(1, VALUED[ingredient.kind]))
        if ingredient.on_tap:
            return Part(NOTHING)
        where = "" if self.site is None else f" at {self.site}"
        own = f"; {OWN_ALONE}" if any(pack.site is not None for pack in packs) else ""
        return self._unknown(item, f"{ingredient.name} has no price in force{where} on {self.on}{own}")

    def _in_currency(self, item: Item, money: Money) -> Part:
        if money.currency == self.currency:
            return Part(money.exact)
        return self._unknown(item, f"{self._title(item)} is priced in {money.currency}, and this cost is in {self.currency}")

    def _title(self, item: Item) -> str:
        return self.catalogue.title(item)

    @staticmethod
    def _unknown(item: Item, detail: str) -> Part:
        return Part(None, (Missing(item, detail),))


def by_products(version: Version) -> list[tuple[Item, Quantity]]:
    """What an authored batch gives besides, as authored (Y3)."""
    return [(Item(code), quantity) for code, quantity in version.by_products]


def total(parts: Iterable[Part]) -> Part:
    """The sum of what is known of some costs; None where nothing is."""
    told = list(parts)
    known = [part.amount for part in told if part.amount is not None]
    missing = tuple(dict.fromkeys(each for part in told for each in part.missing))
    return Part(sum(known, NOTHING) if known else None, missing)


def _less(cost: Part, credited: Iterable[Part | None]) -> Part:
    """A cost less its credits, as far as both are known; without a known cost there is nothing to take from."""
    worth = total([part for part in credited if part is not None])
    missing = tuple(dict.fromkeys(cost.missing + worth.missing))
    return Part(None if cost.amount is None else cost.amount - (worth.amount or NOTHING), missing)


class Costings:
    """The costings of one site and date, one in each currency; whatever recipes share is costed once."""

    def __init__(self, catalogue: Catalogue, site: str | None, on: date) -> None:
        self.catalogue = catalogue
        self.site = site
        self.on = on
        self._currencies = Currencies(catalogue, site, on)
        self._known: dict[str | None, Costing] = {}

    def of(self, versions: Iterable[Version]) -> Costing:
        """The costing of some versions, in the currency that their ingredients are bought in."""
        currency = self._currencies.of(versions)
        if currency not in self._known:
            self._known[currency] = Costing(self.catalogue, self.site, self.on, currency)
        return self._known[currency]

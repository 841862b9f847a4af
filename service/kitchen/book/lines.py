"""Lines as numbers: what an authored batch of a version takes, in the kinds that planning and cooks use.

Responsible for converting the lines and by-products of a version by the versions of its sub-recipes in
force on a date (P12), baker's percentages included (S2). Refuses to know batches and time.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from service.errors import KitchenError, ServiceError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Line, Version, share_of_mass
from service.kitchen.measures.equivalents import Conversions
from service.kitchen.measures.units import CANONICAL, Kind, Quantity

Lookup = Callable[[Item], Conversions | None]


class NotInForce(KitchenError):
    """A line calls something of which no version is in force."""

    code = "unknown_reference"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAmount:
    """What an authored batch takes by one line: in the item's stock kind, and in the kind that the line was authored in."""

    line: Line
    stock: float
    stock_kind: Kind
    shown: float
    shown_kind: Kind

    def in_batch(self, factor: float) -> float:
        """The amount that a batch of that factor takes, in the stock kind (S2)."""
        return self.stock * self.line.scaling.multiple(factor)

    def shown_in_batch(self, factor: float) -> float:
        """The amount that a batch of that factor takes, in the kind that the line was authored in (S2)."""
        return self.shown * self.line.scaling.multiple(factor)


def looking_up(catalogue: Catalogue, site: str | None, on: date) -> Lookup:
    """Conversions of any item, a recipe's by its version in force at a site on a date."""
    return lambda item: catalogue.conversions(item, site, on)


def amounts_at(catalogue: Catalogue, version: Version, site: str | None, on: date) -> list[LineAmount | ServiceError]:
    """The amounts by what is in force at a site on a date, reckoned once for each catalogue."""
    return catalogue.once(("amounts", version, site, on), lambda: line_amounts(version, looking_up(catalogue, site, on)))


def line_amounts(version: Version, lookup: Lookup) -> list[LineAmount | ServiceError]:
    """The amounts of every line of a version; in place of a line that cannot be converted, the reason."""
    return [_attempt(version, line, lookup) for line in version.lines]


def _attempt(version: Version, line: Line, lookup: Lookup) -> LineAmount | ServiceError:
    try:
        return line_amount(version, line, lookup)
    except KitchenError as error:
        return error


def line_amount(version: Version, line: Line, lookup: Lookup) -> LineAmount:
    """The amount of one line (S2, U5); raises KitchenError where an equivalent or a version in force is missing."""
    conversions = conversions_of(line.item, lookup)
    quantity = authored(version, line, lookup)
    kind = conversions.kind_of(quantity.unit)
    shown = float(conversions.convert(quantity, kind))
    stock_kind = conversions.stock_kind
    stock = shown if kind == stock_kind else float(conversions.to_stock(quantity))
    return LineAmount(line=line, stock=stock, stock_kind=stock_kind, shown=shown, shown_kind=kind)


def authored(version: Version, line: Line, lookup: Lookup) -> Quantity:
    """What an authored batch takes by a line, exactly: a percentage as the mass that it is of its base lines (S2)."""
    if line.scaling.rule != "percent":
        return line.quantity
    bases = sum((mass_of(version.lines[number - 1], lookup) for number in line.scaling.of), Fraction(0))
    return Quantity(share_of_mass(line.quantity.amount, bases), "g")


def conversions_of(item: Item, lookup: Lookup) -> Conversions:
    """How quantities of an item cross kinds; NotInForce where it does not exist."""
    conversions = lookup(item)
    if conversions is None:
        raise NotInForce(f"{item.label} has no version in force" if item.is_recipe else f"{item.label} is not in the catalogue")
    return conversions


def mass_of(line: Line, lookup: Lookup) -> Fraction:
    """The mass of a line as authored, a form's EP, in grams (S2, Y5)."""
    return conversions_of(line.item, lookup).convert(line.quantity, "mass")


def by_product_amounts(catalogue: Catalogue, version: Version) -> list[tuple[Item, float]]:
    """What an authored batch gives besides, each in its own stock kind (Y3)."""
    given: list[tuple[Item, float]] = []
    for code, quantity in version.by_products:
        ingredient = catalogue.ingredients[code]
        given.append((Item(code), float(ingredient.conversions().to_stock(quantity))))
    return given


def trimmings(catalogue: Catalogue, ingredient_code: str, fraction: Fraction, by_product: str) -> float:
    """What one canonical unit of AP gives of a by-product, in the by-product's stock kind (Y2).

    Where the kinds differ, the AP crosses by the equivalents of the ingredient that is trimmed.
    """
    ingredient = catalogue.ingredients[ingredient_code]
    return float(trimmed_off(ingredient, fraction, catalogue.ingredients[by_product].kind))


def trimmed_off(ingredient: Ingredient, fraction: Fraction, kind: Kind) -> Fraction:
    """What one canonical unit of AP gives of a by-product of some stock kind, exactly (Y2)."""
    return fraction * ingredient.conversions().convert(Quantity(Fraction(1), CANONICAL[ingredient.kind]), kind)

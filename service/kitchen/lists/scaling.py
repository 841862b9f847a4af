"""Scaling: one recipe to a quantity of its yield, to portions, or to what is on hand of one item.

Responsible for domain S1 to S6 as a cook asks for them: a plan of one need without lots. Refuses to
know forecasts and stock.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, time
from typing import TypedDict

from service.errors import Fault, Invalid, PlanTooLarge
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.book.vessels import batch_sizes
from service.kitchen.lists.documents import BatchCard
from service.kitchen.lists.method import batch_cards
from service.kitchen.lists.parts import ComputedQuantity, Portion
from service.kitchen.lists.wording import Words
from service.kitchen.measures.batches import TOLERANCE
from service.kitchen.measures.display import Displayed, display
from service.kitchen.measures.units import System
from service.kitchen.planning.demand import Demand, Need
from service.kitchen.planning.plan import Plan, plan
from service.kitchen.planning.runs import Run
from service.kitchen.safety.allergens import Rollup
from service.kitchen.safety.cautions import cautions
from service.limits import NEEDS_PLANNED

NOON = time(12)
NEAR = 1e-12
# How far and how finely a larger quantity is looked for where the need can fall again.
STEPS = 128
GRID = 1.01
TIMES_NOTE = "Cooking times do not scale with quantity: keep the recipe's times and check doneness batch by batch."


class ScaledRecipe(TypedDict):
    """A recipe scaled, with its ingredients as purchased through all levels."""

    recipe: str
    version: int
    quantity: ComputedQuantity
    batches: list[BatchCard]
    ingredients: list[Portion]
    notes: list[str]
    cautions: list[str]


@dataclass(frozen=True, slots=True)
class Limits:
    """The least and the most factor of a scaling."""

    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Scaler:
    """One version at one place and date, ready to be scaled; ``site`` may be a nameless one for the recipe's own batch rule."""

    catalogue: Catalogue
    site: Site
    version: Version
    on: date

    def run_to(self, quantity: float) -> Plan:
        """The plan of one need of that quantity, without lots; every recipe on the way in one run (S5)."""
        at = self.site.calendar().clock(self.on, NOON)
        need = Need(item=self.version.item, at=at, amount=quantity, label=self.version.recipe, on=self.on)
        return plan(self.catalogue, self.site, Demand((need,), (), {}), (), self.on, self.on, one_run=True)

    def authored(self) -> float:
        """The authored yield in the canonical unit of its kind."""
        return float(self.version.conversions.to_stock(self.version.makes))

    def limited_by(self, item: Item, have: float, limits: Limits) -> float | None:
        """The largest quantity whose need for the item does not exceed ``have``; None where not even the least fits (S5).

        The need steps with batches, pieces and sub-recipes, so this is a search between two quantities. Raises Invalid
        where the most is still covered, and PlanTooLarge where all that is tried would be.
        """
        tried = 0

        def fits(quantity: float) -> bool:
            nonlocal tried
            planned = self.run_to(quantity)
            tried += len(planned.needs)
            if tried > NEEDS_PLANNED:
                raise PlanTooLarge
            return needed(planned, item) <= have * (1 + NEAR)

        low, high = self.authored() * limits.least, self.authored() * limits.most
        if not fits(low):
            return None
        if fits(high):
            detail = f"this is enough for more than {limits.most:g} authored batches; ask for a quantity instead"
            raise Invalid([Fault("/to/have/quantity", "out_of_range", detail)])
        quantity = largest(fits, low, high)
        if steep(self.run_to(quantity)):
            quantity = self._beyond(fits, quantity, high)
        return plainest(fits, quantity)

    def _beyond(self, fits: Callable[[float], bool], low: float, high: float) -> float:
        """A larger quantity that fits although one between does not.

        A tested line that rises faster than the batch takes less in two small batches than in one large one, so the
        need falls where another batch is begun: there, and on a grid for the batches of sub-recipes, it is tried again.
        """
        fitting = batch_sizes(self.version, self.site)[0].fitting()
        begun = [each * fitting * (1 + 2 * TOLERANCE) for each in range(1, STEPS)] if fitting else []
        grid = [low * GRID**each for each in range(1, STEPS)]
        tried = sorted(each for each in (*begun, *grid, high) if low < each <= high)
        for index in range(len(tried) - 2, -1, -1):
            if fits(tried[index]):
                return largest(fits, tried[index], tried[index + 1])
        return low


def steep(planned: Plan) -> bool:
    """Whether a tested line somewhere in a plan rises faster than its batch (S2)."""
    return any(amount.line.scaling.steep for run in planned.runs for amount in run.weighed)


def largest(fits: Callable[[float], bool], low: float, high: float) -> float:
    """The largest number between one that fits and one that does not, to the last digits of a float."""
    while high - low > 1e-13 * high:
        middle = math.sqrt(low * high) if high > 2 * low else (low + high) / 2
        if fits(middle):
            low = middle
        else:
            high = middle
    return low


def plainest(fits: Callable[[float], bool], number: float) -> float:
    """The number with the fewest digits that still fits, within the tolerance of S3: 45 where the search ends at 45.00000004."""
    numbers = (float(f"{number:.{digits}g}") for digits in range(1, 13))
    return next((each for each in numbers if abs(each - number) <= 1.001 * TOLERANCE * number and fits(each)), number)


def needed(planned: Plan, item: Item) -> float:
    """How much of an item a plan needs: of an ingredient its pulls, of a form or a recipe what is drawn of it."""
    if item.raw:
        return sum(pull.amount for pull in planned.pulls if pull.item == item)
    return sum(need.amount for need in planned.needs if need.item == item and need.drawn_by is not None)


def draws(planned: Plan, item: Item) -> bool:
    """Whether anything in a plan draws an item."""
    return any(need.item == item and need.drawn_by is not None for need in planned.needs)


def scaling_document(scaler: Scaler, planned: Plan, system: System) -> ScaledRecipe:
    """What a scaling answers: batches with their lines, and the ingredients as purchased through all levels."""
    words = Words(catalogue=scaler.catalogue, site=scaler.site, calendar=scaler.site.calendar(), system=system)
    run = next(each for each in planned.runs if each.item == scaler.version.item)
    kind = scaler.version.kind
    parts = [(batch.count, display(batch.quantity, kind, system)) for batch, _ in run.batches]
    return {
        "recipe": scaler.version.recipe,
        "version": scaler.version.number,
        "quantity": words.sum(run.main.quantity, kind, parts),
        "batches": batch_cards(run, words),
        "ingredients": _ingredients(planned, words),
        "notes": _notes(run, planned, words),
        "cautions": _cautions(scaler, planned),
    }


def _cautions(scaler: Scaler, planned: Plan) -> list[str]:
    """What is said beside a recipe that has allergens, or a safety step at any level (H3)."""
    held = Rollup(scaler.catalogue, scaler.site.code or None).of_version(scaler.version, scaler.on)
    guarded = any(step.safety is not None for run in planned.runs if run.version for step in run.version.steps)
    return cautions(allergens=bool(held.names), guarded=guarded)


def _ingredients(planned: Plan, words: Words) -> list[Portion]:
    amounts: dict[Item, float] = {}
    for pull in sorted(planned.pulls, key=lambda each: (each.item.order, each.on)):
        amounts[pull.item] = amounts.get(pull.item, 0.0) + pull.amount
    return [{"item": words.item(item), "quantity": words.of(item, amount)} for item, amount in amounts.items()]


def _notes(run: Run, planned: Plan, words: Words) -> list[str]:
    """What the cook must know besides: times stay (S6), surplus of rounding, seasonings beyond what was tested."""
    notes = [TIMES_NOTE]
    if run.main.surplus > 0:
        shown: Displayed = display(run.main.surplus, words.kind(run.item), words.system)
        notes.append(f"Rounding to whole batches makes {shown.text} beyond what was asked.")
    return notes + [each.detail for each in planned.warnings]

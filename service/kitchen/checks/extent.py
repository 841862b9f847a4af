"""Extent: how much of everything one batch asks for, and how long before it, through all levels.

Responsible for refusing what no plan can reckon with: amounts that leave the numbers of kitchens (U1) on the way down, and work so
long before a need that each list would hold months of plans. Refuses to know demand: it may be a million times a batch, and floats
reach far enough for that.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import accumulate
from typing import NamedTuple

from service.errors import Fault, KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.lines import LineAmount, amounts_at, by_product_amounts
from service.kitchen.book.recipe import Version
from service.kitchen.measures.batches import BatchSizes
from service.kitchen.measures.calendar import ZERO
from service.kitchen.measures.units import CANONICAL
from service.kitchen.planning.sequence import Edges
from service.limits import LEAD_DAYS, LEVELS_AMOUNT

# Floats of amounts at the very edge are inside.
LEAST, MOST = float(LEVELS_AMOUNT.least) * (1 - 1e-9), float(LEVELS_AMOUNT.most) * (1 + 1e-9)


class Asked(NamedTuple):
    """What one batch at the top of a path asks for of its last item: an amount in the stock kind, and how long before it is ready."""

    path: tuple[Item, ...]
    amount: float
    lead: timedelta = ZERO

    def below(self, item: Item, amount: float, earlier: timedelta) -> "Asked":
        """What it asks for of something that its last item is made of."""
        return Asked((*self.path, item), amount, self.lead + earlier)


def extent_faults(
    catalogue: Catalogue, published: list[Version], active: Iterable[Version], after: Edges, today: date
) -> list[tuple[str, Fault]]:
    """What leaves the limits through all levels of what is in force, by a recipe among those published that the path leads through.

    The edges stand in the order of their items. Of the paths to an item those count that ask for most, for least and
    earliest, so that each is walked once.
    Of several paths by one line the first is told.
    """
    by_item = {version.item: version for version in published}
    concerned = _concerned(after, by_item)
    versions: dict[Item, list[Version]] = defaultdict(list)
    for version in active:
        versions[version.item].append(version)
    asked: dict[Item, list[Asked]] = defaultdict(list)
    found: dict[tuple[str, str], Fault] = {}
    for item in (each for each in after if each in concerned and each in versions):
        for version in versions[item]:
            whole = float(version.conversions.to_stock(version.makes))
            batch = _Batch.of(catalogue, version, today)
            for each in _extremes([Asked((item,), whole), *asked[item]]):
                reasons = [*_too_early(each, version.lead)]
                for drawn, amount, earlier in batch.drawn(max(each.amount, batch.least) / whole):
                    if amount != 0 and not LEAST <= amount <= MOST:
                        reasons.append(_too_much(catalogue, each.below(drawn, amount, earlier)))
                    elif drawn in versions:
                        asked[drawn].append(each.below(drawn, amount, earlier))
                for recipe, fault in (told for reason in reasons for told in _told(by_item, reason)):
                    found.setdefault((recipe, fault.pointer), fault)
    return [(recipe, fault) for (recipe, _), fault in found.items()]


def _concerned(after: Edges, published: Collection[Item]) -> set[Item]:
    """What is published, what that is made of, and what is made of that, at every level."""
    below, above = set(published), set(published)
    for item in after:
        if item in below:
            below.update(after[item])
    for item in reversed(after):
        if not above.isdisjoint(after[item]):
            above.add(item)
    return below | above


def _extremes(asked: Sequence[Asked]) -> Iterable[Asked]:
    most, least = (choose(asked, key=lambda each: each.amount) for choose in (max, min))
    return dict.fromkeys((most, least, max(asked, key=lambda each: each.lead)))


class _Batch(NamedTuple):
    """An authored batch: each line that can be reckoned (else its own check tells), what is given besides, the least that is made.

    Of a line it has the trim yield of its form too, and how long before the batch is ready it is drawn.
    """

    lines: Sequence[tuple[LineAmount, float, timedelta]]
    gives: Sequence[tuple[Item, float]]
    least: float

    @classmethod
    def of(cls, catalogue: Catalogue, version: Version, today: date) -> "_Batch":
        amounts = amounts_at(catalogue, version, min(version.sites) if version.sites else None, max(today, version.starts_on))
        begins = [ZERO, *accumulate(step.duration for step in version.steps)]
        lines = [
            (each, 1.0 if form is None else float(form.trim_yield), version.lead - begins[(each.line.step or 1) - 1])
            for each in amounts
            if isinstance(each, LineAmount)
            for form in [catalogue.form(each.line.item)]
        ]
        try:
            sizes, gives = version.own_sizes, by_product_amounts(catalogue, version)
        except (KitchenError, KeyError):
            sizes, gives = BatchSizes(), []
        return cls(lines, gives, max(sizes.smallest or 0.0, sizes.multiple or 0.0))

    def drawn(self, factor: float) -> Iterator[tuple[Item, float, timedelta]]:
        """What so many batches draw and give, of a form as the ingredient that it is cut from, and how long before they are ready."""
        for amount, cut, earlier in self.lines:
            yield amount.line.item, amount.in_batch(factor) / cut, earlier
        for item, amount_given in self.gives:
            yield item, amount_given * factor, ZERO


class Reason(NamedTuple):
    """Why a path cannot be reckoned with, and the recipes on it whose lines and steps make it so."""

    path: tuple[Item, ...]
    makers: tuple[Item, ...]
    detail: str


def _too_much(catalogue: Catalogue, asked: Asked) -> Reason:
    *makers, last = asked.path
    conversions = catalogue.conversions(last)
    unit = "" if conversions is None else f" {CANONICAL[conversions.stock_kind]}"
    detail = (
        f"a batch of {asked.path[0].label} asks for {asked.amount:.3g}{unit} of {last.label} ({_shown(asked.path)}); "
        f"through all levels an amount is {LEVELS_AMOUNT} g, mL or each"
    )
    return Reason(asked.path, tuple(makers), detail)


def _too_early(asked: Asked, lead: timedelta) -> Iterator[Reason]:
    whole = asked.lead + lead
    if whole <= timedelta(days=LEAD_DAYS):
        return
    detail = (
        f"work begins {whole.days} days before {asked.path[0].label} is ready ({_shown(asked.path)}); "
        f"through all levels that is at most {LEAD_DAYS} days: what ages longer is counted as stock"
    )
    yield Reason(asked.path, asked.path, detail)


def _shown(path: Sequence[Item]) -> str:
    return " → ".join(item.label for item in path)


def _told(published: Mapping[Item, Version], reason: Reason) -> Iterator[tuple[str, Fault]]:
    """The fault, told of the last version on the path that is published now; what others did before is not this one's."""
    version = next((published[item] for item in reversed(reason.makers) if item in published), None)
    if version is None:
        return
    following = reason.path[reason.path.index(version.item) + 1 :]
    pointer = next((f"/lines/{index}/quantity" for index, line in enumerate(version.lines) if line.item in following[:1]), "/steps")
    yield version.recipe, Fault(pointer, "out_of_range", reason.detail)

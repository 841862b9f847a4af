"""The order in which items are planned.

Responsible for putting consumers before suppliers and givers before what they give (domain P, first
paragraph), and for finding loops. Refuses to know quantities and times.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from graphlib import CycleError, TopologicalSorter

from service.errors import RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version

# Late work is planned by the versions of its own date, if it is no later than this.
LOOK_BACK = timedelta(days=400)
# Dictionaries of None are sets that keep their order: sets themselves are walked otherwise in each process.
Edges = dict[Item, dict[Item, None]]


def lead_of_cut(catalogue: Catalogue, item: Item) -> Item:
    """The item that stands for all that is handled together with this one: the first form of its cut, else itself (Y7)."""
    if item.form is None:
        return item
    form = catalogue.form(item)
    return catalogue.ingredients[item.code].cut_of(form)[0].item if form else item


def edges(catalogue: Catalogue, versions: Iterable[Version], wanted: Iterable[Item] = ()) -> Edges:
    """For every item that the versions reach, and those wanted besides, what it must be handled before: what it draws and gives."""
    after: Edges = defaultdict(dict)
    reached: list[Item] = [lead_of_cut(catalogue, item) for item in wanted]
    for version in versions:
        targets = [lead_of_cut(catalogue, line.item) for line in version.lines]
        targets += [Item(ingredient) for ingredient, _ in version.by_products]
        after[version.item].update(dict.fromkeys(targets))
        reached += targets
    for item in reached:
        if item not in after:
            after[item].update(dict.fromkeys(form_targets(catalogue, item) if item.form else ()))
    return after


def form_targets(catalogue: Catalogue, item: Item) -> list[Item]:
    """The ingredient that a form (with the others of its cut) is made from, and the by-products that it gives."""
    form = catalogue.form(item)
    if form is None:
        return [item.ingredient]
    return [item.ingredient, *(Item(code) for each in catalogue.ingredients[item.code].cut_of(form) for code, _ in each.by_products)]


def in_order(after: Mapping[Item, Mapping[Item, None]]) -> list[Item]:
    """All items, consumers and givers first; raises RecipeLoop with the path where that is impossible."""
    waits: dict[Item, int] = {}
    # In a fixed order: equal inputs give the same sums, to the last digit.
    for item in sorted(after, key=lambda each: each.order):
        waits.setdefault(item, 0)
        for target in after[item]:
            waits[target] = waits.get(target, 0) + 1
    order = [item for item, number in waits.items() if number == 0]
    # The list grows while it is walked: an item stands behind the last one that it waits for.
    for item in order:
        for target in after.get(item, ()):
            waits[target] -= 1
            if waits[target] == 0:
                order.append(target)
    if len(order) < len(waits):
        raise _loop_in(after)
    return order


def _loop_in(after: Mapping[Item, Mapping[Item, None]]) -> RecipeLoop:
    """The path of a loop that there is."""
    sorter: TopologicalSorter[Item] = TopologicalSorter()
    for item in sorted(after, key=lambda each: each.order):
        sorter.add(item)
        for target in after[item]:
            sorter.add(target, item)
    try:
        sorter.prepare()
    except CycleError as error:
        path: list[Item] = error.args[1]
        return RecipeLoop([each.label for each in path])
    raise AssertionError("there is no loop")


def ordered(after: Edges) -> Edges:
    """The same for all items, in their order; raises RecipeLoop."""
    return {item: after.get(item, {}) for item in in_order(after)}


def depth(after: Edges) -> dict[Item, int]:
    """How many recipes deep each recipe stands on others, of items in their order: 1 where it calls none."""
    deep: dict[Item, int] = {}
    for item in reversed(after):
        if item.is_recipe:
            deep[item] = 1 + max((deep[target] for target in after[item] if target.is_recipe), default=0)
    return deep


def active_between(catalogue: Catalogue, site: str | None, first: date, last: date | None = None) -> list[Version]:
    """Every version of every recipe in force at a site on some date of a range, by recipe and date."""
    return [each for recipe in sorted(catalogue.versions) for each in catalogue.in_force_between(recipe, site, first, last)]

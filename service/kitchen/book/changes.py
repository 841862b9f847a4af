"""Changes: what differs between two states of a recipe, by field, line, step and by-product.

Responsible for telling what was added, dropped and changed as a cook would: a line is known by its item, a step by
its text, and numbers that only shifted are no change. Refuses to know versions, dates and what a change costs.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from service.kitchen.book.item import Item
from service.kitchen.book.json import Document, Json
from service.kitchen.measures.amounts import parse_amount

Pair = tuple[int | None, int | None]

FIELDS = (
    "title",
    "station",
    "ready_to_eat",
    "storage",
    "yield",
    "portion",
    "equivalents",
    "gains_water",
    "keeps",
    "keeps_reason",
    "makes_for",
    "hold",
    "batch",
)


def differences(old: Document | None, new: Document) -> Json:
    """What became of a recipe's document: ``fields`` with old and new, and of lines, steps and by-products those added, dropped, changed.

    Without an old one everything is added. Numbers count from 1. Quantities are compared exactly: 1/2 kg is 0.5 kg.
    """
    before: Mapping[str, Any] = old or {"lines": [], "steps": [], "by_products": []}
    steps = _pair_steps(before["steps"], new["steps"])
    lines = _pair(before["lines"], new["lines"], lambda line: Item.read(line["item"]), _alike)
    given = _pair(before["by_products"], new["by_products"], lambda each: str(each["ingredient"]), same)
    step_numbers, line_numbers = _renumbered(steps), _renumbered(lines)
    moved = _moved(steps)
    return {
        "fields": [{"field": name, "old": before.get(name), "new": new[name]} for name in FIELDS if not same(before.get(name), new[name])],
        "lines": _rows(before["lines"], new["lines"], lines, lambda a, b, _: _same_line(a, b, step_numbers, line_numbers)),
        "steps": _rows(before["steps"], new["steps"], steps, lambda a, b, pair: same(a, b) and pair not in moved),
        "by_products": _rows(before["by_products"], new["by_products"], given, lambda a, b, _: same(a, b)),
    }


def same(old: Any, new: Any) -> bool:
    """Whether two values of a document say the same, whatever way an amount is written.

    >>> same({"amount": "1/2", "unit": "kg"}, {"amount": Decimal("0.50"), "unit": "kg"})
    True
    """
    return bool(_plain(old) == _plain(new))


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        plain = {name: _plain(inner) for name, inner in value.items() if inner is not None}
        if plain.keys() == {"amount", "unit"} and isinstance(plain["amount"], str):
            plain["amount"] = parse_amount(plain["amount"], told=True)
        return plain
    if isinstance(value, Decimal):
        return Fraction(value)
    return [_plain(inner) for inner in value] if isinstance(value, Sequence) and not isinstance(value, str) else value


def _pair(old: Sequence[Any], new: Sequence[Any], key: Callable[[Any], Hashable], alike: Callable[[Any, Any], bool]) -> list[Pair]:
    """Which entry became which, among those of one key: alike ones first, the others in their order; None has no counterpart."""
    waiting: dict[Hashable, list[int]] = defaultdict(list)
    for index, entry in enumerate(new):
        waiting[key(entry)].append(index)
    partners: dict[int, int] = {}
    for exactly in (True, False):
        for index, entry in enumerate(old):
            others = waiting[key(entry)]
            match = next((other for other in others if not exactly or alike(entry, new[other])), None)
            if index not in partners and match is not None:
                partners[index] = match
                others.remove(match)
    return _complete(partners, len(old), len(new))


def _complete(partners: Mapping[int, int], old: int, new: int) -> list[Pair]:
    """Pairs, and a pair with None for each entry without a counterpart."""
    taken = set(partners.values())
    return [*((index, partners.get(index)) for index in range(old)), *((None, index) for index in range(new) if index not in taken)]


def _pair_steps(old: Sequence[Any], new: Sequence[Any]) -> list[Pair]:
    """Which step became which: by text, and one whose text was edited where it still follows the same step."""
    partners = {a: b for a, b in _pair(old, new, lambda step: str(step["text"]), same) if a is not None and b is not None}
    for index in range(len(old)):
        follows = partners.get(index - 1, -1 if index == 0 else None)
        place = None if follows is None else follows + 1
        if index not in partners and place is not None and place < len(new) and place not in partners.values():
            partners[index] = place
    return _complete(partners, len(old), len(new))


def _renumbered(pairs: Sequence[Pair]) -> dict[int | None, int | None]:
    """The number, from 1, that each old number became; None stays None, and what was dropped became 0."""
    numbers: dict[int | None, int | None] = {a + 1: 0 if b is None else b + 1 for a, b in pairs if a is not None}
    return {None: None, **numbers}


def _moved(pairs: Sequence[Pair]) -> set[Pair]:
    """Pairs that changed places with another one."""
    whole = [(a, b) for a, b in pairs if a is not None and b is not None]
    return {(a, b) for a, b in whole if any((a - c) * (b - d) < 0 for c, d in whole)}


def _alike(old: Document, new: Document) -> bool:
    """Whether two lines are the same but for the numbers by which they name steps and lines."""
    return same(_unnumbered(old), _unnumbered(new))


def _unnumbered(line: Document) -> Json:
    return {**line, "step": None, "scaling": {**line["scaling"], "of": None}}


def _same_line(old: Document, new: Document, steps: Mapping[int | None, int | None], lines: Mapping[int | None, int | None]) -> bool:
    """Whether a line stayed as it was, its step and its base lines being the same ones under new numbers."""
    bases = sorted(lines[number] or 0 for number in old["scaling"].get("of") or ())
    return _alike(old, new) and steps[old["step"]] == new["step"] and bases == sorted(new["scaling"].get("of") or ())


def _rows(
    old: Sequence[Document], new: Sequence[Document], pairs: Sequence[Pair], stayed: Callable[[Document, Document, Pair], bool]
) -> Json:
    """Entries added and dropped, and those changed as old and new, each with its number."""
    whole = [(a, b) for a, b in pairs if a is not None and b is not None]
    return {
        "added": [_numbered(new, b) for a, b in pairs if a is None and b is not None],
        "dropped": [_numbered(old, a) for a, b in pairs if b is None and a is not None],
        "changed": [{"old": _numbered(old, a), "new": _numbered(new, b)} for a, b in whole if not stayed(old[a], new[b], (a, b))],
    }


def _numbered(entries: Sequence[Document], index: int) -> Json:
    return {"number": index + 1, **entries[index]}

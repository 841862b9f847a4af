import re
from decimal import Decimal
from pathlib import Path

import pytest

from service import limits
from service.limits import Span


@pytest.mark.parametrize(
    ("span", "inside", "outside"),
    [
        (limits.AMOUNT, [0, 10_000_000], [Decimal(-1), Decimal("10000000.000000001")]),
        (limits.COUNT, [0, 1_000_000], [-1, 1_000_001]),
        (limits.SCALING_FACTOR, [Decimal("0.0001"), 10_000], [Decimal("0.00009"), 10_001]),
        (limits.UPTAKE, [Decimal("0.01"), 1], [0, Decimal("1.01")]),
        (limits.BUFFER, [0, 1], [Decimal("-0.01"), Decimal("1.01")]),
        (limits.MAKES_FOR, [1, 14], [0, 15]),
    ],
)
def test_a_span_holds_its_ends_unless_it_begins_above_one(span: Span, inside: list[Decimal], outside: list[Decimal]) -> None:
    assert all(number in span for number in inside)
    assert not any(number in span for number in outside)


def test_somebody_reads_each_row_of_the_table() -> None:
    own = Path(limits.__file__)
    sources = [file.read_text(encoding="utf-8") for file in own.parent.rglob("*.py") if file != own]
    read = set(re.findall(r"\b[A-Z][A-Z_]+\b", " ".join(sources)))
    assert [name for name in vars(limits) if name.isupper() and name not in read] == []


def test_every_closed_list_names_each_word_once() -> None:
    lists = [value for value in vars(limits).values() if isinstance(value, tuple)]
    assert lists
    assert all(len(words) == len(set(words)) for words in lists)

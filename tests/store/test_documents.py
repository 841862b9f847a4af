from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.store import documents

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
NUMBERS = st.integers() | st.decimals(allow_nan=False, allow_infinity=False, places=6, min_value=-(10**7), max_value=10**7)
JSON = st.recursive(
    st.none() | st.booleans() | TEXT | NUMBERS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)


@given(JSON)
def test_a_document_comes_back_equal_and_with_its_keys_in_order(document: Any) -> None:
    again = documents.decode(documents.encode(document))
    assert again == document
    assert documents.encode(again) == documents.encode(document)


def test_a_decimal_comes_back_with_every_digit_and_no_float_between() -> None:
    again = documents.decode(documents.encode({"amount": Decimal("0.1000000000000000000001"), "count": 3}))
    assert again == {"amount": Decimal("0.1000000000000000000001"), "count": 3}
    assert type(again["amount"]) is Decimal
    assert type(again["count"]) is int


def test_not_a_number_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        documents.encode({"amount": float("nan")})


def test_equal_documents_have_equal_tags_and_another_order_of_keys_another_tag() -> None:
    assert documents.tag({"a": 1, "b": Decimal("2.5")}) == documents.tag({"a": 1, "b": Decimal("2.5")})
    assert documents.tag({"a": 1, "b": 2}) != documents.tag({"b": 2, "a": 1})
    assert len(documents.tag({})) == 32

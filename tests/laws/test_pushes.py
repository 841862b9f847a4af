"""A push read column by column is the push read entry by entry, whatever is wrong with some of its entries."""

from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.api.nouns import forecasts
from service.api.nouns.forecasts import load_entries, load_entry
from service.api.schemas.forecasts import Entry
from service.errors import Fault, Invalid
from service.limits import COUNT
from tests.laws.documents import documents

Value = dict[str, Any]

PLACE = {"site": "harbour", "date": "2026-12-02", "period": "lunch", "count": 12}
BY_ITEM = PLACE | {"menu_item": "soup-bowl"}
BY_TILL_CODE = PLACE | {"period": "dinner", "count": 0, "till_code": "É \\N", "event": None, "menu_item": None}
NAMES = (*BY_TILL_CODE, "guests", "co\x01unt")
KINDS: tuple[Any, ...] = (None, True, 3, -1, int(COUNT.most) + 1, [], {}, ["a"])
TEXTS = ("", " ", "x" * 300, "Lunch!", "2026-02-30", "a\x00b", "line\nline", "tab\tbed", "\ud800", "soup")
FAULTY = st.tuples(
    st.sampled_from((BY_ITEM, BY_TILL_CODE)), st.dictionaries(st.sampled_from(NAMES), st.sampled_from(KINDS + TEXTS), max_size=2)
)
ENTRIES = st.one_of(FAULTY.map(lambda entry: entry[0] | entry[1]), documents(Entry), st.sampled_from(KINDS))


def one_by_one(values: list[Any]) -> tuple[dict[int, Value], dict[int, tuple[Fault, ...]]]:
    """The entries and faults as the schema finds them."""
    entries, refused = {}, {}
    for index, value in enumerate(values):
        try:
            entries[index] = load_entry(value)
        except Invalid as error:
            refused[index] = error.faults
    return entries, refused


@given(st.lists(ENTRIES, max_size=5))
def test_entries_and_faults_are_those_of_reading_one_after_the_other(values: list[Any]) -> None:
    assert load_entries(values) == one_by_one(values)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("entry", [BY_ITEM, BY_TILL_CODE])
def test_one_wrong_value_among_plain_entries_is_told_as_when_read_alone(entry: Value, name: str) -> None:
    missing = {key: value for key, value in entry.items() if key != name}
    for wrong in (missing, *(entry | {name: value} for value in KINDS + TEXTS)):
        values = [BY_ITEM, wrong, BY_TILL_CODE]
        assert load_entries(values) == one_by_one(values)


@given(st.lists(st.sampled_from((BY_ITEM, BY_TILL_CODE))), documents(Entry).map(lambda entry: entry | {"event": {"code": "gala"}}))
def test_plain_entries_are_not_read_one_after_the_other(plain: list[Value], banquet: Value) -> None:
    with patch.object(forecasts, "load_entry", wraps=load_entry) as read:
        load_entries([*plain, banquet, *plain])
    read.assert_called_once_with(banquet)

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from sqlalchemy.orm import Session

from service.errors import InUse
from service.store import collections, forecasts
from service.store.forecasts import ForecastRow


@pytest.mark.parametrize("noun", collections.TABLES)
def test_a_document_is_saved_replaced_and_removed_under_its_code(session: Session, noun: str) -> None:
    assert collections.read(session, noun, "veg") is None
    collections.save(session, noun, "veg", {"name": "Vegetables", "position": 10})
    collections.save(session, noun, "veg", {"name": "Vegetable prep", "buffer": Decimal("0.05")})
    assert collections.read(session, noun, "veg") == {"name": "Vegetable prep", "buffer": Decimal("0.05")}
    assert collections.exists(session, noun, "veg")
    collections.remove(session, noun, "veg")
    assert collections.read(session, noun, "veg") is None
    assert not collections.exists(session, noun, "veg")


def test_pages_go_by_code_as_bytes_sort_and_each_begins_behind_the_last(session: Session) -> None:
    codes = ["a", "a-b", "a1", "ab", "b"]
    collections.save_many(session, "stations", {code: {"name": code} for code in reversed(codes)})
    assert codes == sorted(codes)
    assert list(collections.read_all(session, "stations")) == codes
    first = collections.page(session, "stations", None, 2)
    assert [code for code, _ in first] == ["a", "a-b"]
    assert [code for code, _ in collections.page(session, "stations", "a-b", 500)] == ["a1", "ab", "b"]


def test_a_site_with_forecasts_is_not_removed(session: Session) -> None:
    collections.save(session, "sites", "mill-street", {"name": "Mill Street"})
    row = ForecastRow(
        site="mill-street",
        date=date(2026, 12, 3),
        period="lunch",
        source="till",
        event="",
        key_kind="menu_item",
        key="soup",
        count=3,
        serve_at=None,
        event_buffer=None,
        as_of=datetime(2026, 12, 2, tzinfo=UTC),
    )
    forecasts.save(session, [row])
    with pytest.raises(InUse, match="mill-street"):
        collections.remove(session, "sites", "mill-street")

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from service.errors import InUse
from service.store import capacity, collections

DAY = date(2026, 12, 3)
CLOSED: dict[str, Any] = {"shifts": [], "equipment": None, "note": "stock-taking"}


@pytest.fixture
def session(session: Session) -> Session:
    for code in ("harbour", "mill-street"):
        collections.save(session, "sites", code, {"name": code})
    return session


def test_what_is_different_on_a_date_is_saved_replaced_and_removed(session: Session) -> None:
    assert capacity.read(session, "mill-street", DAY) is None
    capacity.save(session, "mill-street", DAY, CLOSED | {"note": ""})
    capacity.save(session, "mill-street", DAY, CLOSED)
    assert capacity.read(session, "mill-street", DAY) == CLOSED
    assert capacity.read(session, "harbour", DAY) is None
    capacity.remove(session, "mill-street", DAY)
    assert capacity.read(session, "mill-street", DAY) is None


def test_a_site_is_read_from_a_date_to_another_both_included(session: Session) -> None:
    days = [DAY + timedelta(days) for days in range(4)]
    for day in reversed(days):
        capacity.save(session, "mill-street", day, CLOSED | {"note": str(day)})
    capacity.save(session, "harbour", days[1], CLOSED)
    found = capacity.of_site(session, "mill-street", days[1], days[2])
    assert [(day, document["note"]) for day, document in found.items()] == [(day, str(day)) for day in days[1:3]]


def test_a_site_with_a_date_of_its_own_is_not_removed(session: Session) -> None:
    capacity.save(session, "mill-street", DAY, CLOSED)
    with pytest.raises(InUse, match="capacity of a date"):
        collections.remove(session, "sites", "mill-street")

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from service.store import collections, overrides
from service.store.overrides import OverrideKey

DAY = date(2026, 12, 3)
KEY = OverrideKey("mill-street", DAY, "lunch", "soup-bowl")


@pytest.fixture
def session(session: Session) -> Session:
    collections.save(session, "sites", "mill-street", {"name": "Mill Street"})
    collections.save(session, "menu_items", "soup-bowl", {"name": "Soup bowl"})
    return session


def test_an_override_is_saved_replaced_and_removed(session: Session) -> None:
    assert overrides.read(session, KEY) is None
    overrides.save(session, KEY, {"count": 5, "add": 0, "note": ""})
    overrides.save(session, KEY, {"count": None, "add": 3, "note": ""})
    assert overrides.read(session, KEY) == {"count": None, "add": 3, "note": ""}
    overrides.remove(session, KEY)
    assert overrides.read(session, KEY) is None


def test_a_site_is_read_from_a_date_to_another_both_included(session: Session) -> None:
    keys = [KEY._replace(date=DAY + timedelta(days)) for days in range(4)]
    for number, key in enumerate(keys):
        overrides.save(session, key, {"count": number})
    assert overrides.of_site(session, "mill-street", keys[1].date, keys[2].date) == {keys[1]: {"count": 1}, keys[2]: {"count": 2}}
    assert list(overrides.of_site(session, "mill-street", keys[2].date)) == keys[2:]


def test_an_event_has_an_override_of_its_own(session: Session) -> None:
    gala = KEY._replace(event="gala")
    for number, key in enumerate((KEY, gala)):
        overrides.save(session, key, {"count": number})
    assert [overrides.read(session, key) for key in (KEY, gala)] == [{"count": 0}, {"count": 1}]
    overrides.remove(session, KEY)
    assert list(overrides.of_site(session, "mill-street", DAY)) == [gala]


def test_overrides_are_paged_by_date_period_item_and_event(session: Session) -> None:
    keys = [KEY, KEY._replace(event="gala"), KEY._replace(period="tea"), KEY._replace(date=DAY + timedelta(1), period="brunch")]
    for key in reversed(keys):
        overrides.save(session, key, {"count": 1})
    window = ("mill-street", DAY, DAY + timedelta(1))
    assert [key for key, _ in overrides.page(session, *window, None, 9)] == keys
    assert [key for key, _ in overrides.page(session, *window, keys[0], 2)] == keys[1:3]
    assert overrides.page(session, "mill-street", DAY + timedelta(2), DAY + timedelta(3), None, 9) == []


def test_the_sites_that_name_a_menu_item_are_those_with_an_override_of_it(session: Session) -> None:
    overrides.save(session, KEY, {"count": 5})
    assert overrides.sites_naming(session, "soup-bowl") == ["mill-street"]
    assert overrides.sites_naming(session, "other") == []

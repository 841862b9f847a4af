from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from service.errors import Invalid, MatchRequired, NotFound, Stale
from service.operations import overrides
from service.operations.collections import Stored
from service.store import revisions
from service.store.overrides import OverrideKey
from tests.operations.scenario import CATALOGUE, prepare

KEY = OverrideKey("mill-street", date(2026, 12, 3), "lunch", "soup-bowl")
NOON = datetime(2026, 12, 3, 17, tzinfo=UTC)
DOCUMENT: dict[str, Any] = {"count": 50, "add": 0, "note": "coach party"}


@pytest.fixture
def session(session: Session) -> Session:
    prepare(session)
    return session


def put(session: Session, document: dict[str, Any], *expected: str, now: datetime = NOON) -> tuple[Stored, bool]:
    return overrides.put_override(session, KEY, document, CATALOGUE, frozenset(expected) or None, now)


def revision(session: Session) -> int:
    return revisions.current(session, ["site:mill-street"])["site:mill-street"]


def test_an_override_is_created_and_read_back(session: Session) -> None:
    stored, created = put(session, DOCUMENT)
    assert created
    assert overrides.get_override(session, KEY) == stored == Stored("soup-bowl", DOCUMENT, stored.tag)
    assert revision(session) == 1


def test_replacing_needs_the_tag_of_the_state_replaced(session: Session) -> None:
    stored, _ = put(session, DOCUMENT)
    with pytest.raises(MatchRequired):
        put(session, DOCUMENT | {"count": 60})
    with pytest.raises(Stale):
        put(session, DOCUMENT | {"count": 60}, "another")
    replaced, created = put(session, DOCUMENT | {"count": 60}, stored.tag)
    assert not created
    assert replaced.tag != stored.tag
    assert revision(session) == 2


def test_putting_the_same_again_changes_nothing(session: Session) -> None:
    stored, _ = put(session, DOCUMENT)
    assert put(session, DOCUMENT, stored.tag) == (stored, False)
    assert revision(session) == 1


def test_a_removed_override_is_gone_and_the_sites_lists_change(session: Session) -> None:
    stored, _ = put(session, DOCUMENT)
    with pytest.raises(MatchRequired):
        overrides.delete_override(session, KEY, CATALOGUE, None, NOON)
    overrides.delete_override(session, KEY, CATALOGUE, frozenset({stored.tag}), NOON)
    with pytest.raises(NotFound):
        overrides.get_override(session, KEY)
    with pytest.raises(NotFound):
        overrides.delete_override(session, KEY, CATALOGUE, frozenset({"*"}), NOON)
    assert revision(session) == 2


@pytest.mark.parametrize("change", [{"site": "nowhere"}, {"period": "brunch"}, {"menu_item": "stew"}])
def test_there_is_no_override_of_what_does_not_exist(session: Session, change: dict[str, Any]) -> None:
    with pytest.raises(NotFound):
        overrides.put_override(session, KEY._replace(**change), DOCUMENT, CATALOGUE, None, NOON)


def test_p15_what_guests_of_a_date_that_is_over_had_cannot_be_changed(session: Session) -> None:
    """The business date ends at 04:00 of the next one, in New York 09:00 UTC."""
    before_the_end, over = (datetime(2026, 12, 4, 9, tzinfo=UTC) - timedelta(seconds=seconds) for seconds in (1, 0))
    stored, _ = put(session, DOCUMENT, now=before_the_end)
    for say in (
        lambda: put(session, DOCUMENT | {"count": 60}, stored.tag, now=over),
        lambda: overrides.delete_override(session, KEY, CATALOGUE, frozenset({stored.tag}), over),
    ):
        with pytest.raises(Invalid) as refused:
            say()
        assert [fault.code for fault in refused.value.faults] == ["out_of_range"]
    # Saying the same again changes nothing, and is no fault.
    assert put(session, DOCUMENT, stored.tag, now=over) == (stored, False)


def test_a_word_on_what_is_not_sold_on_the_date_is_refused_and_one_that_was_kept_is_removed(session: Session) -> None:
    stored, _ = put(session, DOCUMENT)
    bowl = replace(CATALOGUE.menu_items["soup-bowl"], sold_until=KEY.date - timedelta(days=1))
    over = replace(CATALOGUE, menu_items={**CATALOGUE.menu_items, "soup-bowl": bowl})
    with pytest.raises(Invalid) as caught:
        overrides.put_override(session, KEY, DOCUMENT | {"count": 60}, over, frozenset([stored.tag]), NOON)
    assert [(fault.pointer, fault.code) for fault in caught.value.faults] == [("", "not_on_menu")]
    assert overrides.put_override(session, KEY, DOCUMENT, over, frozenset([stored.tag]), NOON) == (stored, False)
    overrides.delete_override(session, KEY, over, frozenset([stored.tag]), NOON)

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from service.store import collections, counts

SIX = datetime(2026, 12, 2, 6, tzinfo=UTC)
ONION: dict[str, Any] = {"item": {"ingredient": "onion", "form": "small-dice"}, "quantity": {"amount": 2, "unit": "kg"}}
SOUP: dict[str, Any] = {"item": {"recipe": "soup"}, "quantity": {"amount": 5, "unit": "L"}}


@pytest.fixture
def session(session: Session) -> Session:
    for code in ("mill-street", "harbour"):
        collections.save(session, "sites", code, {"name": code})
    return session


def count(session: Session, at: datetime, *lots: dict[str, Any], site: str = "mill-street") -> int:
    return counts.add(session, site, at, at, {"lots": list(lots)})


def amount(lot: dict[str, Any], value: int) -> dict[str, Any]:
    return lot | {"quantity": lot["quantity"] | {"amount": value}}


def found(session: Session) -> list[tuple[str, int]]:
    return [(lot.item, lot.document["quantity"]["amount"]) for lot in counts.newest_lots(session, "mill-street")]


def test_the_newest_count_of_an_item_replaces_all_its_older_lots_and_other_items_stay(session: Session) -> None:
    count(session, SIX, ONION, amount(ONION, 3), SOUP)
    count(session, SIX + timedelta(hours=1), amount(ONION, 1))
    assert found(session) == [("ingredient:onion/small-dice", 1), ("recipe:soup", 5)]


def test_the_newest_is_the_one_counted_last_whatever_was_recorded_last(session: Session) -> None:
    count(session, SIX, ONION)
    count(session, SIX - timedelta(hours=1), amount(ONION, 9))
    assert found(session) == [("ingredient:onion/small-dice", 2)]


def test_of_two_counts_at_one_moment_the_later_recorded_holds(session: Session) -> None:
    count(session, SIX, ONION)
    count(session, SIX, amount(ONION, 9))
    assert found(session) == [("ingredient:onion/small-dice", 9)]


def test_an_ingredient_a_form_and_a_recipe_of_one_code_are_counted_apart(session: Session) -> None:
    count(session, SIX, ONION, {"item": {"ingredient": "onion"}, "quantity": {"amount": 7, "unit": "kg"}})
    count(session, SIX + timedelta(hours=1), {"item": {"recipe": "onion"}, "quantity": {"amount": 1, "unit": "kg"}})
    assert found(session) == [("ingredient:onion", 7), ("ingredient:onion/small-dice", 2), ("recipe:onion", 1)]


def test_a_count_of_another_site_is_not_seen(session: Session) -> None:
    count(session, SIX, ONION, site="harbour")
    assert found(session) == []


def test_a_count_of_nothing_changes_no_item(session: Session) -> None:
    count(session, SIX, ONION)
    count(session, SIX + timedelta(hours=1))
    assert found(session) == [("ingredient:onion/small-dice", 2)]


def test_an_ingredient_is_counted_where_it_or_a_form_of_it_was(session: Session) -> None:
    count(session, SIX, ONION)
    count(session, SIX, ONION | {"item": {"ingredient": "onion-red"}}, {"item": {"recipe": "onion"}, "quantity": {}}, site="harbour")
    assert counts.sites_counting(session, "onion") == ["mill-street"]
    assert counts.sites_counting(session, "onion-red") == ["harbour"]
    assert counts.sites_counting(session, "leek") == []


def test_the_lots_of_an_ingredient_are_those_of_each_sites_newest_count_of_it(session: Session) -> None:
    count(session, SIX, amount(ONION, 9), SOUP)
    count(session, SIX + timedelta(hours=1), ONION)
    count(session, SIX, amount(ONION, 7), site="harbour")
    red = amount(ONION, 3) | {"item": {"ingredient": "onion-red"}}
    count(session, SIX, red, {"item": {"recipe": "onion"}, "quantity": {}}, site="harbour")
    onions = [("onion", "harbour", 7), ("onion", "mill-street", 2)]

    def of(*ingredients: str) -> list[tuple[str, str, int]]:
        lots = counts.newest_of_ingredients(session, ingredients)
        return [(code, site, lot.document["quantity"]["amount"]) for code, site, lot in lots]

    assert of("onion") == onions
    assert of("onion-red") == [("onion-red", "harbour", 3)]
    assert sorted(of("onion", "onion-red", "leek")) == sorted([*onions, ("onion-red", "harbour", 3)])
    assert of() == []


def dates(session: Session, after: int | None = None, limit: int = 9, site: str = "mill-street") -> list[tuple[int, int]]:
    rows = counts.between(session, site, SIX, SIX + timedelta(hours=3), after, limit)
    return [(row.id, (row.counted_at - SIX) // timedelta(hours=1)) for row in rows]


def test_counts_are_found_newest_first_and_of_one_moment_the_later_recorded_first(session: Session) -> None:
    for hours in (2, 0, -1, 3, 0):
        count(session, SIX + timedelta(hours=hours), ONION)
    count(session, SIX, ONION, site="harbour")
    assert dates(session) == [(1, 2), (5, 0), (2, 0)]
    assert dates(session, after=5) == [(2, 0)]
    assert dates(session, limit=1) == [(1, 2)]
    assert dates(session, site="harbour") == [(6, 0)]


def test_a_page_goes_on_behind_a_count_that_was_deleted_meanwhile(session: Session) -> None:
    for hours in range(3):
        count(session, SIX + timedelta(hours=hours), ONION)
    delete(session, 2)
    assert dates(session, after=2) == [(1, 0)]
    assert dates(session) == [(3, 2), (1, 0)]


def delete(session: Session, number: int) -> None:
    found = counts.read(session, "mill-street", number)
    assert found is not None
    counts.remove(session, found, SIX)


def test_without_a_count_that_was_deleted_the_older_one_of_each_of_its_items_is_the_newest(session: Session) -> None:
    count(session, SIX, amount(ONION, 9))
    newest = count(session, SIX + timedelta(hours=1), ONION, SOUP)
    delete(session, newest)
    assert found(session) == [("ingredient:onion/small-dice", 9)]
    assert counts.read(session, "mill-street", newest) is None


def test_an_item_of_which_every_count_was_deleted_was_never_counted(session: Session) -> None:
    count(session, SIX, ONION, site="harbour")
    delete(session, count(session, SIX, ONION, SOUP))
    assert counts.sites_counting(session, "onion") == ["harbour"]
    assert found(session) == []

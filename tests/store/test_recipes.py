from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.store import recipes
from service.store.recipes import VersionRow

PUBLISHED = datetime(2026, 11, 20, 12, tzinfo=UTC)
FIRST = VersionRow(
    recipe="soup",
    number=1,
    starts_on=date(2026, 12, 1),
    sites=None,
    note="",
    document={"title": "Soup"},
    warnings=[{"code": "low_cooking_yield", "detail": "…"}],
    published_at=PUBLISHED,
    published_by="a1",
)


def test_a_draft_is_saved_replaced_and_read(session: Session) -> None:
    assert recipes.read_draft(session, "soup") is None
    assert not recipes.exists(session, "soup")
    recipes.save_draft(session, "soup", {"title": "Soup"})
    recipes.save_draft(session, "soup", {"title": "Lentil soup"})
    assert recipes.read_draft(session, "soup") == {"title": "Lentil soup"}
    assert recipes.exists(session, "soup")


def test_removing_the_draft_of_a_recipe_without_versions_removes_the_recipe(session: Session) -> None:
    recipes.save_draft(session, "soup", {"title": "Soup"})
    recipes.remove_draft(session, "soup")
    assert recipes.draft_texts(session) == {}


def test_removing_the_draft_of_a_published_recipe_leaves_its_versions(session: Session) -> None:
    recipes.save_draft(session, "soup", {"title": "Soup"})
    recipes.add_version(session, FIRST)
    recipes.remove_draft(session, "soup")
    assert recipes.draft_texts(session) == {"soup": None}
    assert recipes.versions(session, "soup") == [FIRST]


def test_versions_come_by_recipe_and_number_with_the_date_of_their_withdrawal(session: Session) -> None:
    for code in ("soup", "bread"):
        recipes.save_draft(session, code, {"title": code})
    second = replace(FIRST, number=2, sites=("harbour", "mill-street"), published_by=None)
    tenth = replace(FIRST, number=10)
    bread = replace(FIRST, recipe="bread")
    for row in (tenth, second, FIRST, bread):
        recipes.add_version(session, row)
    recipes.add_withdrawal(session, "soup", 2, date(2026, 12, 9), "too salt", PUBLISHED)
    assert recipes.versions(session) == [bread, FIRST, replace(second, withdrawn_from=date(2026, 12, 9)), tenth]
    assert recipes.versions(session, "bread") == [bread]


def test_a_version_is_never_written_twice(session: Session) -> None:
    recipes.save_draft(session, "soup", {"title": "Soup"})
    recipes.add_version(session, FIRST)
    with pytest.raises(IntegrityError):
        recipes.add_version(session, replace(FIRST, note="another"))


def test_pages_go_by_code(session: Session) -> None:
    for code in ("c", "a", "b"):
        recipes.save_draft(session, code, {"title": code})
    assert recipes.page(session, None, 2) == [("a", {"title": "a"}), ("b", {"title": "b"})]
    assert recipes.page(session, "b", 2) == [("c", {"title": "c"})]

"""Publishing as a use case: what is stored, and what stays as it was (A2, P12)."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from service.errors import Invalid, NothingToPublish, Stale
from service.kitchen.book.recipe import Version
from service.operations import previews, publishing
from service.operations.collections import prepare_document, put_document
from service.operations.loading import load_catalogue
from service.operations.previews import version_before
from service.store import collections, revisions
from tests.kitchen.larder import MON, TUE, WED, draft, ingredient_document, kitchen, line, quantity, recipe
from tests.operations.scenario import prepare

NOW = datetime(2026, 12, 1, 12, tzinfo=UTC)
SOUP = draft("1 kg", line("oil", "1 kg"), title="Soup", station="veg")
RICH = draft("1 kg", line("oil", "1 kg"), line("butter", "1 kg"), title="Rich soup", station="veg")
BOWL = {
    "name": "Bowl",
    "price": None,
    "buffer": None,
    "codes": [],
    "sold_from": None,
    "sold_until": None,
    "components": [{"recipe": "soup", "quantity": quantity("1 kg"), "uptake": 1}],
}


@pytest.fixture
def session(session: Session) -> Session:
    """A soup of oil in a bowl, published, and a draft of it with butter."""
    prepare(session)
    collections.save(session, "stations", "veg", {"name": "Veg", "position": 1})
    collections.save(session, "ingredients", "oil", ingredient_document(name="Oil"))
    collections.save(session, "ingredients", "butter", ingredient_document(name="Butter", contains=["milk"]))
    collections.save(session, "menu_items", "bowl", BOWL)
    save(session, SOUP)
    publish(session, TUE)
    save(session, RICH)
    return session


def save(session: Session, document: dict[str, Any]) -> None:
    known = session.execute(text("select count(draft) from recipes")).scalar_one()
    publishing.put_draft(session, "soup", document, frozenset({publishing.get_draft(session, "soup").tag}) if known else None)


def publish(session: Session, since: date, *acknowledge: str, sites: list[str] | None = None) -> dict[str, Any]:
    request = {"from": since.isoformat(), "sites": sites, "note": "", "acknowledge": [*acknowledge]}
    return publishing.publish(session, publishing.prepare_publication(session, "soup", request, NOW, None))


def stored(session: Session) -> list[Any]:
    """Every version as the database holds it."""
    return [tuple(row) for row in session.execute(text("select * from recipe_versions order by number"))]


def revision(session: Session) -> int:
    return revisions.current(session, [revisions.CATALOGUE]).get(revisions.CATALOGUE, 0)


def test_a2_what_is_not_acknowledged_is_not_stored(session: Session) -> None:
    before, at = stored(session), revision(session)
    with pytest.raises(Invalid) as refused:
        publish(session, WED)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("/acknowledge", "acknowledge_needed")]
    assert (stored(session), revision(session)) == (before, at)


def test_a2_an_older_version_stays_byte_for_byte_what_it_was(session: Session) -> None:
    before = stored(session)
    assert publish(session, WED, "milk")["version"] == 2
    assert stored(session)[:1] == before
    assert len(stored(session)) == 2


def test_a2_the_same_again_has_nothing_to_acknowledge(session: Session) -> None:
    publish(session, WED, "milk")
    with pytest.raises(NothingToPublish):
        publish(session, WED)


def test_a2_an_ingredient_is_stored_once_its_allergens_are_acknowledged(session: Session) -> None:
    document = ingredient_document(name="Oil", contains=["soy"])
    for acknowledged, error in (((), Invalid), (("soy",), Stale)):
        with pytest.raises(error):
            put_document(session, prepare_document(session, "ingredients", "oil", document, NOW, acknowledged), frozenset({"old"}))
    assert load_catalogue(session).ingredients["oil"].contains == frozenset()
    put_document(session, prepare_document(session, "ingredients", "oil", document, NOW, ("soy",)), frozenset({"*"}))
    assert load_catalogue(session).ingredients["oil"].contains == {"soy"}


def test_a_preview_stores_nothing(session: Session) -> None:
    before, at = stored(session), revision(session)
    request = {"from": WED.isoformat(), "sites": None, "note": "", "acknowledge": ["milk"]}
    assert previews.preview(session, "soup", request, NOW)["faults"] == []
    assert (stored(session), revision(session)) == (before, at)
    assert load_catalogue(session).versions["soup"][-1].number == 1


def test_a_preview_compares_with_what_is_in_force_there_and_then_else_with_the_newest() -> None:
    first = recipe("soup", "1 kg", starts_on=TUE)
    pilot = recipe("soup", "1 kg", number=2, starts_on=TUE, sites=["harbour"])

    def compared(since: date, sites: list[str] | None, *known: Version) -> Version | None:
        return version_before(kitchen(*known), recipe("soup", "1 kg", number=3, starts_on=since, sites=sites))

    assert compared(WED, None, first, pilot) is first
    assert compared(WED, ["harbour"], first, pilot) is pilot
    assert compared(WED, ["mill-street", "harbour"], pilot) is pilot
    assert compared(MON, None, first, pilot) is pilot
    assert compared(MON, None) is None

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy.orm import Session

from service.errors import Invalid, Moved, NotFound
from service.kitchen.book.ingredient import read_ingredient
from service.operations import counts
from service.store import counts as stored_counts
from service.store import revisions
from tests.operations.scenario import CATALOGUE, prepare

NOW = datetime(2026, 12, 3, 3, tzinfo=UTC)
COUNTED_AT = "2026-12-02T21:30:00-05:00"
ONION: dict[str, Any] = {
    "name": "Onion",
    "kind": "mass",
    "piece": None,
    "equivalents": [{"a": {"amount": 1, "unit": "crate"}, "b": {"amount": 10, "unit": "kg"}, "source": None}],
    "contains": [],
    "may_contain": [],
    "storage": "dry",
    "thaw": None,
    "keeps": None,
    "on_tap": False,
    "value": None,
    "forms": [
        {
            "code": "diced",
            "name": "diced",
            "station": "veg",
            "trim_yield": 1,
            "source": None,
            "cut": None,
            "whole": False,
            "by_products": [],
            "keeps": "P1D",
            "makes_for": 1,
            "lead": None,
            "equivalents": [],
            "active": None,
        }
    ],
    "packs": [],
}
STOCKED = replace(CATALOGUE, ingredients={"onion": read_ingredient("onion", ONION)}, drafted=frozenset({"soup"}))


@pytest.fixture
def session(session: Session) -> Session:
    prepare(session)
    return session


def lot(**fields: Any) -> dict[str, Any]:
    return {"item": {"ingredient": "onion", "form": "diced"}, "quantity": {"amount": 2, "unit": "kg"}, "made_on": None, "in": None} | fields


def record(session: Session, *lots: dict[str, Any], site: str = "mill-street") -> dict[str, Any]:
    return counts.record_count(session, counts.prepare_count(site, {"counted_at": COUNTED_AT, "lots": list(lots)}, STOCKED, NOW), NOW)


def test_a_count_is_recorded_as_sent_and_its_lots_are_found(session: Session) -> None:
    lots = [lot(), lot(item={"ingredient": "onion"}, quantity={"amount": 1, "unit": "crate"}, **{"in": "kitchen"})]
    assert record(session, *lots) == {
        "id": 1,
        "site": "mill-street",
        "counted_at": COUNTED_AT,
        "recorded_at": "2026-12-03T03:00:00Z",
        "lots": lots,
    }
    found = stored_counts.newest_lots(session, "mill-street")
    assert sorted(str(row.document) for row in found) == sorted(map(str, lots))
    assert {row.counted_at for row in found} == {datetime(2026, 12, 3, 2, 30, tzinfo=UTC)}
    assert revisions.current(session, ["site:mill-street"]) == {"site:mill-street": 1}


def test_nothing_on_hand_is_a_legal_count(session: Session) -> None:
    assert record(session, lot(quantity={"amount": 0, "unit": "kg"}))["id"] == 1
    assert record(session)["id"] == 2


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        (lot(item={"ingredient": "leek"}), "/item", "unknown_reference"),
        (lot(item={"ingredient": "onion", "form": "sliced"}), "/item", "unknown_reference"),
        (lot(item={"recipe": "stew"}), "/item", "unknown_reference"),
        (lot(item={"recipe": "soup"}), "/item", "unknown_reference"),
        (lot(quantity={"amount": 1, "unit": "L"}), "/quantity/unit", "missing_equivalent"),
        (lot(quantity={"amount": 1, "unit": "bunch"}), "/quantity/unit", "unknown_unit"),
        (lot(quantity={"amount": 1, "unit": "portion"}), "/quantity/unit", "wrong_kind"),
        (lot(made_on="2026-12-03"), "/made_on", "out_of_range"),
    ],
)
def test_a_lot_that_the_kitchen_cannot_read_refuses_the_count_and_says_where(session: Session, wrong: Any, pointer: str, code: str) -> None:
    with pytest.raises(Invalid) as caught:
        record(session, lot(), wrong, wrong)
    assert [(fault.pointer, fault.code) for fault in caught.value.faults] == [(f"/lots/1{pointer}", code), (f"/lots/2{pointer}", code)]


def test_a_lot_may_be_made_on_the_sites_date_of_the_count(session: Session) -> None:
    assert record(session, lot(made_on="2026-12-02"))["id"] == 1


def test_a_count_of_a_site_that_does_not_exist_is_not_found(session: Session) -> None:
    with pytest.raises(NotFound):
        record(session, lot(), site="nowhere")


def test_a_count_of_more_than_five_minutes_ahead_is_refused_together_with_what_is_wrong_in_its_lots(session: Session) -> None:
    ahead = {"counted_at": "2026-12-03T03:05:01Z", "lots": [lot(item={"ingredient": "leek"})]}
    with pytest.raises(Invalid) as caught:
        counts.prepare_count("mill-street", ahead, STOCKED, NOW)
    assert [(fault.pointer, fault.code) for fault in caught.value.faults] == [
        ("/counted_at", "counted_in_future"),
        ("/lots/0/item", "unknown_reference"),
    ]
    # Clocks of two machines differ a little.
    assert counts.prepare_count("mill-street", {"counted_at": "2026-12-03T03:05:00Z", "lots": []}, STOCKED, NOW).body["lots"] == []


def test_a_count_is_read_as_it_was_recorded_at_its_own_site_alone(session: Session) -> None:
    made = record(session, lot())
    assert counts.get_count(session, "mill-street", made["id"]) == made
    with pytest.raises(NotFound):
        counts.get_count(session, "harbour", made["id"])


def test_a_deleted_count_is_gone_and_moves_the_revision_of_its_site(session: Session) -> None:
    first, second = record(session, lot()), record(session, lot(quantity={"amount": 9, "unit": "kg"}))
    counts.delete_count(session, "mill-street", second["id"], STOCKED, NOW)
    (found,) = stored_counts.newest_lots(session, "mill-street")
    assert found.document == first["lots"][0]
    assert revisions.current(session, ["site:mill-street"]) == {"site:mill-street": 3}
    with pytest.raises(NotFound):
        counts.get_count(session, "mill-street", second["id"])
    with pytest.raises(NotFound):
        counts.delete_count(session, "mill-street", second["id"], STOCKED, NOW)
    assert record(session)["id"] == 3, "the id of a deleted count is never another's"


def test_a_count_is_not_deleted_by_a_catalogue_that_has_moved(session: Session) -> None:
    made = record(session, lot())
    revisions.bump(session, "catalogue")
    with pytest.raises(Moved):
        counts.delete_count(session, "mill-street", made["id"], STOCKED, NOW)

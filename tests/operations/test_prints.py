"""Numbering prints, what they keep, and comparing lists."""

from typing import Any

import pytest
from sqlalchemy.orm import Session

from service.errors import Invalid, NotFound
from service.kitchen.lists.explained import Explained
from service.operations.lists import ListRequest
from service.operations.prints import changes, compare, get_print, print_page
from service.store import prints, revisions
from tests.operations.pot import DICE, PULL, SOUP, STOCK, TUE, WED, clock, expect, prepare, print_on

SITE = "quay"
EIGHT = clock(TUE, 8)
Json = dict[str, Any]


def entry(id_: str, amount: float = 10, **fields: Any) -> Json:
    return {"id": id_, "quantity": {"amount": amount}, "progress": None, **fields}


def document(*tasks: Json, pulls: tuple[Json, ...] = ()) -> Json:
    return {"stations": [{"code": "hot", "tasks": list(tasks)}], "pulls": list(pulls)}


def ids(found: Json) -> tuple[list[str], list[str], list[str]]:
    added, dropped, changed = ([each["id"] for each in found[name]] for name in ("added", "dropped", "changed"))
    return added, dropped, changed


class TestCompare:
    def test_entries_are_added_dropped_and_changed_with_both(self) -> None:
        old = document(entry("soup"), entry("stew", 5), pulls=(entry("onion"),))
        new = document(entry("soup"), entry("stew", 6), entry("pie"), pulls=())
        found = compare(old, new)
        assert ids(found) == (["pie"], ["onion"], ["stew"])
        assert found["changed"][0]["old"] == {"station": "hot", **entry("stew", 5)}
        assert found["changed"][0]["new"] == {"station": "hot", **entry("stew", 6)}

    def test_anything_that_is_asked_otherwise_is_a_change(self) -> None:
        for field, old, new in (("start_by", "10:00", "09:00"), ("version", 1, 2), ("late", False, True), ("for", ["a"], ["a", "b"])):
            before, after = ({**entry("soup"), field: value} for value in (old, new))
            assert ids(compare(document(before), document(after))) == ([], [], ["soup"])

    def test_another_station_is_a_change(self) -> None:
        old, new = document(entry("soup")), document(entry("soup"))
        new["stations"][0]["code"] = "veg"
        assert ids(compare(old, new)) == ([], [], ["soup"])

    def test_progress_is_no_change(self) -> None:
        assert ids(compare(document(entry("soup")), document(entry("soup", progress={"state": "done"})))) == ([], [], [])

    def test_a_reported_task_that_left_the_list_is_not_dropped(self) -> None:
        old = document(entry("soup"), entry("stew"))
        assert ids(compare(old, document(), {}, ["soup"])) == ([], ["stew"], [])

    def test_what_reports_explain_of_uses_and_pulls_is_no_change(self) -> None:
        old = document(entry("use.soup", 4), entry("use.stew", 4), pulls=(entry("onion", 3), entry("leek", 3)))
        new = document(entry("use.stew", 1), entry("use.pie", 6), entry("use.jam", 6), pulls=(entry("onion", 1), entry("leek", 2)))
        explained = {
            "use.soup": Explained(taken=4),
            "use.stew": Explained(taken=2),  # One of four is missing otherwise.
            "use.pie": Explained(made=6),
            "use.jam": Explained(made=5),
            "onion": Explained(taken=2),
            "leek": Explained(taken=2),  # Two were taken, and two are asked for of three.
        }
        assert ids(compare(old, new, explained)) == (["use.jam"], [], ["use.stew", "leek"])


class TestPrints:
    @pytest.fixture
    def session(self, session: Session) -> Session:
        prepare(session)
        return session

    def test_prints_are_numbered_by_date(self, session: Session) -> None:
        assert [print_on(session, on, EIGHT)["print"] for on in (TUE, WED, TUE)] == [1, 1, 2]
        rows = print_page(session, SITE, TUE, 0, 1)
        # One more than asked for tells that there is a next page.
        assert [(row["print"], row["printed_at"]) for row in rows] == [(1, "2026-12-01T08:00:00Z"), (2, "2026-12-01T08:00:00Z")]

    def test_p15_a_print_keeps_the_work_that_it_shows(self, session: Session) -> None:
        print_on(session, TUE, EIGHT)
        print_on(session, WED, EIGHT)
        found = {
            row.work: (row.kind, row.document["tasks"])
            for row in prints.newest_work(session, SITE, WED, clock(WED, 0).date().replace(day=3))
        }
        assert found == {
            STOCK: ("run", [f"{STOCK}.2"]),
            SOUP: ("run", [f"{SOUP}.1"]),
            DICE: ("run", [f"{DICE}.1"]),
            "pull.quay.onion.2026-12-02": ("pull", ["pull.quay.onion.2026-12-02"]),
        }
        assert prints.printed_last(session, SITE, PULL) is not None

    def test_a_print_comes_back_as_it_was_made(self, session: Session) -> None:
        printed = print_on(session, TUE, EIGHT)
        expect(session, WED, 60)
        assert get_print(session, SITE, TUE, 1) == printed
        for on, number in ((TUE, 2), (WED, 1)):
            with pytest.raises(NotFound):
                get_print(session, SITE, on, number)

    def test_printing_is_a_new_state_of_the_sites_lists(self, session: Session) -> None:
        before = revisions.current(session, [f"site:{SITE}"])
        print_on(session, TUE, EIGHT)
        assert revisions.current(session, [f"site:{SITE}"]) != before

    def test_an_unknown_site_is_not_found(self, session: Session) -> None:
        with pytest.raises(NotFound):
            changes(session, ListRequest("nowhere", TUE), 1, EIGHT)

    def test_changes_are_against_the_print_that_is_named(self, session: Session) -> None:
        print_on(session, WED, EIGHT)
        expect(session, WED, 60)
        print_on(session, WED, EIGHT)
        assert changes(session, ListRequest(SITE, WED), 2, EIGHT) == {"since": 2, "added": [], "dropped": [], "changed": []}
        assert ids(changes(session, ListRequest(SITE, WED), 1, EIGHT))[2] == [
            f"{SOUP}.1",
            f"{STOCK}.2",
            f"{DICE}.1",
            "pull.quay.onion.2026-12-02",
        ]
        with pytest.raises(Invalid) as refused:
            changes(session, ListRequest(SITE, WED), 3, EIGHT)
        assert [(fault.parameter, fault.code) for fault in refused.value.faults] == [("since", "unknown_reference")]

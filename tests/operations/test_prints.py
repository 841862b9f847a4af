"""Numbering prints, what they keep, and what changed since."""

from typing import Any

import pytest
from sqlalchemy.orm import Session

from service.errors import Invalid, NotFound
from service.kitchen.lists.differences import EntryChanges
from service.operations.lists import ListRequest
from service.operations.prints import changes, get_print, print_page
from service.store import prints, revisions
from tests.operations.pot import DICE, PULL, SOUP, STOCK, TUE, WED, clock, count, expect, prepare, print_on, report

SITE = "quay"
EIGHT = clock(TUE, 8)
Json = dict[str, Any]
SOUP_ITEM = {"recipe": "soup"}
UNCHANGED: Json = {"since": 1, "added": [], "dropped": [], "changed": []}


def ids(found: EntryChanges) -> tuple[list[str], list[str], list[str]]:
    added, dropped = ([each["id"] for each in entries] for entries in (found["added"], found["dropped"]))
    return added, dropped, [each["id"] for each in found["changed"]]


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
            "pull.quay.onion.2026-12-02T1100": ("pull", ["pull.quay.onion.2026-12-02T1100"]),
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
            changes(session, ListRequest(site="nowhere", on=TUE), 1, EIGHT)

    def test_changes_are_against_the_print_that_is_named(self, session: Session) -> None:
        print_on(session, WED, EIGHT)
        expect(session, WED, 60)
        print_on(session, WED, EIGHT)
        assert changes(session, ListRequest(site=SITE, on=WED), 2, EIGHT) == {"since": 2, "added": [], "dropped": [], "changed": []}
        assert ids(changes(session, ListRequest(site=SITE, on=WED), 1, EIGHT))[2] == [
            f"{SOUP}.1",
            f"{STOCK}.2",
            f"{DICE}.1",
            "pull.quay.onion.2026-12-02T1100",
        ]
        with pytest.raises(Invalid) as refused:
            changes(session, ListRequest(site=SITE, on=WED), 3, EIGHT)
        assert [(fault.parameter, fault.code) for fault in refused.value.faults] == [("since", "unknown_reference")]

    def test_a_report_alone_changes_nothing(self, session: Session) -> None:
        for on in (TUE, WED):
            print_on(session, on, EIGHT)
        report(session, TUE, PULL, clock(TUE, 20), made={"amount": 1, "unit": "kg"})
        report(session, TUE, f"{STOCK}.1", clock(TUE, 21), made={"amount": 5, "unit": "L"})
        assert changes(session, ListRequest(site=SITE, on=TUE), 1, clock(TUE, 22)) == UNCHANGED

    def test_what_became_of_an_earlier_date_changes_a_print_that_rests_on_it(self, session: Session) -> None:
        for on in (TUE, WED):
            print_on(session, on, EIGHT)
        report(session, TUE, f"{STOCK}.1", clock(TUE, 21), made={"amount": 5, "unit": "L"})
        # 8 L of stock are wanted on Wednesday, and 5 L of 10 are in the pot.
        assert ids(changes(session, ListRequest(site=SITE, on=WED), 1, clock(TUE, 22))) == ([f"{STOCK}-2.2"], [], [])

    def test_what_else_changes_shows_whatever_was_reported(self, session: Session) -> None:
        for on in (TUE, WED):
            print_on(session, on, EIGHT)
        report(session, WED, f"{SOUP}.1", clock(WED, 12))
        report(session, WED, f"{DICE}.1", clock(WED, 12))
        # 64 bowls are 16 L of soup: 12.8 L of stock, 1.6 kg of dice, 2 kg of onions.
        expect(session, WED, 64)
        found = changes(session, ListRequest(site=SITE, on=WED), 1, clock(WED, 13))
        # The pot of stock is begun as printed: 2.8 L more are asked for, late, of another 2 kg of onions.
        assert ids(found) == (
            [f"{STOCK}-2.1", f"{STOCK}-2.2", f"{PULL}-2"],
            [],
            [f"{SOUP}.1", f"{DICE}.1", "pull.quay.onion.2026-12-02T1100"],
        )
        assert found["changed"][-1]["new"]["quantity"]["amount"] == pytest.approx(2_000)

    def test_of_what_was_reported_the_counts_known_at_the_print_hold(self, session: Session) -> None:
        for on in (TUE, WED):
            print_on(session, on, EIGHT)
        report(session, WED, f"{SOUP}.1", clock(WED, 12))
        count(session, SOUP_ITEM, {"amount": 4, "unit": "L"}, clock(WED, 13))
        assert changes(session, ListRequest(site=SITE, on=WED), 1, clock(WED, 14)) == UNCHANGED
        # Onions were neither made nor drawn by what was reported but through the dice: 1 kg that lies in the kitchen is news.
        count(session, {"ingredient": "onion"}, {"amount": 1, "unit": "kg"}, clock(WED, 14))
        assert ids(changes(session, ListRequest(site=SITE, on=WED), 1, clock(WED, 14))) == ([], [], ["pull.quay.onion.2026-12-02T1100"])

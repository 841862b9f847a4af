from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from service.store import collections, progress

DAY = date(2026, 12, 2)
TOMORROW = DAY + timedelta(1)
SOUP = "make.mill-street.soup.2026-12-02"
DOING, DONE, OPEN = ({"state": state} for state in ("doing", "done", "open"))


@pytest.fixture
def session(session: Session) -> Session:
    for code in ("mill-street", "harbour"):
        collections.save(session, "sites", code, {"name": code})
    return session


def found(session: Session, first: date = DAY) -> list[tuple[date, str, str]]:
    return [(row.date, row.task, row.document["state"]) for row in progress.since(session, "mill-street", first)]


def test_a_report_replaces_the_one_before(session: Session) -> None:
    assert progress.read(session, "mill-street", f"{SOUP}.1") is None
    progress.save(session, "mill-street", DAY, f"{SOUP}.1", DOING)
    progress.save(session, "mill-street", DAY, f"{SOUP}.1", DONE)
    row = progress.read(session, "mill-street", f"{SOUP}.1")
    assert row is not None
    assert (row.date, row.document) == (DAY, DONE)
    assert progress.read(session, "harbour", f"{SOUP}.1") is None


def test_a_report_on_another_dates_list_replaces_it_too(session: Session) -> None:
    """A late task is begun on one list and done on another; what was said last counts, on whichever."""
    progress.save(session, "mill-street", TOMORROW, f"{SOUP}.1", DOING)
    progress.save(session, "mill-street", DAY, f"{SOUP}.1", DONE)
    assert found(session) == [(DAY, f"{SOUP}.1", "done")]


def test_reports_since_a_date_are_those_of_its_list_and_later_ones(session: Session) -> None:
    progress.save(session, "mill-street", TOMORROW, f"{SOUP}.2", DONE)
    progress.save(session, "mill-street", DAY, f"{SOUP}.1", DONE)
    progress.save(session, "harbour", DAY, f"{SOUP}.1", DONE)
    assert found(session) == [(DAY, f"{SOUP}.1", "done"), (TOMORROW, f"{SOUP}.2", "done")]
    assert found(session, TOMORROW) == [(TOMORROW, f"{SOUP}.2", "done")]


def test_reports_of_a_run_are_those_of_its_stages_and_of_no_other_run(session: Session) -> None:
    for task in (f"{SOUP}.1", f"{SOUP}.2", f"{SOUP}-2.1", f"{SOUP}2.1", "make.mill_street.soup.2026-12-02.1"):
        progress.save(session, "mill-street", DAY, task, DONE)
    assert [row.task for row in progress.of_stages(session, "mill-street", SOUP)] == [f"{SOUP}.1", f"{SOUP}.2"]
    assert progress.of_stages(session, "harbour", SOUP) == []


def test_fixed_work_is_kept_by_its_id_and_found_by_its_date(session: Session) -> None:
    assert progress.fixed(session, "mill-street", SOUP) is None
    soup = progress.FixedRow(work=SOUP, kind="run", date=DAY, until=TOMORROW, document={"quantity": 10})
    newer = replace(soup, document={"quantity": 20})
    pull = progress.FixedRow(work="pull.mill-street.onion.2026-12-03", kind="pull", date=TOMORROW, until=TOMORROW, document={})
    for row in (soup, newer, pull):
        progress.fix(session, "mill-street", row)
    progress.fix(session, "harbour", soup)
    assert progress.fixed(session, "mill-street", SOUP) == {"quantity": 20}
    assert progress.fixed_since(session, "mill-street", DAY, DAY) == [newer, pull]
    # Older work is found while something of it may be used.
    later = TOMORROW + timedelta(1)
    assert progress.fixed_since(session, "mill-street", TOMORROW, TOMORROW) == [newer, pull]
    assert progress.fixed_since(session, "mill-street", TOMORROW, later) == [pull]
    assert progress.fixed_since(session, "mill-street", later, later) == []

"""Reports and the work that they fixed, as rows."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store import closed_days, collections, prints, reports, revisions
from service.store.closed_days import ClosedRow
from service.store.prints import PrintHead, PrintKey
from service.store.reports import FixedRow, ReportRow
from service.store.tables import work_reports

DAY = date(2026, 12, 2)
TOMORROW = DAY + timedelta(1)
SITE = "mill-street"
SOUP = "make.mill-street.soup.2026-12-02T1200"
NOON = datetime(2026, 12, 2, 12, tzinfo=UTC)


@pytest.fixture
def session(session: Session) -> Session:
    for code in (SITE, "harbour"):
        collections.save(session, "sites", code, {"name": code})
    return session


def say(session: Session, task: str, state: str, on: date = DAY, revision: int = 1, site: str = SITE) -> None:
    """Add the next report of a task."""
    work = task.rpartition(".")[0]
    before = reports.last(session, site, task, work)
    number = 1 if before is None else before.number + 1
    said = {"state": state}
    row = ReportRow(task=task, number=number, work=work, date=on, recorded_at=NOON, revision=revision, document=said)
    reports.add(session, site, row, reports.about(session, site, work))


def states(rows: list[ReportRow]) -> list[tuple[str, int, str]]:
    return [(row.task.removeprefix(f"{SOUP}."), row.number, row.document["state"]) for row in rows]


def test_the_last_report_of_a_task_holds_on_whichever_list_it_was_made(session: Session) -> None:
    assert reports.last(session, SITE, f"{SOUP}.1", SOUP) is None
    say(session, f"{SOUP}.1", "doing", TOMORROW)
    say(session, f"{SOUP}.1", "done", DAY)
    row = reports.last(session, SITE, f"{SOUP}.1", SOUP)
    assert row is not None
    assert (row.number, row.date, row.document["state"]) == (2, DAY, "done")
    assert reports.last(session, "harbour", f"{SOUP}.1", SOUP) is None


def test_reports_of_a_run_are_those_of_its_stages_and_of_no_other_run(session: Session) -> None:
    for task in (f"{SOUP}.2", f"{SOUP}.1", f"{SOUP}-2.1", f"{SOUP}5.1", "make.mill_street.soup.2026-12-02T1200.1"):
        say(session, task, "done")
    assert states(reports.of_work(session, SITE, SOUP)) == [("1", 1, "done"), ("2", 1, "done")]
    assert reports.of_work(session, "harbour", SOUP) == []


def test_reports_are_found_by_the_date_from_which_they_count_by_their_work_and_by_revision(session: Session) -> None:
    say(session, f"{SOUP}.1", "doing")
    say(session, f"{SOUP}.1", "done", revision=2)
    say(session, f"{SOUP}.2", "done", TOMORROW, 3)
    say(session, f"{SOUP}.1", "done", site="harbour")
    assert states(reports.said_after(session, SITE, DAY, 1, NOON)) == [("1", 2, "done"), ("2", 1, "done")]
    assert states(reports.since(session, SITE, DAY, [])) == [("2", 1, "done")]
    assert states(reports.since(session, SITE, TOMORROW, [SOUP])) == [("1", 1, "doing"), ("1", 2, "done"), ("2", 1, "done")]
    assert reports.since(session, SITE, TOMORROW, []) == []


def test_reports_of_the_first_release_have_no_revision_and_are_found_by_the_hour_of_the_print(session: Session) -> None:
    say(session, f"{SOUP}.1", "doing", revision=0)
    say(session, f"{SOUP}.1", "done", revision=1)
    for hour, found in ((11, ["doing", "done"]), (12, ["doing", "done"]), (13, ["done"])):
        assert [state for *_, state in states(reports.said_after(session, SITE, DAY, 0, NOON.replace(hour=hour)))] == found
    # A print that has one is younger than they are, whatever the hour.
    assert states(reports.said_after(session, SITE, DAY, 1, NOON.replace(hour=11))) == []


def fix(session: Session, fixed: FixedRow, site: str = SITE) -> None:
    """Add a report of work that fixes it."""
    number = len(reports.of_work(session, site, fixed.work)) + 1
    row = ReportRow(task=fixed.work, number=number, work=fixed.work, date=DAY, recorded_at=NOON, revision=1, document={"state": "done"})
    reports.add(session, site, row, reports.about(session, site, fixed.work), fixed)


def test_fixed_work_is_kept_by_its_id_and_found_by_the_first_date_on_which_it_counts(session: Session) -> None:
    soup = FixedRow(work=SOUP, kind="run", since=DAY, document={"quantity": 10})
    newer = replace(soup, document={"quantity": 20})
    pull = FixedRow(work="pull.mill-street.onion.2026-12-03T1100", kind="pull", since=TOMORROW, document={})
    for row in (soup, newer, pull):
        fix(session, row)
    fix(session, soup, "harbour")
    assert reports.fixed(session, SITE, [SOUP, "make.mill-street.pie.2026-12-02T1200"]) == [newer]
    assert reports.fixed_since(session, SITE, DAY - timedelta(1)) == [newer, pull]
    assert reports.fixed_since(session, SITE, DAY) == [pull]


def test_more_is_known_of_work_once_it_is_reported_or_a_list_is_printed_again(session: Session) -> None:
    seen = [reports.about(session, SITE, SOUP).known]
    say(session, f"{SOUP}.1", "doing")
    seen.append(reports.about(session, SITE, SOUP).known)
    say(session, f"{SOUP}.2", "done")
    seen.append(reports.about(session, SITE, SOUP).known)
    head = PrintHead(site=SITE, date=DAY, number=1, printed_at=NOON, printed_by=None, revision=7)
    prints.add(session, head, prints.pack(session, SITE, DAY, {}, [(SOUP, "run", {"tasks": [f"{SOUP}.1"]})]))
    seen.append(reports.about(session, SITE, SOUP).known)
    revisions.bump(session, revisions.CATALOGUE)
    seen.append(reports.about(session, SITE, SOUP).known)
    assert seen == [(0, 0, 0, 0, None), (0, 1, 0, 0, None), (0, 2, 0, 0, None), (0, 2, 1, 7, None), (1, 2, 1, 7, None)]
    assert not any(later.holds(before) for before, later in pairwise(seen))
    closed_days.save(session, SITE, [ClosedRow(date=DAY, ended_at=NOON, document={})])
    known = reports.about(session, SITE, SOUP).known
    assert (known, known.holds(seen[-1])) == ((1, 2, 1, 7, DAY), True)
    assert reports.about(session, SITE, f"{SOUP}-2").known == (1, 0, 1, 7, DAY)
    assert reports.about(session, "harbour", SOUP).known == (1, 0, 0, 0, None)


def test_a_report_that_fixes_nothing_leaves_work_as_it_was_fixed(session: Session) -> None:
    soup = FixedRow(work=SOUP, kind="run", since=DAY, document={"quantity": 10})
    fix(session, soup)
    say(session, f"{SOUP}.1", "open", TOMORROW)
    assert reports.fixed(session, SITE, [SOUP]) == [soup]
    assert [row.document["state"] for row in reports.of_work(session, SITE, SOUP)] == ["done", "open"]


def test_work_that_stands_as_a_print_showed_it_is_kept_once(session: Session) -> None:
    works = [(f"{SOUP}-{n}", "run", {"tasks": [f"{SOUP}-{n}.1"], "frozen": {"quantity": n}}) for n in range(3)]
    for number in (1, 2):
        head = PrintHead(site=SITE, date=DAY, number=number, printed_at=NOON, printed_by=None)
        prints.add(session, head, prints.pack(session, SITE, DAY, {"print": number}, works[number - 1 :]))
    rows = [FixedRow(work=f"{SOUP}-{n}", kind="run", since=DAY, printed=PrintKey(DAY, 1), document={"quantity": n}) for n in (0, 1)]
    rows += [FixedRow(work=f"{SOUP}-2", kind="run", since=DAY, printed=PrintKey(DAY, 2), document={"quantity": 2})]
    for row in rows:
        fix(session, row)
    assert session.execute(select(work_reports.c.fixed)).scalars().all() == [None] * 3
    assert reports.fixed_since(session, SITE, DAY - timedelta(1)) == rows
    assert reports.fixed(session, SITE, [rows[2].work]) == rows[2:]

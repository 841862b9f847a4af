"""Works with their reports as rows: gathered by date they take little, and nothing that is read of them changes."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store import closed_days, collections, prints, reports, work_reports
from service.store.prints import PrintHead, PrintKey
from service.store.reports import FixedRow, ReportRow
from service.store.tables import gathered_reports
from service.store.tables import work_reports as own_rows

SITE, OTHER = "mill-street", "harbour"
DAY = date(2026, 12, 2)
DAYS = 4
NOON = datetime(2026, 12, 2, 12, tzinfo=UTC)
EVER = date(2026, 1, 1)
ALL = 1_000


def soup(day: int, number: int = 1) -> str:
    return f"make.{SITE}.soup-{number}.{DAY + timedelta(day)}T1200"


def pull(day: int) -> str:
    return f"pull.{SITE}.onion.{DAY + timedelta(day)}T1100"


def use(day: int) -> str:
    return f"use.{SITE}.stock.{DAY + timedelta(day)}T1100.20261224T080000"


def say(session: Session, task: str, work: str, day: int, fixed: FixedRow | None = None, site: str = SITE) -> None:
    """Report a task on the list of a day once more."""
    number = 1 + max((row.number for row in reports.of_work(session, site, work) if row.task == task), default=0)
    said = {"state": "done", "made": None, "begun": None, "drawn": None, "at": NOON.isoformat(), "stated": True, "note": f"{number}"}
    row = ReportRow(task=task, number=number, work=work, date=DAY + timedelta(day), recorded_at=NOON, revision=day + 1, document=said)
    reports.add(session, site, row, reports.about(session, site, work), fixed)


@pytest.fixture
def session(session: Session) -> Session:
    """A site where some days were printed and reported, another where one was."""
    for code in (SITE, OTHER):
        collections.save(session, "sites", code, {"name": code})
    for day in range(DAYS):
        on = DAY + timedelta(day)
        printed = (soup(day), "run", {"tasks": [f"{soup(day)}.1"], "frozen": {"quantity": day}})
        head = PrintHead(site=SITE, date=on, number=1, printed_at=NOON, printed_by=None)
        prints.add(session, head, prints.pack(session, SITE, on, {"print": day}, [printed]))
        as_printed = FixedRow(work=soup(day), kind="run", since=on, printed=PrintKey(on, 1), document={"quantity": day})
        as_listed = FixedRow(work=pull(day), kind="pull", since=on - timedelta(1), document={"amount": day})
        say(session, f"{soup(day)}.1", soup(day), day, as_printed)
        say(session, f"{soup(day)}.2", soup(day), day)
        say(session, pull(day), pull(day), day, as_listed)
        say(session, use(day), use(day), day)
    # What is needed later is begun earlier, and what was late is reported later.
    say(session, f"{soup(9)}.1", soup(9), 1)
    say(session, f"{soup(0)}.2", soup(0), 2)
    say(session, "make.harbour.pie.2026-12-02T1200.1", "make.harbour.pie.2026-12-02T1200", 0, site=OTHER)
    return session


def known(session: Session) -> list[Any]:
    """All that anybody reads of reports and fixed work."""
    works = [*(each for day in range(DAYS) for each in (soup(day), pull(day), use(day))), soup(9), f"{soup(0)}-2", "nothing"]
    dates = [EVER, *(DAY + timedelta(day) for day in range(-1, DAYS))]
    return [
        [reports.of_work(session, SITE, work) for work in works],
        [reports.about(session, SITE, work).known for work in works],
        [reports.last(session, SITE, f"{work}.2", work) for work in works],
        [reports.fixed(session, SITE, [work]) for work in works],
        [reports.fixed_since(session, SITE, on) for on in dates],
        [reports.since(session, SITE, on, some) for on in dates for some in ([], works[:4])],
        [reports.said_after(session, SITE, on, revision, NOON) for on in dates[1:] for revision in (0, 2)],
        reports.since(session, OTHER, EVER, []),
        [work_reports.prints_behind(session, SITE, on) for on in dates],
    ]


def gather(session: Session, day: int, limit: int = ALL) -> None:
    work_reports.gather(session, SITE, DAY + timedelta(day), limit)
    session.expire_all()


def own(session: Session) -> set[str]:
    return set(session.scalars(select(own_rows.c.work).where(own_rows.c.site == SITE)))


def test_whatever_is_gathered_whenever_all_reads_as_before(session: Session) -> None:
    before = known(session)
    assert len(before[0][0]) == 3
    for day, limit in ((-1, ALL), (0, ALL), (1, 2), (1, ALL), (DAYS, ALL), (20, ALL)):
        gather(session, day, limit)
        assert known(session) == before
    assert own(session) == set()
    assert session.execute(select(func.count()).select_from(gathered_reports)).scalar_one() == DAYS + 1


def test_works_are_gathered_once_their_dates_and_that_of_their_need_are_over(session: Session) -> None:
    gather(session, 1)
    # Of the first day's soup something was said on the third, and soup of the tenth is still to be made.
    assert own(session) == {soup(0), soup(9), *(each for day in (2, 3) for each in (soup(day), pull(day), use(day)))}
    gather(session, 2)
    assert own(session) == {soup(9), soup(3), pull(3), use(3)}


def test_no_more_is_gathered_at_a_time_than_others_wait_for(session: Session) -> None:
    left = len(own(session))
    gather(session, DAYS, 5)
    assert len(own(session)) == left - 5


def test_what_is_said_of_gathered_work_is_added_to_what_was_said_and_fixes_it_or_leaves_it(session: Session) -> None:
    gather(session, DAYS)
    for work in (soup(1), pull(1)):
        fixed, said = reports.fixed(session, SITE, [work]), reports.of_work(session, SITE, work)
        say(session, f"{work}.3", work, 3)
        assert reports.fixed(session, SITE, [work]) == fixed
        assert [row.number for row in reports.of_work(session, SITE, work)] == [*(row.number for row in said), 1]
        assert reports.about(session, SITE, work).known.reports == len(said) + 1
    newer = FixedRow(work=soup(1), kind="run", since=DAY, document={"quantity": 7})
    say(session, f"{soup(1)}.3", soup(1), 3, newer)
    assert reports.fixed(session, SITE, [soup(1)]) == [newer]
    before = known(session)
    gather(session, DAYS)
    assert own(session) == {soup(9)}
    # The print that the soup stood on was kept until now.
    assert known(session)[:-1] == before[:-1]


@pytest.mark.parametrize("gathered", [-1, 0, DAYS])
def test_what_is_forgotten_is_gone_gathered_or_not_and_what_is_to_be_kept_stays(session: Session, gathered: int) -> None:
    gather(session, gathered)
    before, keep = DAY + timedelta(2), {pull(0)}
    kept = {row.work: row for row in reports.fixed_since(session, SITE, EVER)}
    removed = 0
    while some := work_reports.forget(session, SITE, before, keep, 2):
        removed += some
    # Of soup of the first day something was said on the third.
    assert set(kept) - {row.work for row in reports.fixed_since(session, SITE, EVER)} == {soup(1), pull(1)}
    assert {row.work for row in reports.since(session, SITE, EVER, [])} >= {pull(0), soup(0), soup(2)}
    assert removed == 4
    assert reports.since(session, OTHER, EVER, [])


def test_no_print_goes_that_gathered_work_stands_on(session: Session) -> None:
    gather(session, DAYS)
    work_reports.forget(session, SITE, DAY + timedelta(1), set(), ALL)
    end = DAY + timedelta(DAYS)
    stood_on = work_reports.prints_behind(session, SITE, end)
    assert stood_on == {PrintKey(DAY + timedelta(day), 1) for day in range(DAYS)}
    assert prints.forget(session, SITE, end, stood_on, ALL) == 0
    assert prints.forget(session, SITE, end, stood_on - {PrintKey(DAY, 1)}, ALL) == 1


def test_what_a_kitchen_reports_in_a_day_takes_a_tenth_once_it_is_gathered(session: Session) -> None:
    closed_days.drop(session, SITE, EVER)
    for number in range(2, 92):
        say(session, f"{soup(5, number)}.1", soup(5, number), 5)
    size = func.sum(func.length(own_rows.c.work) + func.length(own_rows.c.said))
    alone = session.execute(select(size).where(own_rows.c.until == DAY + timedelta(5))).scalar_one()
    gather(session, 5)
    columns = gathered_reports.c
    together = func.length(columns.works) + func.length(columns.said)
    assert session.execute(select(together).where(columns.date == DAY + timedelta(5))).scalar_one() * 10 < alone

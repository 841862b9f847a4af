"""What was said long ago goes, and no list of a date that is kept changes, on both databases, wherever it is ended."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Generator, Iterator
from contextlib import suppress
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session, sessionmaker

from service.api.nouns.forecasts import load_entries
from service.api.wire.json import render
from service.errors import Invalid
from service.operations import progress, tidiness
from service.operations.forecasts import push, read_push
from service.operations.lists import HOURS_BEFORE, ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.operations.past import closed_while_reading
from service.operations.tidiness import tidy
from service.store import capacity, closed_days, copying, prints, reports, revisions
from service.store.engine import make_engine, session_factory
from service.store.tables import capacity as capacities
from service.store.tables import counted_items, forecasts, gathered_reports, overrides, print_patterns, stock_counts
from service.store.tables import prints as printed
from tests.laws.listed import tasks
from tests.operations.pot import clock, count, expect, listed, load, print_on, report
from tests.serving import TOP
from tests.stockpot import CATALOGUE, SITE

START = date(2026, 11, 2)
DAYS = 10
TODAY = START + timedelta(DAYS)
KEEP = 3
FIRST = TODAY - timedelta(KEEP)
TABLES = (forecasts, overrides, capacities, stock_counts, printed, gathered_reports)
LONG_AGO = START - HOURS_BEFORE
COMMAND = "import service.operations.tidiness as t; t.PORTION = 1; from service.cli import main; main()"


@pytest.fixture(scope="module")
def lived(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """A kitchen that has printed daily for ten days, reported most of it, and counted now and then; tests copy it."""
    made = make_engine(f"sqlite:///{shutil.copy(migrated_file, tmp_path_factory.mktemp('lived') / 'kitchen.sqlite3')}")
    sessions = session_factory(made)
    with sessions.begin() as session:
        load(session, CATALOGUE)
    for day in range(DAYS):
        with sessions.begin() as session:
            live(session, START + timedelta(day), day)
    yield made
    made.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest) -> str:
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url


@pytest.fixture
def writers(engine: Engine, lived: Engine) -> sessionmaker[Session]:
    """Makes sessions on a copy of the kitchen that has lived."""
    copying.copy(lived, engine, lambda *_: None)
    return session_factory(engine)


def live(session: Session, on: date, day: int) -> None:
    """One day: it is counted, printed in the morning, and by the evening most of it is done."""
    catalogue, now = load_catalogue(session), clock(on, 5)
    if day == 0:
        for dated in (LONG_AGO, on):
            capacity.save(session, SITE, dated, {"shifts": [], "equipment": None, "note": "closed"})
    expect(session, on + timedelta(1), 20 + day)
    entry = {"site": SITE, "date": f"{on + timedelta(2)}", "period": "lunch", "menu_item": "bowl", "count": 12 + day}
    push(session, read_push({"source": "till", "as_of": now.isoformat(), "entries": [entry]}, catalogue, now, load_entries))
    if day % 4 == 1:
        count(session, {"recipe": "stock"}, {"amount": 3, "unit": "L"}, clock(on, 6))
    if day == 2:
        count(session, {"ingredient": "onion"}, {"amount": 2, "unit": "kg"}, clock(on, 6))
    print_on(session, on, clock(on, 8))
    for place, task in enumerate(sorted(listed(session, on, clock(on, 9)))):
        if place % 5 != day % 5:
            report(session, on, task, clock(on, 16), "doing" if place % 7 == 3 else "done")


def lists(engine: Engine) -> dict[date, bytes]:
    """The bytes of the list of every date that is kept, and of some to come."""
    with session_factory(engine, read_only=True)() as session:
        asked = [ListRequest(site=SITE, on=FIRST + timedelta(days), trace=True) for days in range(KEEP + 3)]
        found = {request.on: render(prep_list(session, request, clock(TODAY, 9))) for request in asked}
        closed_while_reading(session)
    return found


def rows(writers: sessionmaker[Session]) -> dict[str, int]:
    with writers() as session:
        return {table.name: session.execute(select(func.count()).select_from(table)).scalar_one() for table in TABLES}


def run(engine: Engine) -> Generator[tidiness.Removed]:
    return tidy(session_factory(engine, read_only=True), session_factory(engine).begin, SITE, FIRST, clock(TODAY, 9))


def test_no_list_of_a_date_that_is_kept_changes_by_a_byte(engine: Engine, writers: sessionmaker[Session]) -> None:
    before, full = lists(engine), rows(writers)
    told = list(run(engine))
    assert lists(engine) == before
    assert {each.kind for each in told} == {"forecasts", "overrides", "capacity", "counts", "reported works", "prints"}
    left = rows(writers)
    assert all(left[table.name] < full[table.name] for table in TABLES)
    assert list(run(engine)) == []
    assert rows(writers) == left
    with writers() as session:
        for table in (forecasts, overrides):
            assert session.execute(select(func.min(table.c.date))).scalar_one() >= FIRST
        # Onions were counted once, long ago: what is known of them stays.
        assert "ingredient:onion" in session.execute(select(counted_items.c.item)).scalars().all()


def test_what_is_kept_of_reports_and_prints_can_be_read(engine: Engine, writers: sessionmaker[Session]) -> None:
    with writers() as session:
        known = {row.work: row for row in reports.fixed_since(session, SITE, date.min)}
        sheets = {on: prints.read(session, SITE, on, 1) for on in (FIRST + timedelta(days) for days in range(KEEP))}
    list(run(engine))
    with writers() as session:
        kept = reports.fixed_since(session, SITE, date.min)
        assert 0 < len(kept) < len(known)
        assert all(known[row.work] == row for row in kept)
        assert {on: prints.read(session, SITE, on, 1) for on in sheets} == sheets
        assert session.execute(select(func.count()).select_from(print_patterns)).scalar_one() >= 1


def test_the_past_before_stays_closed_whatever_is_said_of_it(engine: Engine, writers: sessionmaker[Session]) -> None:
    list(run(engine))
    before = lists(engine)
    with writers.begin() as session:
        count(session, {"recipe": "stock"}, {"amount": 90, "unit": "L"}, clock(START, 6))
        closed_days.drop(session, SITE, START)
    assert lists(engine) == before
    with writers() as session, pytest.raises(Invalid, match="not acceptable") as refused:
        prep_list(session, ListRequest(site=SITE, on=FIRST - timedelta(1)), clock(TODAY, 9))
    assert "was removed" in refused.value.faults[0].detail


def test_a_report_of_a_day_that_is_kept_counts_as_it_would_have(engine: Engine, writers: sessionmaker[Session]) -> None:
    """A twin that forgot nothing has the same lists after it."""

    def after_a_report() -> dict[date, bytes]:
        with writers() as session:
            sheets = [prints.read(session, SITE, FIRST + timedelta(days), 1) for days in range(KEEP)]
            shown = ((sheet.date, each["id"]) for sheet in sheets if sheet for each in tasks(sheet.document))
            on, task = next((on, task) for on, task in shown if task.startswith("make."))
            request = ListRequest(site=SITE, on=on)
            body = {"state": "skipped", "made": None, "begun": None, "drawn": None, "at": None, "note": "burnt"}
            progress.keep(session, progress.prepare(session, request, task, body, clock(TODAY, 9)))
            asked = [ListRequest(site=SITE, on=FIRST + timedelta(days)) for days in range(1, KEEP + 3)]
            found = {each.on: render(prep_list(session, each, clock(TODAY, 9))) for each in asked}
            session.rollback()
        return found

    whole = after_a_report()
    list(run(engine))
    assert after_a_report() == whole


def test_nothing_is_lost_wherever_it_ends_and_it_goes_on_where_it_ended(
    engine: Engine, writers: sessionmaker[Session], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tidiness, "PORTION", 3)
    before, full, ends = lists(engine), rows(writers), 0
    while True:
        portions = run(engine)
        gone = list(zip(range(ends % 3 + 1), portions, strict=False))
        portions.close()
        assert lists(engine) == before
        ends += 1
        if not gone:
            break
    assert ends > 5
    assert rows(writers)["prints"] < full["prints"]


def test_a_portion_that_fails_leaves_all_its_rows(engine: Engine, writers: sessionmaker[Session], monkeypatch: pytest.MonkeyPatch) -> None:
    before, full = lists(engine), rows(writers)

    def fail(*_: object) -> None:
        raise OSError("no room")

    with monkeypatch.context() as patch:
        patch.setattr(revisions, "bump", fail)
        with pytest.raises(OSError, match="no room"):
            list(run(engine))
    assert (rows(writers), lists(engine)) == (full, before)


def test_killed_in_the_middle_it_has_lost_nothing(engine: Engine, writers: sessionmaker[Session], database_url: str) -> None:
    before, full = lists(engine), rows(writers)
    environment = {**os.environ, "DATABASE_URL": database_url, "KITCHEN_PREP_NOW": clock(TODAY, 9).isoformat(), "PYTHONPATH": str(TOP)}
    command = [sys.executable, "-c", COMMAND, "tidy", "--keep", str(KEEP)]
    with subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as tidying:
        assert tidying.stderr is not None
        told = [tidying.stderr.readline() for _ in range(4)]
        with suppress(ProcessLookupError):
            tidying.send_signal(signal.SIGKILL)
    assert f"quay (2 of 2): 3 forecasts from before {FIRST}\n" in told
    assert lists(engine) == before
    assert rows(writers)["forecasts"] < full["forecasts"]
    list(run(engine))
    assert lists(engine) == before

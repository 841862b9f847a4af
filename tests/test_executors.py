"""A whole group on real workers: processes of this machine, and a local cluster over PostgreSQL."""

import json
import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import chain
from pathlib import Path

import pytest
from distributed import Client
from sqlalchemy import Engine

from service import demo, executors
from service.api.schemas.imports import ImportBody
from service.api.wire.json import render
from service.config import Config
from service.executors import GroupRequest, NoCluster, SiteLine
from service.operations.imports import import_catalogue, prepare_import
from service.operations.kept_plans import kept_plans
from service.operations.lists import ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.shell import read_document
from service.store.engine import make_engine, session_factory

SECONDS = 30
NOW = datetime(2026, 12, 2, 13, tzinfo=UTC)
DAY = date(2026, 12, 3)
SITES = [f"site-{number}" for number in range(16)]


def asked(url: str, *, whole: bool = False, first: date | None = None) -> GroupRequest:
    return GroupRequest(config=Config(database_url=url), on=DAY, first=first, whole=whole, now=NOW)


def fill(engine: Engine) -> None:
    """Load the demo's catalogue with many more sites that are all as its first, and what that one expects."""
    catalogue = demo.seed("catalogue")
    catalogue["sites"] += [catalogue["sites"][0] | {"code": code} for code in SITES]
    body = demo.seed("forecasts")[0]
    expected = [entry for entry in body["entries"] if entry["site"] == "mill-street" and entry["day"] <= 2]
    body["entries"] = [entry | {"site": code, "count": entry["count"] + number} for number, code in enumerate(SITES) for entry in expected]
    with session_factory(engine).begin() as session:
        import_catalogue(session, prepare_import(session, read_document(ImportBody, catalogue), NOW, None))
    with session_factory(engine).begin() as session:
        demo.push_forecasts(session, body, load_catalogue(session), NOW)


def one_by_one(engine: Engine) -> list[str]:
    """The lists of all sites as anybody else gets them."""
    with session_factory(engine, read_only=True)() as session:
        return [render(prep_list(session, ListRequest(site=site, on=DAY), NOW)).decode() for site in SITES]


def ordered(lines: Iterable[SiteLine]) -> list[str]:
    """The texts of lines in the order of their sites: none may be missing or there twice."""
    found = sorted(lines, key=lambda line: SITES.index(line.site))
    assert [line.site for line in found] == SITES
    return [line.text for line in found]


def test_processes_write_the_lists_that_are_planned_one_by_one(engine: Engine, database_url: str) -> None:
    fill(engine)
    written = chain.from_iterable(executors.plan_sites(executors.processes(2), asked(database_url, whole=True), SITES))
    assert ordered(written) == one_by_one(engine)


def test_a_process_killed_in_the_middle_leaves_nothing_missing_and_nothing_twice(engine: Engine, database_url: str) -> None:
    fill(engine)
    crew, started = executors.processes(2), []
    counted = replace(crew, start=lambda: started.append(True) or crew.start())  # type: ignore[func-returns-value]
    written: list[SiteLine] = []
    for lines in executors.plan_sites(counted, asked(database_url, whole=True), SITES):
        if not written:
            victim = multiprocessing.active_children()[0].pid
            assert victim is not None
            os.kill(victim, signal.SIGKILL)
        written += lines
    assert len(started) == 2
    assert ordered(written) == one_by_one(engine)


def test_a_refused_site_has_a_line_that_says_why(engine: Engine, database_url: str) -> None:
    fill(engine)
    [line] = executors.plan_block(asked(database_url, first=date(2026, 12, 4)), ("site-1",))
    assert json.loads(line.text) == {"site": "site-1", "date": "2026-12-03", "error": line.refused}
    assert "the list's date 2026-12-03 is before 2026-12-04" in str(line.refused)


def test_a_line_tells_what_a_list_amounts_to(engine: Engine, database_url: str) -> None:
    fill(engine)
    [line] = executors.plan_block(asked(database_url), ("site-1",))
    told, document = json.loads(line.text), json.loads(one_by_one(engine)[1])
    tasks = [task for station in document["stations"] for task in station["tasks"]]
    assert len(tasks) > 5
    assert told == {
        "site": "site-1",
        "date": "2026-12-03",
        "from": "2026-12-02",
        "tasks": len(tasks),
        "late": len([task for task in tasks if task["late"]]),
        "pulls": len(document["pulls"]),
        "left_over": len(document["left_over"]),
        "warnings": len(document["warnings"]),
    }


def test_nothing_is_kept_of_what_a_group_asked(engine: Engine, database_url: str) -> None:
    fill(engine)
    executors.plan_block(asked(database_url), tuple(SITES[:2]))
    made = executors._engine(asked(database_url).config)
    assert not kept_plans(made.pool)._plans


def test_a_cluster_needs_postgresql(database_url: str) -> None:
    with pytest.raises(NoCluster, match="SQLite is for one machine"):
        executors.cluster(Config(database_url=database_url), "tcp://127.0.0.1:8786")


def test_a_cluster_needs_its_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(NoCluster, match=r"install kitchen-prep\[cluster\]"):
        executors.cluster(Config(database_url="postgresql://host/kitchen"), "tcp://127.0.0.1:8786")


def test_a_cluster_needs_a_scheduler(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(executors, "CLUSTER_SECONDS", 0.2)
    with pytest.raises(NoCluster, match=r"no scheduler answers at tcp://127\.0\.0\.1:9"):
        executors.cluster(Config(database_url="postgresql://host/kitchen"), "tcp://127.0.0.1:9")


@contextmanager
def running_cluster(place: Path, workers: int) -> Iterator[tuple[str, Client]]:
    """The address of a scheduler with workers, started as its documents say, and a client of it."""
    file = place / "scheduler.json"
    program = Path(sys.executable).with_name("dask")
    common: list[str | Path] = ["--no-dashboard", "--scheduler-file", file]
    scheduler: list[str | Path] = [program, "scheduler", "--host", "127.0.0.1", "--port", "0", *common]
    worker: list[str | Path] = [program, "worker", "--nworkers", str(workers), "--nthreads", "1", "--local-directory", place, *common]
    with (place / "log").open("w") as log, ExitStack() as stack:
        for command in (scheduler, worker):
            process = stack.enter_context(subprocess.Popen(command, cwd=place, stdout=log, stderr=log))
            stack.callback(process.terminate)
            if command is scheduler:
                until(file.exists)
        address = json.loads(file.read_text())["address"]
        with Client(address) as client:
            client.wait_for_workers(workers, timeout=SECONDS)
            yield address, client


def until(happened: Callable[[], object]) -> None:
    end = time.monotonic() + SECONDS
    while not happened():
        assert time.monotonic() < end
        time.sleep(0.05)


def test_a_cluster_s_worker_killed_in_the_middle_leaves_nothing_missing_and_nothing_twice(postgresql_url: str, tmp_path: Path) -> None:
    engine = make_engine(postgresql_url)
    fill(engine)
    request = asked(postgresql_url, whole=True)
    written: list[SiteLine] = []
    with running_cluster(tmp_path, 2) as (address, client):
        pids = client.run(os.getpid)
        crew = executors.cluster(request.config, address)
        assert crew.workers == 2
        for lines in executors.plan_sites(crew, request, SITES):
            if not written:
                busy = next(worker for worker, blocks in client.processing().items() if blocks)
                os.kill(pids[busy], signal.SIGKILL)
            written += lines
    assert ordered(written) == one_by_one(engine)
    engine.dispose()

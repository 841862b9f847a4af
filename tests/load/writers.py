"""Those who write at once, by the number of workers: python -m tests.load.writers.

Cooks report as fast as they are answered, all in one kitchen and each in one of their own: how many reports are taken a second, and
what CPU does one take? PostgreSQL runs as it does in production: what is acknowledged has reached the disk. Then a catalogue
is imported, the same again and with every recipe changed, while a till pushes: how long does each take, and how long does the till
wait? It ends with status 1 where anything fails.
"""

import json
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import AbstractContextManager, closing
from datetime import timedelta
from http import HTTPStatus
from pathlib import Path
from typing import Any

import click

from service.config import Config
from service.kitchen.planning.names import work_of
from service.operations.tokens import create_token
from service.shell import writing
from service.store import migration
from service.store.engine import make_engine
from tests import postgresql
from tests.bench import trade
from tests.bench.workload import NOW as OPENING
from tests.bench.workload import START, Size, Workload
from tests.load.cooks import Paper, Shift, work
from tests.load.morning import Book, Client
from tests.load.report import percentile
from tests.load.scene import DAY, NOW, Scene, fresh, prepare
from tests.load.together import tasks_of, turns
from tests.serving import Served, serving

PLENTY = {"KITCHEN_PREP_REQUESTS_PER_MINUTE": "10000000"}
SECONDS = 120
# Of so many lists at least: the tasks of few would be reported more often than any cook does.
PAPERS = 4
Json = dict[str, Any]


def call(served: Served, token: str, book: Book) -> AbstractContextManager[Client]:
    """A caller with a line of its own, which ends with the block."""
    return closing(Client(served, token, book, time.monotonic() + SECONDS, 1))


def printed(served: Served, scene: Scene, book: Book, days: int) -> list[Paper]:
    """The lists of the next days of each kitchen, with guests, printed; what stands on several stands on one paper alone."""
    dates = [DAY + timedelta(number) for number in range(days)]
    for till in scene.tills:
        entries = [{**key, "date": str(on), "count": 100} for key in till.keys if key["date"] == str(DAY) for on in dates]
        with call(served, till.token, book) as counter:
            counter.ask("push", "POST", "/v1/forecasts", {"source": till.source, "as_of": NOW.isoformat(), "entries": entries})
    papers, seen = [], set[str]()
    for on in dates:
        for site, token in scene.kitchens.items():
            day = f"/v1/sites/{site}/prep-lists/{on}"
            with call(served, token, book) as tablet:
                tasks = tasks_of(json.loads(tablet.ask("print", "POST", f"{day}/prints")[2]))
            papers.append(Paper(day, token, [task for task in tasks if work_of(task)[1] not in seen]))
            seen |= {work_of(task)[1] for task in tasks}
    return papers


def postmaster(url: str) -> int:
    """The process of PostgreSQL that has started all others."""
    engine = make_engine(url)
    with engine.connect() as connection:
        # Its own process ends with the connection.
        backend = connection.exec_driver_sql("SELECT pg_backend_pid()").scalar_one()
        stat = Path(f"/proc/{backend}/stat").read_text("utf-8")
    engine.dispose()
    return int(stat.rsplit(")", 1)[1].split()[1])


def told(shift: Shift) -> str:
    """What cooks got through, how long they waited, and what it took."""
    waits = [percentile(shift.waits, part) * 1000 for part in (50, 99, 100)]
    taken = ", ".join(f"{name} {seconds / len(shift.waits) * 1000:.2f}" for name, seconds in shift.cpu.items())
    return f"{shift.rate:.0f} a second, after {waits[0]:.0f} ms, 99 % {waits[1]:.0f}, all {waits[2]:.0f}; CPU of each, ms: {taken}"


def reports(database: str, workers: int, cooks: int, kitchens: int, seconds: float, tell: Callable[[str], None]) -> list[str]:
    """Let cooks of so many kitchens report on a fresh database; what failed."""
    book = Book()
    with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder), postgresql.DURABLE) as url:
        scene = prepare(url, kitchens)
        with serving(url, Path(folder), workers=workers, KITCHEN_PREP_NOW=NOW.isoformat(), **PLENTY) as served:
            papers = printed(served, scene, book, max(1, PAPERS // kitchens))
            watched = {"service": served.process.pid} | ({"database": postmaster(url)} if database == "postgresql" else {})
            # Until then every worker has seen the catalogue, and made what it makes once.
            shift = work(served.port, papers, watched, cooks=cooks, warm=seconds / 2, seconds=seconds)
            tell(f"{database}, {workers} workers: {cooks} cooks of {kitchens} kitchens report {told(shift)}")
            page = served.send("GET", "/metrics").content.decode()
            tell("\n".join(line for line in turns(page) if "progress" in line or "number" in line))
    return book.faults + [f"{number} reports were answered {status}" for status, number in shift.refused.items()]


def imports(served: Served, token: str, book: Book, workload: Workload) -> dict[str, tuple[float, list[float]]]:
    """Seconds of each import of a workload, and those of the pushes beside it, in order."""
    body, over = workload.catalogue(), threading.Event()
    changed = [{**recipe, "title": f"{recipe['title']}, again", "publish_from": str(START)} for recipe in body["recipes"]]
    entries = next(list(some) for some in trade.pushes(workload, START, 1, 50))
    pushed: list[float] = []

    def till() -> None:
        number = 0
        with call(served, token, book) as counter:
            while not over.is_set():
                number += 1
                as_of = f"2026-12-02T06:{number // 60 % 60:02}:{number % 60:02}Z"
                body = {"source": "bench", "as_of": as_of, "entries": [{**entry, "count": number % 300} for entry in entries]}
                started = time.monotonic()
                counter.ask("push", "POST", "/v1/forecasts", body)
                pushed.append(time.monotonic() - started)

    told, tills = dict[str, tuple[float, list[float]]](), threading.Thread(target=till)
    with call(served, token, book) as office:
        for name, sent in (("new", body), ("the same", body), ("every recipe changed", {**body, "recipes": changed})):
            started, before = time.monotonic(), len(pushed)
            status, _, content = office.ask("import", "POST", "/v1/imports", sent)
            told[name] = (time.monotonic() - started, sorted(pushed[before:]))
            if status != HTTPStatus.OK:
                book.fault(f"{status} on an import: {content[:200]!r}")
            if name == "new":
                tills.start()
    over.set()
    tills.join()
    return told


def catalogues(database: str, workers: int, recipes: int, tell: Callable[[str], None]) -> list[str]:
    """Import so many recipes into a fresh database beside a till; what failed."""
    book, workload = Book(), Workload(Size(20, recipes // 3 + 1, recipes, 2 * recipes))
    with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder)) as url:
        migration.upgrade(url)
        with writing(Config(database_url=url, pinned=OPENING)) as session:
            token = create_token(session, "office", "director", None, None, 1, OPENING)[0]
        with serving(url, Path(folder), workers=workers, KITCHEN_PREP_NOW=OPENING.isoformat(), **PLENTY) as served:
            for name, (taken, pushed) in imports(served, token, book, workload).items():
                waited = f", a push beside it {pushed[len(pushed) // 2]:.3f} s, {pushed[-1]:.3f} at most" if pushed else ""
                tell(f"{database}, {workers} workers: an import of {recipes} recipes, {name}, takes {taken:.1f} s{waited}")
            page = served.send("GET", "/metrics").content.decode()
    tell("\n".join(line for line in turns(page) if "/v1/imports" in line or "number" in line))
    return book.faults


def run(database: str, workers: int, cooks: int, recipes: int, seconds: float, tell: Callable[[str], None]) -> list[str]:
    """Measure all of it, each part on a fresh database; what failed."""
    faults = [fault for kitchens in (1, cooks) for fault in reports(database, workers, cooks, kitchens, seconds, tell)]
    return faults + (catalogues(database, workers, recipes, tell) if recipes else [])


@click.command()
@click.option("--database", "databases", multiple=True, type=click.Choice(["sqlite", "postgresql"]), default=("sqlite", "postgresql"))
@click.option("--workers", multiple=True, default=(1, 2, 4), show_default=True, help="How many processes answer.")
@click.option("--cooks", default=16, show_default=True, help="How many report at once.")
@click.option("--recipes", default=1_000, show_default=True, help="How many are imported; 0: none.")
@click.option("--seconds", default=5.0, show_default=True, help="For how long reports are counted, once all are warm.")
def load(databases: tuple[str, ...], workers: tuple[int, ...], cooks: int, recipes: int, seconds: float) -> None:
    """Let cooks report, and a catalogue be imported while a till pushes, for each number of workers."""
    faults = [fault for database in databases for number in workers for fault in run(database, number, cooks, recipes, seconds, click.echo)]
    for fault in faults:
        click.echo(fault, err=True)
    sys.exit(bool(faults))


if __name__ == "__main__":
    load()

"""Those who write at once, by the number of workers: python -m tests.load.writers.

Cooks report as fast as they are answered, all in one kitchen and each in one of their own: how many reports are taken a second?
Then a catalogue is imported, the same again and with every recipe changed, while a till pushes: how long does each take, and
how long does the till wait? It ends with status 1 where anything fails.
"""

import json
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import AbstractContextManager, closing
from http import HTTPStatus
from pathlib import Path
from typing import Any

import click

from service.config import Config
from service.operations.tokens import create_token
from service.shell import writing
from service.store import migration
from tests.bench import trade
from tests.bench.workload import NOW as OPENING
from tests.bench.workload import START, Size, Workload
from tests.load.morning import Book, Client
from tests.load.scene import DAY, NOW, Scene, fresh, prepare
from tests.load.together import tasks_of, turns
from tests.serving import Served, serving

PLENTY = {"KITCHEN_PREP_REQUESTS_PER_MINUTE": "10000000"}
SECONDS = 120
Json = dict[str, Any]


def call(served: Served, token: str, book: Book) -> AbstractContextManager[Client]:
    """A caller with a line of its own, which ends with the block."""
    return closing(Client(served, token, book, time.monotonic() + SECONDS, 1))


def together(work: Callable[[int], None], number: int) -> None:
    """Do something so many times at once."""
    threads = [threading.Thread(target=work, args=(place,)) for place in range(number)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def reports(served: Served, scene: Scene, book: Book, *, cooks: int, seconds: float) -> float:
    """How many reports a second so many cooks get through, spread over the kitchens of a scene, each of which has a print."""
    papers = []
    for site, token in scene.kitchens.items():
        day = f"/v1/sites/{site}/prep-lists/{DAY}"
        with call(served, token, book) as tablet:
            printed = json.loads(tablet.ask("print", "POST", f"{day}/prints")[2])
        papers.append((day, token, tasks_of(printed)))
    taken: list[int] = []

    def cook(place: int) -> None:
        day, token, tasks = papers[place % len(papers)]
        end, number = time.monotonic() + seconds, 0
        with call(served, token, book) as tablet:
            while time.monotonic() < end:
                # Cooks of one kitchen report different tasks.
                task = tasks[(place + number * cooks) % len(tasks)]
                status, _, _ = tablet.ask("report", "PUT", f"{day}/tasks/{task}/progress", {"state": "done", "note": str(number)})
                number += 1
                if status != HTTPStatus.OK:
                    book.fault(f"{status} on a report of {task}")
        taken.append(number)

    together(cook, cooks)
    return sum(taken) / seconds


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


def run(database: str, workers: int, cooks: int, recipes: int, seconds: float, tell: Callable[[str], None]) -> list[str]:
    """Measure all of it on a fresh database; what failed."""
    book = Book()
    for kitchens in (1, cooks):
        with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder)) as url:
            scene = prepare(url, kitchens)
            with serving(url, Path(folder), workers=workers, KITCHEN_PREP_NOW=NOW.isoformat(), **PLENTY) as served:
                rate = reports(served, scene, book, cooks=cooks, seconds=seconds)
        tell(f"{database}, {workers} workers: {cooks} cooks of {kitchens} kitchens report {rate:.0f} tasks a second")
    workload = Workload(Size(20, recipes // 3 + 1, recipes, 2 * recipes))
    with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder)) as url:
        migration.upgrade(url)
        with writing(Config(database_url=url, pinned=OPENING)) as session:
            token = create_token(session, "office", "director", None, None, 1, OPENING)[0]
        with serving(url, Path(folder), workers=workers, KITCHEN_PREP_NOW=OPENING.isoformat(), **PLENTY) as served:
            for name, (taken, pushed) in imports(served, token, book, workload).items():
                waited = f", a push beside it {pushed[len(pushed) // 2]:.3f} s, {pushed[-1]:.3f} at most" if pushed else ""
                tell(f"{database}, {workers} workers: an import of {recipes} recipes, {name}, takes {taken:.1f} s{waited}")
            held = [line for line in turns(served.send("GET", "/metrics").content.decode()) if "/v1/imports" in line or "number" in line]
    tell("\n".join(held))
    return book.faults


@click.command()
@click.option("--database", "databases", multiple=True, type=click.Choice(["sqlite", "postgresql"]), default=("sqlite", "postgresql"))
@click.option("--workers", multiple=True, default=(1, 2, 4), show_default=True, help="How many processes answer.")
@click.option("--cooks", default=16, show_default=True, help="How many report at once.")
@click.option("--recipes", default=1_000, show_default=True, help="How many are imported.")
@click.option("--seconds", default=5.0, show_default=True, help="For how long the cooks report.")
def load(databases: tuple[str, ...], workers: tuple[int, ...], cooks: int, recipes: int, seconds: float) -> None:
    """Let cooks report, and a catalogue be imported while a till pushes, for each number of workers."""
    faults = [fault for database in databases for number in workers for fault in run(database, number, cooks, recipes, seconds, click.echo)]
    for fault in faults:
        click.echo(fault, err=True)
    sys.exit(bool(faults))


if __name__ == "__main__":
    load()

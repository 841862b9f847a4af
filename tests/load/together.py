"""Cooks who tap "done" together, while a till pushes for their kitchen and other kitchens pull lists: python -m tests.load.together.

It tells how long cooks and till waited, and how long each kind of request held the one writer. It ends with status 1 where
anything failed, or where a report that was acknowledged is not there.
"""

import json
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from datetime import timedelta
from http import HTTPStatus
from itertools import count
from pathlib import Path
from typing import Any

import click
from prometheus_client.parser import text_string_to_metric_families

from tests.load.morning import Book, Client
from tests.load.report import lines
from tests.load.scene import DAY, NOW, Scene, Till, fresh, prepare
from tests.serving import Served, serving

# A list is planned from up to so many dates before it.
DATES = 30
HELD, WAITED = "kitchen_prep_writer_seconds", "kitchen_prep_writer_wait_seconds"


def run(served: Served, scene: Scene, *, rounds: int, cooks: int, printed: bool, seconds: float) -> Book:
    """So many rounds at the first site: the cooks report a task each and the first till pushes, all at the same moment."""
    book, over, till = Book(), threading.Event(), scene.tills[0]
    (site, token), *others = scene.kitchens.items()
    day = f"/v1/sites/{site}/prep-lists/{DAY}"
    # Whatever ends it, the screens are told before the pool waits for them.
    with ThreadPoolExecutor(cooks + 1 + len(others)) as pool, ExitStack() as closing:

        def call(secret: str) -> Client:
            client = Client(served, secret, book, time.monotonic() + seconds, 1)
            closing.callback(client.close)
            return client

        closing.callback(over.set)
        counter, tablets = call(till.token), [call(token) for _ in range(cooks)]
        push(counter, till, site, 0)
        paper = json.loads(tablets[0].ask("print", "POST", f"{day}/prints")[2]) if printed else None
        # Only then: whoever prints needs a slot, which they have nearly all the time.
        screens = [pool.submit(watch, call(other), code, over) for code, other in others]
        for number in range(1, 1 + rounds):
            tasks = tasks_of(paper or json.loads(tablets[0].ask("list", "GET", day)[2]))
            chosen = [tasks[(number * cooks + place) % len(tasks)] for place in range(cooks)]
            begin = threading.Barrier(cooks + 1)
            taps = [pool.submit(at, begin, report, tablet, day, task, number) for tablet, task in zip(tablets, chosen, strict=True)]
            pushed = pool.submit(at, begin, push, counter, till, site, number)
            for task, tap in zip(chosen, taps, strict=True):
                status = tap.result()
                # What nobody printed may be called otherwise by now, once others report and the till counts more.
                if status == HTTPStatus.OK:
                    read_back(tablets[0], day, task, number)
                elif printed or status != HTTPStatus.NOT_FOUND:
                    book.fault(f"{status} on a report of {task}")
            pushed.result()
        over.set()
        for screen in screens:
            screen.result()
    if crashes := [told for told in served.told() if told["level"] in ("error", "critical")]:
        book.fault(f"the log tells of {len(crashes)} failures, such as {crashes[0]}")
    return book


def at(begin: threading.Barrier, work: Callable[..., int], *arguments: Any) -> int:
    """Do something at the moment at which all others begin, too; the status of the answer."""
    begin.wait()
    return work(*arguments)


def tasks_of(document: dict[str, Any]) -> list[str]:
    """The ids of all tasks of a list."""
    return [task["id"] for station in document["stations"] for task in station["tasks"]]


def report(tablet: Client, day: str, task: str, number: int) -> int:
    """One tap, until it is answered; with which status."""
    started = time.monotonic()
    status, _, _ = tablet.ask("report", "PUT", f"{day}/tasks/{task}/progress", {"state": "done", "note": str(number)})
    tablet.book.note("report, with all waiting", status, time.monotonic() - started)
    return status


def read_back(tablet: Client, day: str, task: str, number: int) -> None:
    """The report of a task is the one that was acknowledged."""
    told = json.loads(tablet.ask("report read", "GET", f"{day}/tasks/{task}/progress")[2])
    if (told.get("state"), told.get("note")) != ("done", str(number)):
        tablet.book.fault(f"the report of {task} is not there: {told}")


def push(counter: Client, till: Till, site: str, number: int) -> int:
    """New counts for the cooks' site, until they are answered; with which status."""
    entries = [{**key, "count": 100 + number} for key in till.keys if key["site"] == site]
    body = {"source": till.source, "as_of": NOW.replace(hour=number // 60, minute=number % 60).isoformat(), "entries": entries}
    started = time.monotonic()
    status, _, content = counter.ask("push", "POST", "/v1/forecasts", body)
    counter.book.note("push, with all waiting", status, time.monotonic() - started)
    if status != HTTPStatus.OK:
        counter.book.fault(f"{status} on a push: {content[:200]!r}")
    return status


def watch(screen: Client, site: str, over: threading.Event) -> None:
    """A kitchen elsewhere that pulls one list after the other, none of which was planned before."""
    for number in count():
        if over.is_set():
            return
        first, on = DAY - timedelta(number % DATES), DAY + timedelta(number // DATES)
        screen.ask("list elsewhere", "GET", f"/v1/sites/{site}/prep-lists/{on}?from={first}")


def turns(page: str) -> list[str]:
    """A table of the turns to write: how often, and milliseconds on average, in half, in 95 % and in all of them at most."""
    told = [f"{'milliseconds of a turn to write':<72}{'number':>8}{'mean':>8}{'50 %':>8}{'95 %':>8}{'all':>8}"]
    for family in text_string_to_metric_families(page):
        if family.name not in (HELD, WAITED):
            continue
        buckets: dict[str, list[tuple[float, float]]] = {}
        sums: dict[str, float] = {}
        for sample in family.samples:
            name = f"{'waited' if family.name == WAITED else 'held'} {sample.labels['method']} {sample.labels['route']}"
            if sample.name.endswith("_bucket"):
                buckets.setdefault(name, []).append((float(sample.labels["le"]), sample.value))
            elif sample.name.endswith("_sum"):
                sums[name] = sample.value
        for name, counted in sorted(buckets.items()):
            number = counted[-1][1]
            within = [next(limit for limit, count in counted if count >= number * part) * 1000 for part in (0.5, 0.95, 1)]
            told.append(f"{name:<72}{number:>8.0f}{sums[name] / number * 1000:>8.2f}" + "".join(f"{limit:>8.4g}" for limit in within))
    return told


@click.command()
@click.option("--database", "databases", multiple=True, type=click.Choice(["sqlite", "postgresql"]), default=("sqlite", "postgresql"))
@click.option("--rounds", default=20, show_default=True, help="How many times all of them tap and push.")
@click.option("--cooks", default=3, show_default=True, help="How many report at the same moment.")
@click.option("--others", default=2, show_default=True, help="How many other kitchens pull their list all the time.")
@click.option("--workers", default=2, show_default=True, help="How many processes answer.")
@click.option("--seconds", default=300.0, show_default=True, help="After which nobody waits any longer.")
def load(databases: tuple[str, ...], rounds: int, cooks: int, others: int, workers: int, seconds: float) -> None:
    """Let cooks report together while a till pushes for their kitchen, on a list that was printed and on one that was not."""
    failed = False
    for database in databases:
        for printed in (True, False):
            with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder)) as url:
                scene = prepare(url, 1 + others)
                with serving(url, Path(folder), workers=workers, KITCHEN_PREP_NOW=NOW.isoformat()) as served:
                    book = run(served, scene, rounds=rounds, cooks=cooks, printed=printed, seconds=seconds)
                    page = served.send("GET", "/metrics").content.decode()
            click.echo(f"{database}, {'a printed list' if printed else 'a list that was never printed'}")
            click.echo("\n".join([*lines(book), *turns(page)]) + "\n")
            failed = failed or bool(book.faults)
    sys.exit(failed)


if __name__ == "__main__":
    load()

"""Months of kitchens that print, count and report daily (python -m tests.load --history 63): made, then timed.

Responsible for making the history quickly and truthfully, by the service's own operations, and for what a list, a morning of
all kitchens, the lists of all sites and a day of history cost afterwards. Refuses to judge: who reads the figures does, by
what they should be.
"""

import json
import random
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from time import monotonic, process_time
from typing import Any

from sqlalchemy import make_url

from service import demo
from service.api.nouns.forecasts import load_entries
from service.api.schemas.counts import CountBody
from service.config import Config
from service.operations import prints, progress
from service.operations.counts import prepare_count, record_count
from service.operations.forecasts import push, read_push
from service.operations.lists import ListRequest, document_of, plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid, closed_while_reading, keep_closed
from service.operations.tokens import create_token
from service.shell import current_engine, read_document
from service.store.engine import session_factory
from tests import postgresql
from tests.load.morning import Book, Client
from tests.load.report import lines
from tests.load.scene import NOW, prepare
from tests.serving import Served, serving

Json = dict[str, Any]
START = NOW.replace(hour=15)
AHEAD = 3
# Of what a cook may find in the morning, how much there is.
FOUND = 0.8
DONE: Json = {"state": "done", "made": None, "begun": None, "drawn": None, "at": None, "note": ""}
TOLD = (0, 1, 2, 7, 14, 30, 60)
PAGES = (1, 10, 50)
LARGEST = 8
SIZES = {
    "sqlite": "SELECT tbl_name, sum(pgsize) FROM dbstat JOIN sqlite_schema USING (name) GROUP BY tbl_name",
    # But for the maps of free room: each table has one, and that takes the same however much it holds.
    "postgresql": """
        SELECT relname, pg_relation_size(oid) + CASE reltoastrelid WHEN 0 THEN 0 ELSE pg_relation_size(reltoastrelid) END
            + coalesce((SELECT sum(pg_relation_size(indexrelid)) FROM pg_index WHERE indrelid IN (oid, reltoastrelid)), 0)
        FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
    """,
}


@dataclass(frozen=True)
class History:
    """A database whose sites live day by day, with the token of each kitchen and that of a director."""

    url: str
    readers: Any
    writers: Any
    kitchens: dict[str, str]
    director: str
    guests: Sequence[Json]
    lots: Sequence[Json]

    def live(self, day: int, *, reports: bool = True) -> None:
        """One day of every site: guests are announced, it is counted at 6, printed at 9, and all is done as planned by the evening."""
        for site in self.kitchens:
            self.live_at(site, day, reports=reports)
        self.rest()

    def rest(self) -> None:
        """What PostgreSQL does by itself in any night: it finds the room of rows that are gone. A day made in a second leaves no time."""
        if self.url.startswith("postgresql"):
            postgresql.execute(make_url(self.url), "VACUUM")

    def live_at(self, site: str, day: int, *, reports: bool) -> None:
        """One day of one site."""
        on = START.date() + timedelta(day)
        dice = random.Random(f"{site} {on}")
        self.announce(site, on, dice)
        self.count(site, on, dice)
        request, at = ListRequest(site=site, on=on), hour(on, 9)
        with self.readers() as session:
            prepared = prints.prepare(session, request, at)
            closed = closed_while_reading(session)
        with self.writers() as session:
            keep_closed(session, closed, at)
            prints.keep(session, prepared, at, None)
        if reports:
            # A kitchen of the demo has ninety tasks a day: one transaction for all spares so many waits for the disk.
            with self.writers() as session:
                for each in entries(prepared.document):
                    progress.keep(session, progress.prepare(session, request, each["id"], DONE, hour(on, 16)))

    def announce(self, site: str, on: date, dice: random.Random) -> None:
        """What guests of a date and of those after it want, some more and some less than on any other day."""
        at = hour(on, 5)
        with self.readers() as session:
            catalogue = load_catalogue(session)
            entries = [
                {**each, "site": site, "date": f"{on + timedelta(ahead)}", "count": round(float(each["count"]) * dice.uniform(0.7, 1.3))}
                for ahead in range(AHEAD)
                for each in self.guests
            ]
            read = read_push({"source": "till-east", "as_of": at.isoformat(), "entries": entries}, catalogue, at, load_entries)
        with self.writers() as session:
            push(session, read)

    def count(self, site: str, on: date, dice: random.Random) -> None:
        """What a cook finds in the morning."""
        at = hour(on, 6)
        found = [lot for lot in self.lots if dice.random() < FOUND]
        body = read_document(
            CountBody, {"counted_at": at.isoformat(), "lots": [{**lot, "made_on": f"{on - timedelta(1)}"} for lot in found]}
        )
        with self.readers() as session:
            prepared = prepare_count(site, body, load_catalogue(session), at)
        with self.writers() as session:
            record_count(session, prepared, at)

    def seconds(self, day: int) -> float:
        """CPU of one list of the next date of the first site, planned and written anew; the best of five."""
        on, times = START.date() + timedelta(day + 1), []
        for _ in range(5):
            with self.readers() as session:
                catalogue = load_catalogue(session)
                site = catalogue.sites[next(iter(self.kitchens))]
                started = process_time()
                planned = plan_without(session, catalogue, site, on, on, Unsaid())
                document_of(session, planned, catalogue, site, ListRequest(site=site.code, on=on), hour(on, 5))
                times.append(process_time() - started)
        return min(times)

    def bytes(self) -> dict[str, int]:
        """What each table takes with its indexes."""
        with self.readers() as session:
            connection = session.connection()
            return {name: int(size) for name, size in connection.exec_driver_sql(SIZES[connection.dialect.name])}


@contextmanager
def opened(url: str, sites: int) -> Iterator[History]:
    """A new database of so many sites like the demo's, before its first day."""
    scene = prepare(url, sites)
    config = Config(database_url=url, pinned=START)
    with current_engine(config) as engine:
        writers = session_factory(engine).begin
        with writers() as session:
            director = create_token(session, "history", "director", None, None, 3650, START)[0]
            kitchens = {site: create_token(session, site, "kitchen", [site], None, 3650, START)[0] for site in scene.kitchens}
        history = History(
            url=url,
            readers=session_factory(engine, read_only=True),
            writers=writers,
            kitchens=kitchens,
            director=director,
            guests=[
                {name: each[name] for name in each if name not in ("site", "day")}
                for body in demo.seed("forecasts")
                for each in body["entries"]
                if each["site"] == demo.SITE and each["day"] == 1 and "event" not in each
            ],
            lots=[
                {name: lot[name] for name in ("item", "quantity", "in") if name in lot}
                for body in demo.seed("counts")
                if body["site"] == demo.SITE
                for lot in body["lots"]
            ],
        )
        history.rest()
        yield history


def hour(on: date, number: int) -> datetime:
    """An hour of a date in Chicago, in winter."""
    return datetime(on.year, on.month, on.day, tzinfo=START.tzinfo) + timedelta(hours=number + 6)


def entries(printed: Json) -> Iterator[Json]:
    """The tasks and pulls of a print."""
    for station in printed["stations"]:
        yield from station["tasks"]
    yield from printed["pulls"]


def measure(url: str, place: Path, sites: int, days: int, workers: int, seconds: float, *, reports: bool) -> Iterator[str]:
    """Live so many days, and tell what a list, a day, a morning and the lists of all sites cost then, line by line."""
    with opened(url, sites) as history:
        empty, started, first = history.bytes(), monotonic(), None
        half = empty
        for day in range(days):
            half = history.bytes() if day == days // 2 else half
            history.live(day, reports=reports)
            if day in TOLD or day == days - 1:
                taken = history.seconds(day)
                first = first or taken
                yield f"  day {day:3}: a list takes {taken * 1000:6.1f} ms of CPU, {taken / first:.2f} times day 0"
        made = monotonic() - started
        whole = history.bytes()
        yield f"  a site and day takes {told(grown(empty, whole), sites * days)}; made in {made:.0f} s"
        yield f"  of the second half {told(grown(half, whole), sites * (days - days // 2))}"
        on = START.date() + timedelta(days)
        with serving(url, place, workers=workers, KITCHEN_PREP_NOW=hour(on, 5).isoformat()) as served:
            started = monotonic()
            book = pull_all(served, history, on, seconds)
            yield f"  all {sites} lists in {monotonic() - started:.1f} s"
            yield from (f"  {line}" if not line.startswith("FAULT") else line for line in lines(book))
            for limit in PAGES:
                longest = page_seconds(served, history, on + timedelta(1), limit)
                yield f"  {limit:3} lists on a page: the slowest page took {longest:.2f} s"
            yield f"  memory of workers, at most: {', '.join(f'{each} MB' for each in memory(served))}"


def grown(before: dict[str, int], after: dict[str, int]) -> dict[str, int]:
    """How many bytes each table has grown by."""
    return {name: size - before.get(name, 0) for name, size in after.items()}


def told(sizes: dict[str, int], among: int) -> str:
    """Bytes in kB, by a number of sites and days: all, and those of the tables that take most."""
    most = sorted(sizes, key=sizes.__getitem__, reverse=True)[:LARGEST]
    each = ", ".join(f"{name} {sizes[name] / among / 1000:.1f}" for name in most)
    return f"{sum(sizes.values()) / among / 1000:.1f} kB ({each})"


def pull_all(served: Served, history: History, on: date, seconds: float) -> Book:
    """Every kitchen asks for its list at the same moment, and again when it is told to come back."""
    book, end = Book(), monotonic() + seconds
    begin = threading.Barrier(len(history.kitchens))

    def pull(site: str, token: str) -> None:
        client = Client(served, token, book, end, 1)
        begin.wait()
        try:
            if client.ask("list", "GET", f"/v1/sites/{site}/prep-lists/{on}")[0] != 200:
                book.fault(f"{site} has no list")
        finally:
            client.close()

    threads = [threading.Thread(target=pull, args=each) for each in history.kitchens.items()]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return book


def page_seconds(served: Served, history: History, on: date, limit: int) -> float:
    """How long the slowest page takes of the lists of all sites, so many on a page."""
    client, longest = Client(served, history.director, Book(), monotonic() + 600, 1), 0.0
    path: str | None = f"/v1/prep-lists/{on}?limit={limit}"
    while path:
        started = monotonic()
        status, _, content = client.ask("lists of all sites", "GET", path)
        longest = max(longest, monotonic() - started)
        if status != 200:
            raise RuntimeError(f"{status} on {path}: {content[:300]!r}")
        path = json.loads(content)["next"]
    client.close()
    return longest


def memory(served: Served) -> list[int]:
    """The most that each worker of a server ever held at a time, in MB."""
    parents = {int(file.parent.name): file.read_text("utf-8") for file in Path("/proc").glob("[0-9]*/status")}
    lines = {process: dict(line.split(":", 1) for line in told.splitlines()) for process, told in parents.items()}
    return [int(told["VmHWM"].split()[0]) // 1024 for told in lines.values() if int(told["PPid"]) == served.process.pid]

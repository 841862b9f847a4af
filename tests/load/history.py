"""A history by one command: python -m tests.load.history; what a list costs after weeks of printing, counting and reporting.

Responsible for making the history quickly and truthfully, through the interface, and for timing a list on some of its days.
Refuses to judge: a kitchen that prints daily must not get slower, and the last column says whether it does.
"""

import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import click
from flask import Flask

from service import demo
from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.lists import ListRequest, document_of, plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid
from service.operations.tokens import create_token
from tests.api.caller import Caller
from tests.load.scene import fresh

START = datetime(2026, 12, 2, 15, tzinfo=UTC)
TOLD = (0, 1, 2, 7, 14, 30, 60)
Json = dict[str, Any]


class Kitchen:
    """The demo's first site, lived in day by day: forecasts, a count in the morning, a print, and reports where they are made."""

    def __init__(self, url: str, *, reports: bool) -> None:
        self.config = Config(database_url=url, pinned=START, requests_per_minute=1_000_000)
        demo.prepare(self.config)
        self.app: Flask = create_app(self.config)
        with Interior.of(self.app).writers() as session:
            secret = create_token(session, "history", "director", None, None, 365, START)[0]
            session.commit()
        self.director = Caller(self.app.test_client(), secret)
        self.reports = reports
        self.guests = [
            each for body in demo.seed("forecasts") for each in body["entries"] if each["site"] == demo.SITE and each["day"] == 1
        ]
        self.lots = [each for body in demo.seed("counts") if body["site"] == demo.SITE for each in body["lots"]]

    def live(self, day: int) -> None:
        """One day: it is counted at 6, printed at 9, and where the kitchen reports, all is done as planned by the evening."""
        on = START.date() + timedelta(day)
        self.strike(day, 9)
        self.push(on)
        lots = [
            {**{name: lot[name] for name in ("item", "quantity", "in") if name in lot}, "made_on": f"{on - timedelta(1)}"}
            for lot in self.lots
        ]
        self.send("POST", f"/v1/sites/{demo.SITE}/counts", {"counted_at": f"{on}T12:00:00Z", "lots": lots}, 201)
        printed = self.send("POST", f"/v1/sites/{demo.SITE}/prep-lists/{on}/prints", None, 201)
        if self.reports:
            self.strike(day, 16)
            for entry in entries(printed):
                self.send("PUT", f"/v1/sites/{demo.SITE}/prep-lists/{on}/tasks/{entry['id']}/progress", {"state": "done"}, 200)
        self.strike(day, 17)

    def push(self, on: date) -> None:
        """What guests of a date and the two after it want."""
        body: Json = {"source": "till-east", "as_of": f"{on}T14:00:00Z"}
        for ahead in range(3):
            rows = [{**each, "date": f"{on + timedelta(ahead)}"} for each in self.guests]
            body["entries"] = [{name: value for name, value in row.items() if name != "day"} for row in rows]
            self.send("POST", "/v1/forecasts", body, 200)

    def strike(self, day: int, hour: int) -> None:
        """Let it be an hour of a day, in Chicago."""
        interior = Interior.of(self.app)
        interior.config = replace(self.config, pinned=START.replace(hour=6) + timedelta(days=day, hours=hour))

    def send(self, method: str, path: str, body: Any, status: int) -> Json:
        answer = self.director.send(method, path, body)
        if answer.status_code != status:
            raise click.ClickException(f"{method} {path}: {answer.status_code} {answer.get_data(as_text=True)[:300]}")
        document: Json = answer.get_json()
        return document

    def seconds(self, day: int) -> float:
        """CPU of one list of the next date, planned and written anew; the best of five."""
        on = START.date() + timedelta(day)
        now = START + timedelta(days=day, hours=8)
        times = []
        for _ in range(5):
            with Interior.of(self.app).readers() as session:
                catalogue = load_catalogue(session)
                site = catalogue.sites[demo.SITE]
                started = time.process_time()
                planned = plan_without(session, catalogue, site, on, on, Unsaid())
                document_of(session, planned, catalogue, site, ListRequest(site=site.code, on=on), now)
                times.append(time.process_time() - started)
        return min(times)


def entries(printed: Json) -> Iterator[Json]:
    """The tasks and pulls of a print."""
    for station in printed["stations"]:
        yield from station["tasks"]
    yield from printed["pulls"]


def measure(url: str, days: int, *, reports: bool) -> list[tuple[int, float]]:
    """How many seconds of CPU a list costs on some days of a history."""
    kitchen, told = Kitchen(url, reports=reports), []
    for day in range(days + 1):
        kitchen.live(day)
        if day in TOLD or day == days:
            told.append((day, kitchen.seconds(day)))
    return told


@click.command()
@click.option("--database", "databases", multiple=True, type=click.Choice(["sqlite", "postgresql"]), default=("sqlite", "postgresql"))
@click.option("--days", default=60, show_default=True)
def history(databases: tuple[str, ...], days: int) -> None:
    """Let a kitchen print and count for weeks, with and without reports, and time its list."""
    for database in databases:
        for reports in (False, True):
            with tempfile.TemporaryDirectory(prefix="kitchen-prep-history-") as folder, fresh(database, Path(folder)) as url:
                told = measure(url, days, reports=reports)
            first = told[0][1]
            click.echo(f"{database}, {'all work reported' if reports else 'nothing reported'}")
            for day, seconds in told:
                click.echo(f"  day {day:3}: {seconds * 1000:6.1f} ms, {seconds / first:.2f} times day 0")


if __name__ == "__main__":
    history()

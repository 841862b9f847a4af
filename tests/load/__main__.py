"""The load test by one command: python -m tests.load; it ends with status 1 where anything was lost or failed."""

import os
import sys
import tempfile
import time
from pathlib import Path

import click

from tests.load import history
from tests.load.morning import run
from tests.load.report import lines
from tests.load.scene import NOW, SITES_OF_A_TILL, fresh, prepare
from tests.serving import serving


@click.command()
@click.option("--database", "databases", multiple=True, type=click.Choice(["sqlite", "postgresql"]), default=("sqlite", "postgresql"))
@click.option("--sites", type=int, help="How many kitchens pull (200; with a history 50); there is a till for every ten.")
@click.option("--workers", default=2, show_default=True, help="How many processes answer.")
@click.option("--pushes", default=30, show_default=True, help="How many times each till pushes.")
@click.option("--polls", default=3, show_default=True, help="How many times each kitchen asks again.")
@click.option("--seconds", default=120.0, show_default=True, help="After which no kitchen waits any longer.")
@click.option(
    "--history", "days", type=int, help="Let every kitchen print, count and report for so many days before, and time what that costs."
)
@click.option("--silent", is_flag=True, help="In the history nothing is reported.")
def load(
    databases: tuple[str, ...],
    sites: int | None,
    workers: int,
    pushes: int,
    polls: int,
    seconds: float,
    days: int | None,
    silent: bool,  # noqa: FBT001 - a flag of the command line
) -> None:
    """Let many sites pull at once while tills push, against the served application on this machine."""
    failed = False
    for database in databases:
        with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder)) as url:
            if days is not None:
                click.echo(f"{database}: {sites or 50} sites, {days} days, {workers} workers, {os.cpu_count()} processors")
                for line in history.measure(url, Path(folder), sites or 50, days, workers, seconds, reports=not silent):
                    click.echo(line)
                    failed = failed or line.startswith("FAULT")
                continue
            failed = mornings(database, url, Path(folder), sites or 200, workers, pushes, polls, seconds) or failed
    sys.exit(failed)


def mornings(database: str, url: str, place: Path, sites: int, workers: int, pushes: int, polls: int, seconds: float) -> bool:
    """A morning with tills; whether anything failed."""
    scene = prepare(url, sites)
    click.echo(
        f"{database}: {sites} sites, {len(scene.tills)} tills of {SITES_OF_A_TILL} sites, {workers} workers, {os.cpu_count()} processors"
    )
    with serving(url, place, workers=workers, KITCHEN_PREP_NOW=NOW.isoformat()) as served:
        started = time.monotonic()
        book = run(served, scene, pushes=pushes, polls=polls, seconds=seconds)
        taken = time.monotonic() - started
    requests = sum(book.statuses.values()) - len(book.seconds["list, with all waiting"])
    click.echo("\n".join(lines(book)))
    click.echo(f"{requests} requests in {taken:.1f} s, {requests / taken:.0f} a second\n")
    return bool(book.faults)


if __name__ == "__main__":
    load()

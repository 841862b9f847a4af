"""The load test by one command: python -m tests.load; it ends with status 1 where anything was lost or failed."""

import os
import sys
import tempfile
import time
from pathlib import Path

import click

from tests.load.morning import run
from tests.load.report import lines
from tests.load.scene import NOW, SITES_OF_A_TILL, fresh, prepare
from tests.serving import serving


@click.command()
@click.option("--database", "databases", multiple=True, type=click.Choice(["sqlite", "postgresql"]), default=("sqlite", "postgresql"))
@click.option("--sites", default=200, show_default=True, help="How many kitchens pull; there is a till for every ten.")
@click.option("--workers", default=2, show_default=True, help="How many processes answer.")
@click.option("--pushes", default=30, show_default=True, help="How many times each till pushes.")
@click.option("--polls", default=3, show_default=True, help="How many times each kitchen asks again.")
@click.option("--seconds", default=120.0, show_default=True, help="After which no kitchen waits any longer.")
def load(databases: tuple[str, ...], sites: int, workers: int, pushes: int, polls: int, seconds: float) -> None:
    """Let many sites pull at once while tills push, against the served application on this machine."""
    failed = False
    for database in databases:
        with tempfile.TemporaryDirectory(prefix="kitchen-prep-load-") as folder, fresh(database, Path(folder)) as url:
            scene = prepare(url, sites)
            tills = f"{len(scene.tills)} tills of {SITES_OF_A_TILL} sites"
            click.echo(f"{database}: {sites} sites, {tills}, {workers} workers, {os.cpu_count()} processors")
            with serving(url, Path(folder), workers=workers, KITCHEN_PREP_NOW=NOW.isoformat()) as served:
                started = time.monotonic()
                book = run(served, scene, pushes=pushes, polls=polls, seconds=seconds)
                taken = time.monotonic() - started
            requests = sum(book.statuses.values()) - len(book.seconds["list, with all waiting"])
            click.echo("\n".join(lines(book)))
            click.echo(f"{requests} requests in {taken:.1f} s, {requests / taken:.0f} a second\n")
            failed = failed or bool(book.faults)
    sys.exit(failed)


if __name__ == "__main__":
    load()

"""The benchmark by one command: python -m tests.bench prints a table of ratios, CPU time, best of several."""

import platform
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import click

from service.garbage import search_seldom
from tests.bench.jobs import rows
from tests.bench.timing import HEADER, line
from tests.bench.workload import SIZES


@click.command()
@click.option("--size", "sizes", multiple=True, type=click.Choice(tuple(SIZES)), default=("mid", "large"), help="May be repeated.")
@click.option("--rounds", default=5, show_default=True, help="Of how many the best counts.")
def bench(sizes: Sequence[str], rounds: int) -> None:
    """Time what the service does on a workload of its own, each job beside a baseline of the same run."""
    # As in a worker of the server.
    search_seldom()
    click.echo(f"{datetime.now(UTC):%Y-%m-%d}, Python {platform.python_version()} on {platform.machine()}, CPU time, best of {rounds}")
    for name in sizes:
        size = SIZES[name]
        click.echo(f"\n{name}: {size.sites} sites, {size.menu_items} menu items, {size.recipes} recipes, {size.ingredients} ingredients\n")
        with tempfile.TemporaryDirectory(prefix="kitchen-prep-bench-") as place:
            click.echo("\n".join(HEADER))
            for row in rows(size, Path(place), rounds):
                click.echo(line(row))


if __name__ == "__main__":
    bench()

"""The worst catalogues at the limits: python -m tests.extremes tells what every route takes, and ends with status 1 past the aims."""

import sys
import tempfile
from collections.abc import Sequence
from multiprocessing import get_context
from pathlib import Path

import click

from service.garbage import search_seldom
from tests.bench.scene import Scene
from tests.bench.workload import SIZES, Workload
from tests.extremes.questions import MEGABYTES, SECONDS, answers, questions
from tests.extremes.shapes import LARGEST, SHAPES


@click.command()
@click.option("--shape", "shapes", multiple=True, type=click.Choice(tuple(SHAPES)), default=tuple(SHAPES), help="May be repeated.")
@click.option("--share", default=1.0, show_default=True, help="Of the largest size.")
def extremes(shapes: Sequence[str], share: float) -> None:
    """Ask every route that computes of the worst catalogues within the limits: CPU seconds, and the most memory of a worker."""
    over = False
    for name in shapes:
        process = get_context("fork").Process(target=ask_all, args=(name, share))
        process.start()
        process.join()
        over = over or process.exitcode != 0
    sys.exit(over)


def ask_all(name: str, share: float) -> None:
    """Ask all of one catalogue in a process of its own, which ends with status 1 where an answer takes more than is aimed at."""
    search_seldom()
    body = SHAPES[name](max(1, round(LARGEST[name] * share)))
    lines = sum(len(each["lines"]) for each in body["recipes"])
    click.echo(f"{name}: {len(body['recipes'])} recipes, {lines} lines, {len(body['sites'])} sites")
    asked, over = list(questions(body)), False
    del body  # So that the process holds little but what a worker holds.
    with tempfile.TemporaryDirectory(prefix="kitchen-prep-extremes-") as place:
        scene = Scene(Path(place) / "extreme.sqlite3", Workload(SIZES["tiny"]))
        for each in answers(scene, asked):
            much = each.seconds > SECONDS or each.megabytes > MEGABYTES
            told = f"  {each.name:24} {each.seconds:7.2f} s  {each.megabytes:5} MB  {each.status}  {len(each.content):>12,} bytes"
            click.echo(told + "  OVER" * much)
            over = over or much
        scene.close()
    sys.exit(over)


if __name__ == "__main__":
    extremes()

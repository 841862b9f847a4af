"""The worst catalogues at the limits: python -m tests.extremes tells what every route takes, and ends with status 1 past a minute."""

import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import click

from service.garbage import search_seldom
from tests.bench.scene import Scene
from tests.bench.workload import SIZES, Workload
from tests.extremes.questions import ALLOWED, answers
from tests.extremes.shapes import LARGEST, SHAPES


@click.command()
@click.option("--shape", "shapes", multiple=True, type=click.Choice(tuple(SHAPES)), default=tuple(SHAPES), help="May be repeated.")
@click.option("--share", default=1.0, show_default=True, help="Of the largest size.")
def extremes(shapes: Sequence[str], share: float) -> None:
    """Ask every route that computes of the worst catalogues within the limits, in CPU seconds."""
    search_seldom()
    late = False
    for name in shapes:
        body = SHAPES[name](max(1, round(LARGEST[name] * share)))
        lines = sum(len(each["lines"]) for each in body["recipes"])
        click.echo(f"{name}: {len(body['recipes'])} recipes, {lines} lines, {len(body['sites'])} sites")
        with tempfile.TemporaryDirectory(prefix="kitchen-prep-extremes-") as place:
            scene = Scene(Path(place) / "extreme.sqlite3", Workload(SIZES["tiny"]))
            for asked in answers(scene, body):
                click.echo(f"  {asked.name:24} {asked.seconds:7.2f} s  {asked.status}  {len(asked.content):>12,} bytes")
                late = late or asked.seconds > ALLOWED
            scene.close()
    sys.exit(late)


if __name__ == "__main__":
    extremes()

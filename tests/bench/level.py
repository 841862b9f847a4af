"""Whether the memory of a worker stays level: python -m tests.bench.level asks for lists that change, for as long as it is told.

Responsible for the most memory that the worker had, told ten times on the way. It ends with status 1 where that still grows by more
than a twentieth after the first third.
"""

import json
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import click

from tests.bench import trade
from tests.bench.scene import Scene, push
from tests.bench.served import Line, line_to
from tests.bench.workload import NOW, SIZES, START, Workload

TELLINGS = 10
GROWTH = 1.05


@click.command()
@click.option("--size", type=click.Choice(tuple(SIZES)), default="mid", show_default=True)
@click.option("--minutes", default=10.0, show_default=True, help="For how long lists are asked for.")
def level(size: str, minutes: float) -> None:
    """Change what is expected at every site, and ask for their lists, again and again."""
    with tempfile.TemporaryDirectory(prefix="kitchen-prep-level-") as place:
        scene = Scene(Path(place) / "level.sqlite3", Workload(SIZES[size]))
        scene.fill(2)
        with line_to(scene, Path(place)) as line:
            peaks = list(peaks_of(scene, line, minutes * 60 / TELLINGS))
        scene.close()
    sys.exit(peaks[-1] > GROWTH * peaks[TELLINGS // 3])


def peaks_of(scene: Scene, line: Line, seconds: float) -> Iterator[float]:
    """The most megabytes that the worker had, after so many seconds each."""
    lists, began = 0, time.monotonic()
    for telling in range(1, TELLINGS + 1):
        # At least once, however short the time.
        while True:
            ask(scene, line, lists)
            lists += 1
            if time.monotonic() - began >= telling * seconds:
                break
        peak = line.used("megabytes")
        click.echo(f"{telling * seconds:.0f} s: {lists} lists, {peak:.0f} MB")
        yield peak


def ask(scene: Scene, line: Line, number: int) -> None:
    """Expect others at a site than before, and ask for its list."""
    site, guests = number % scene.workload.size.sites, number % 7
    entries = [{**each, "count": each["count"] + guests} for each in trade.entries(scene.workload, site, START)]
    body = push(entries) | {"as_of": told_at(number).isoformat()}
    line.send("POST", "/v1/forecasts", json.dumps(body).encode())
    line.send("GET", f"/v1/sites/s-{site}/prep-lists/{START}", Accept_Encoding="gzip")


def told_at(number: int) -> datetime:
    """A later moment each time, before the scene's now."""
    return NOW - timedelta(hours=4) + timedelta(seconds=number)


if __name__ == "__main__":
    level()

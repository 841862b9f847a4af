"""A screen over many kitchens: one token that keeps every list fresh by the feed, by one command: python -m tests.load.poller."""

import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import click

from service.config import Config
from service.operations.tokens import create_token
from service.shell import writing
from tests.load.scene import DAY, NOW, Till, fresh, prepare
from tests.serving import Served, serving

ALLOWANCE = 1_200
SHARE = 0.02


@dataclass
class Watch:
    """What a poller did: its requests, the lists that it was told of and those that it fetched, and the service's seconds of CPU."""

    requests: int = 0
    told: int = 0
    fetched: int = 0
    feeds: int = 0
    cpu: float = 0.0
    feed_seconds: list[float] = field(default_factory=list)


class Poller:
    """One caller with one line that keeps the ETag of every list."""

    def __init__(self, served: Served, token: str) -> None:
        self.line = HTTPConnection("127.0.0.1", served.port, timeout=60)
        self.token = token
        self.tags: dict[str, str] = {}
        self.cursor: str | None = None
        self.watch = Watch()

    def ask(self, path: str) -> Any:
        """The JSON value of an answer."""
        self.watch.requests += 1
        self.line.request("GET", path, headers={"Authorization": f"Bearer {self.token}"})
        answer = self.line.getresponse()
        content = answer.read()
        if answer.status != 200:
            raise SystemExit(f"{answer.status} on {path}: {content[:300]!r}")
        return json.loads(content)

    def poll(self, *, fetch: bool) -> None:
        """Ask which lists have changed, and where ``fetch`` for those."""
        began = time.monotonic()
        since = "" if self.cursor is None else f"&since={self.cursor}"
        answer = self.ask(f"/v1/revisions?date={DAY}{since}")
        self.watch.feed_seconds.append(time.monotonic() - began)
        self.watch.feeds += 1
        changed = [row["site"] for row in answer["revisions"] if self.tags.get(row["site"]) != row["etag"]]
        self.watch.told += len(changed)
        self.tags |= {row["site"]: row["etag"] for row in answer["revisions"]}
        self.cursor = answer["cursor"]
        for site in changed if fetch else ():
            self.ask(f"/v1/sites/{site}/prep-lists/{DAY}")
            self.watch.fetched += 1


def cpu_seconds(process: int) -> float:
    """The CPU that a process and those that it started have taken."""
    return sum(_own(each) for each in [process, *_below(process)])


def _own(process: int) -> float:
    fields = Path(f"/proc/{process}/stat").read_text("utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _below(process: int) -> Iterator[int]:
    for task in Path(f"/proc/{process}/task").iterdir():
        for child in (task / "children").read_text("utf-8").split():
            yield int(child)
            yield from _below(int(child))


def watch(served: Served, token: str, *, minutes: float, pause: float, pushes: list[Till]) -> Watch:
    """Poll for some minutes, while one till after the other pushes once a minute."""
    poller = Poller(served, token)
    poller.poll(fetch=False)
    poller.watch = Watch()
    began, before, pushed = time.monotonic(), cpu_seconds(served.process.pid), 0
    while (gone := time.monotonic() - began) < minutes * 60:
        if pushes and gone // 60 >= pushed:
            push(served, pushes[pushed % len(pushes)], pushed + 1)
            pushed += 1
        poller.poll(fetch=bool(pushes))
        time.sleep(max(0.0, pause - (time.monotonic() - began - gone)))
    poller.watch.cpu = cpu_seconds(served.process.pid) - before
    return poller.watch


def push(served: Served, till: Till, count: int) -> None:
    """One push of a till: another count for all its sites."""
    body = {"source": till.source, "as_of": NOW.isoformat(), "entries": [{**key, "count": count} for key in till.keys]}
    answer = served.send("POST", "/v1/forecasts", body, till.token)
    if answer.status != 200 or not answer.value["stored"]:
        raise SystemExit(f"a push was answered {answer.status}: {answer.content[:300]!r}")


@click.command()
@click.option("--database", type=click.Choice(["sqlite", "postgresql"]), default="sqlite")
@click.option("--sites", default=1_000, show_default=True, help="How many kitchens there are.")
@click.option("--minutes", default=2.0, show_default=True, help="How long each part lasts.")
@click.option("--pause", default=10.0, show_default=True, help="Seconds from one question to the next.")
def main(database: str, sites: int, minutes: float, pause: float) -> None:
    """Keep the lists of many kitchens fresh with one token: first while nothing changes, then while ten kitchens a minute do."""
    failed = False
    with tempfile.TemporaryDirectory(prefix="kitchen-prep-poll-") as folder, fresh(database, Path(folder)) as url:
        scene = prepare(url, sites)
        with writing(Config(database_url=url, pinned=NOW)) as session:
            token = create_token(session, "screen", "viewer", None, None, 1, NOW)[0]
        with serving(url, Path(folder), workers=2, KITCHEN_PREP_NOW=NOW.isoformat()) as served:
            for name, pushes in (("nothing changes", []), ("ten kitchens a minute change", list(scene.tills))):
                seen = watch(served, token, minutes=minutes, pause=pause, pushes=pushes)
                rate, share = seen.requests / minutes, seen.cpu / (minutes * 60)
                slowest = max(seen.feed_seconds) * 1000
                click.echo(
                    f"{name}: {rate:.0f} requests a minute, {seen.told} lists told and {seen.fetched} fetched, "
                    f"feed at most {slowest:.0f} ms, {share:.2%} of a core"
                )
                # What is planned anew because it changed is no cost of polling.
                failed = failed or rate > ALLOWANCE or (not pushes and share > SHARE)
    sys.exit(failed)


if __name__ == "__main__":
    main()

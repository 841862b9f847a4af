"""Jobs: what the benchmark times, each beside its baseline.

Responsible for the rows of the table. Refuses to make the workload.
"""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from service.api.exchange.interior import Interior
from service.operations.lists import ListRequest, document_of, plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid
from service.store import migration
from tests.bench import baselines, trade
from tests.bench.capacity import scheduling
from tests.bench.scene import LARGEST_PUSH, Scene, call, push
from tests.bench.served import served
from tests.bench.timing import Row, best
from tests.bench.workload import NOW, START, Size, Workload

DAYS = 8
# Answers that take well under a millisecond are timed a hundred at once.
MANY = 100
FORECAST_COLUMNS = "site, date, period, source, event, key_kind, key, count, serve_at, event_buffer, as_of"
CATALOGUE_TABLES = ("stations", "ingredients", "menu_items", "sites", "recipes", "recipe_versions")


def rows(size: Size, place: Path, rounds: int) -> Iterator[Row]:
    """Every job on a workload of some size."""
    workload = Workload(size)
    scene = Scene(place / "bench.sqlite3", workload)
    scene.fill(DAYS)
    yield from planning(scene, rounds)
    yield from sending(scene, rounds)
    yield from served(scene, place, rounds)
    yield from pushing(scene, place, rounds)
    yield from publishing(scene, rounds)
    yield from importing(scene, place, rounds)
    scene.close()
    yield from scheduling(place, DAYS, rounds)
    yield from growing(size, place, rounds)


def planned(scene: Scene, sites: Sequence[int], on: date) -> int:
    """Plan the lists of some sites anew; how many needs they have."""
    needs = 0
    with Interior.of(scene.app).readers() as session:
        catalogue = load_catalogue(session)
        for number in sites:
            needs += len(plan_without(session, catalogue, catalogue.sites[f"s-{number}"], START, on, Unsaid()).needs)
    return needs


def planning(scene: Scene, rounds: int) -> Iterator[Row]:
    """Planning a list, writing it, and how both grow."""
    size = scene.workload.size
    counts = list(trade.guests(scene.workload, 0, START))
    plain = best(lambda: baselines.explosion(scene.workload.plain, counts), rounds, 20)
    one = best(lambda: planned(scene, [0], START), rounds)
    yield Row("plan one list", one, "plain explosion", plain)
    with Interior.of(scene.app).readers() as session:
        catalogue = load_catalogue(session)
        site = catalogue.sites["s-0"]
        found = plan_without(session, catalogue, site, START, START, Unsaid())
        document = best(lambda: document_of(session, found, catalogue, site, ListRequest(site="s-0", on=START), NOW), rounds)
    yield Row("its document", document, "plan one list", one, 1)
    week = best(lambda: planned(scene, [0], START + timedelta(6)), rounds)
    yield Row("plan the list in a week, from today", week, "7 × plan one list", 7 * one, 1.2)
    sites = range(min(10, size.sites))
    alone = sum(best(partial(planned, scene, [site], START), 1) for site in sites)
    yield Row(f"plan the lists of {len(sites)} sites", best(lambda: planned(scene, sites, START), 1), "each by itself", alone, 1.2)


def sending(scene: Scene, rounds: int) -> Iterator[Row]:
    """Answering what was planned before, over the interface, beside a route that sends the same bytes."""
    path = f"/v1/sites/s-0/prep-lists/{START}"
    content = scene.send("GET", path)
    again = best(lambda: call(scene.app, scene.request("GET", path)), rounds, MANY)
    static = baselines.static(content, '"tag"')
    same = best(lambda: call(static, scene.request("GET", "/")), rounds, MANY)
    yield Row("send a list again", again, "static route, same bytes", same, 3)
    tags = {"If-None-Match": tag_of(scene, path)}
    unchanged = best(lambda: call(scene.app, scene.request("GET", path, **tags)), rounds, MANY)
    nothing = best(lambda: call(static, scene.request("GET", "/", If_None_Match='"tag"')), rounds, MANY)
    yield Row("say that it has not changed", unchanged, "static route, 304", nothing, 1.25)


def tag_of(scene: Scene, path: str) -> str:
    """The ETag of an answer."""
    return scene.app.test_client().get(path, headers={"Authorization": f"Bearer {scene.token}"}).headers["ETag"]


def pushing(scene: Scene, place: Path, rounds: int) -> Iterator[Row]:
    """Taking in expected counts: new ones, and the same again; beside the driver's insert of the same rows."""
    fresh = (push(entries) for entries in trade.pushes(scene.workload, START + timedelta(DAYS), 300, LARGEST_PUSH))
    bodies = [json.dumps(body).encode() for body, _ in zip(fresh, range(rounds), strict=False)]
    number = len(json.loads(bodies[0])["entries"])
    waiting = iter(bodies)
    new = best(lambda: scene.send("POST", "/v1/forecasts", next(waiting)), len(bodies))
    stored = read(scene.file, f"SELECT {FORECAST_COLUMNS} FROM forecasts ORDER BY date DESC LIMIT {number}")  # noqa: S608 - our own names
    raw = place / "raw.sqlite3"
    migration.upgrade(f"sqlite:///{raw}")
    inserted = best(baselines.insert(raw, f"forecasts ({FORECAST_COLUMNS})", stored), rounds, prepare=lambda: empty(raw, ["forecasts"]))
    yield Row(f"push {number} new counts", new, "executemany of the same rows", inserted, 5)
    same = best(lambda: scene.send("POST", "/v1/forecasts", bodies[-1]), rounds)
    yield Row("push them again", same, "executemany of the same rows", inserted, 5)


def publishing(scene: Scene, rounds: int) -> Iterator[Row]:
    """The first list after a recipe was published: the catalogue is read anew."""
    draft = json.loads(scene.send("GET", "/v1/recipes/r-0/draft"))
    named = iter(range(rounds))

    def publish() -> None:
        scene.send("PUT", "/v1/recipes/r-0/draft", {**draft, "title": f"Recipe 0, for the {next(named)}th time"}, If_Match="*")
        scene.send("POST", "/v1/recipes/r-0/versions", {"from": str(START)})

    first = best(lambda: scene.send("GET", f"/v1/sites/s-0/prep-lists/{START}"), rounds, prepare=publish)
    one = best(lambda: planned(scene, [0], START), rounds)
    yield Row("first list after a publication", first, "plan one list", one, 10)


def importing(scene: Scene, place: Path, rounds: int) -> Iterator[Row]:
    """Taking in the whole catalogue, and the same again; beside reading its JSON and the driver's insert of its rows."""
    body = json.dumps(scene.workload.catalogue()).encode()
    raw = place / "raw.sqlite3"
    found = {table: read(scene.file, f"SELECT * FROM {table}") for table in CATALOGUE_TABLES}  # noqa: S608 - our own names

    def plainly() -> None:
        baselines.parse(body)
        for table, stored in found.items():
            baselines.insert(raw, table, stored)()

    least = best(plainly, rounds, prepare=lambda: empty(raw, CATALOGUE_TABLES))
    empties = [Scene(place / f"import-{number}.sqlite3", scene.workload) for number in range(rounds)]
    waiting = iter(empties)
    new = best(lambda: next(waiting).send("POST", "/v1/imports", body), rounds)
    yield Row("import the catalogue", new, "read its JSON and insert its rows", least, 10)
    same = best(lambda: empties[0].send("POST", "/v1/imports", body), rounds)
    yield Row("import it again", same, "read its JSON and insert its rows", least, 10)
    for each in empties:
        each.close()


def growing(size: Size, place: Path, rounds: int) -> Iterator[Row]:
    """What a need costs where recipes have more lines, or stand deeper on each other."""

    def need(variant: Size) -> float:
        scene = Scene(place / f"{variant.lines}-{variant.depth}.sqlite3", Workload(variant))
        scene.fill(DAYS)
        seconds = best(lambda: planned(scene, [0], START), rounds) / planned(scene, [0], START)
        scene.close()
        return seconds

    usual = replace(size, sites=1)
    plain = need(usual)
    for variant in (replace(usual, lines=2 * size.lines), replace(usual, depth=2)):
        job = f"a need, with {variant.lines} lines a recipe, {variant.depth} deep"
        yield Row(job, need(variant), f"a need, with {usual.lines} lines a recipe, {usual.depth} deep", plain, 1.2)


def read(file: Path, query: str) -> list[tuple[Any, ...]]:
    """Rows as the driver gives them."""
    with sqlite3.connect(file) as connection:
        found = connection.execute(query).fetchall()
    connection.close()
    return found


def empty(file: Path, tables: Sequence[str]) -> None:
    """Remove all rows of some tables."""
    with sqlite3.connect(file) as connection:
        for table in tables:
            connection.execute(f"DELETE FROM {table}")  # noqa: S608 - our own names
    connection.close()

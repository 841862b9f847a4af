"""The demo: three kitchens in a fresh database of their own, with dates counted from today.

Responsible for loading the seeds through the same checks as anybody's import. Refuses to touch the
configured database.
"""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from service.api.nouns.forecasts import load_entries
from service.api.schemas.counts import CountBody
from service.api.schemas.imports import ImportBody
from service.config import Config
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists.documents import PrepList
from service.operations import tokens
from service.operations.counts import prepare_count, record_count
from service.operations.forecasts import push, read_push
from service.operations.imports import import_catalogue, prepare_import
from service.operations.lists import ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.operations.sheet_links import create_link
from service.resources import folder
from service.shell import read_document, read_value, reading, writing
from service.store import migration

Value = dict[str, Any]
SITE = "mill-street"
TOKEN_DAYS = 7


class BrokenSeeds(Exception):
    """The demo's own forecasts are not all accepted."""


@dataclass(frozen=True, slots=True)
class Demo:
    """A loaded demo: its configuration, a token of each role, tomorrow's list of one site, and the secret of a link to its sheets."""

    config: Config
    tokens: dict[str, str]
    prep_list: PrepList
    sheet: str


@contextmanager
def temporary(config: Config) -> Iterator[Config]:
    """The configuration with a database in a new folder, removed at the end by the process that made it."""
    owner = os.getpid()
    place = Path(tempfile.mkdtemp(prefix="kitchen-prep-demo-"))
    try:
        yield replace(config, database_url=f"sqlite:///{place / 'demo.sqlite3'}")
    finally:
        # A worker of the server leaves through here too, and the others still work.
        if os.getpid() == owner:
            shutil.rmtree(place)


def prepare(config: Config) -> Demo:
    """Fill the configured, still empty database with the scenario."""
    now = config.now()
    migration.upgrade(config.database_url)
    with writing(config) as session:
        import_catalogue(session, prepare_import(session, read_document(ImportBody, seed("catalogue")), now, None))
    with writing(config) as session:
        catalogue = load_catalogue(session)
        for body in seed("forecasts"):
            push_forecasts(session, body, catalogue, now)
        for body in seed("counts"):
            add_count(session, body, catalogue, now)
        made = {role: secret(session, role, now) for role in ("director", "kitchen", "integration", "viewer")}
        sheet, _ = create_link(session, SITE, None, TOKEN_DAYS, None, now)
    with reading(config) as session:
        tomorrow = today(load_catalogue(session), SITE, now) + timedelta(days=1)
        shown = prep_list(session, ListRequest(site=SITE, on=tomorrow, pinned=config.pinned is not None), now)
    return Demo(config, made, shown, sheet)


def seed(name: str) -> Any:
    """The value of one of the seed files."""
    return read_value(folder("seeds") / f"{name}.json")


def today(catalogue: Catalogue, site: str, now: datetime) -> date:
    """The business date of a site."""
    return catalogue.sites[site].calendar().business_date(now)


def dated(value: Value, day: date, names: dict[str, str]) -> Value:
    """The value with each number of days in it turned into a date under another name."""
    turned = {names.get(key, key): inner for key, inner in value.items()}
    return turned | {name: (day + timedelta(value[key])).isoformat() for key, name in names.items() if key in value}


def push_forecasts(session: Session, body: Value, catalogue: Catalogue, now: datetime) -> None:
    """Push a seed's forecasts as of now; raises BrokenSeeds unless every entry is accepted."""
    entries = [dated(entry, today(catalogue, entry["site"], now), {"day": "date"}) for entry in body["entries"]]
    read = read_push({"source": body["source"], "as_of": now.isoformat(), "entries": entries}, catalogue, now, load_entries)
    answer = push(session, read)
    if answer["refused"]:
        raise BrokenSeeds(str(answer["refused"][0]))


def add_count(session: Session, body: Value, catalogue: Catalogue, now: datetime) -> None:
    """Record a seed's count at its time of a day counted from today."""
    day = today(catalogue, body["site"], now)
    counted_on = day + timedelta(body["day"])
    calendar = catalogue.sites[body["site"]].calendar()
    counted_at = calendar.write(calendar.moment(counted_on, time.fromisoformat(body["time"])))
    lots = [dated(lot, day, {"made_day": "made_on"}) for lot in body["lots"]]
    document = read_document(CountBody, {"counted_at": counted_at, "lots": lots})
    record_count(session, prepare_count(body["site"], document, catalogue, now), now)


def secret(session: Session, role: str, now: datetime) -> str:
    """A token of a role, valid for the demo."""
    sites = [SITE] if role == "kitchen" else None
    source = "till-east" if role == "integration" else None
    return tokens.create_token(session, f"Demo {role}", role, sites, source, TOKEN_DAYS, now)[0]


def introduce(demo: Demo, address: str) -> Iterator[str]:
    """What a visitor of the demo needs to know, line by line."""
    day, site = demo.prep_list["date"], demo.prep_list["site"]
    yield f"The sheet of this list, in any browser: {address}/sheets/{demo.sheet}?date={day}"
    yield ""
    yield "Tokens of this demo, by role:"
    yield from (f"  {role:<12} {token}" for role, token in demo.tokens.items())
    yield ""
    yield f"The list above, as JSON: curl -H 'Authorization: Bearer {demo.tokens['kitchen']}' {address}/v1/sites/{site}/prep-lists/{day}"
    yield f"Every route, to try out: {address}/docs"

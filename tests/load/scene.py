"""Who takes part: sites cloned from the demo's, a kitchen's token for each, and tills that push for ten sites each."""

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from service.api.schemas.imports import ImportBody
from service.config import Config
from service.demo import seed
from service.operations.imports import import_catalogue, prepare_import
from service.operations.tokens import create_token
from service.shell import read_document, writing
from service.store import migration
from tests import postgresql

SITES_OF_A_TILL = 10
NOW = datetime(2026, 12, 2, 11, tzinfo=UTC)
DAY = date(2026, 12, 3)


@dataclass(frozen=True)
class Till:
    """A source with its token, the sites that it pushes for, and the keys of each of its entries."""

    source: str
    token: str
    keys: Sequence[dict[str, Any]]


@dataclass(frozen=True)
class Scene:
    """A prepared database: the token of each site's kitchen, and the tills."""

    kitchens: dict[str, str]
    tills: Sequence[Till]


@contextmanager
def fresh(database: str, place: Path, settings: tuple[str, ...] = postgresql.FAST) -> Iterator[str]:
    """The address of an empty database of a kind; ``settings`` are those of a PostgreSQL server."""
    if database == "sqlite":
        yield f"sqlite:///{place / 'load.sqlite3'}"
        return
    with postgresql.running(settings) as server:
        name = f"load_{uuid.uuid4().hex}"
        postgresql.execute(server, f"CREATE DATABASE {name}")
        yield server.set(database=name).render_as_string(hide_password=False)
        postgresql.execute(server, f"DROP DATABASE {name} WITH (FORCE)")


def prepare(url: str, sites: int) -> Scene:
    """Fill an empty database with the demo's catalogue and so many sites."""
    migration.upgrade(url)
    config = Config(database_url=url, pinned=NOW)
    catalogue = seed("catalogue")
    cloned = [
        {**site, "code": f"site-{number:03}", "name": f"Site {number}"}
        for number, site in zip(range(sites), catalogue["sites"] * (sites // len(catalogue["sites"]) + 1), strict=False)
    ]
    with writing(config) as session:
        body = read_document(ImportBody, {**catalogue, "sites": [*catalogue["sites"], *cloned]})
        import_catalogue(session, prepare_import(session, body, NOW, None))
    with writing(config) as session:
        kitchens = {site["code"]: create_token(session, site["name"], "kitchen", [site["code"]], None, 1, NOW)[0] for site in cloned}
        tills = [
            Till(source, create_token(session, source, "integration", None, source, 1, NOW)[0], keys_of(group, catalogue["menu_items"]))
            for source, group in (
                (f"till-{start:03}", cloned[start : start + SITES_OF_A_TILL]) for start in range(0, sites, SITES_OF_A_TILL)
            )
        ]
    return Scene(kitchens, tills)


def keys_of(sites: Sequence[dict[str, Any]], menu_items: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """What a till counts: four menu items in each period of each of its sites, on two dates."""
    return [
        {"site": site["code"], "date": (DAY + timedelta(days)).isoformat(), "period": period["code"], "menu_item": item["code"]}
        for site in sites
        for days in range(2)
        for period in site["periods"]
        for item in menu_items[:4]
    ]

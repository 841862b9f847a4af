"""Keeps a database of this release, and what the release answered on it, for the tests of all releases to come.

At a release: ``python -m tests.releases.keep``. It writes ``<version>.sql`` and ``<version>.json`` beside this file, and uses
only what every release has: the interface, the shell's sessions, tokens, migrations. To keep the release of another checkout, run
this file with that checkout alone in PYTHONPATH. What is kept stays: a release that was kept already is refused.
"""

import json
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient

from service import __version__
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from service.shell import writing
from service.store import migration

Json = dict[str, Any]
HERE = Path(__file__).parent
NOW = "2026-12-02T08:00:00Z"
TUE, WED, THU, FRI = ("2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04")
CATALOGUE: Json = json.loads((HERE / "kitchen.json").read_text("utf-8"))
CHOWDER: Json = {
    "title": "Chowder",
    "station": "hot",
    "yield": {"amount": 5, "unit": "L"},
    "lines": [{"item": {"ingredient": "milk"}, "quantity": {"amount": 5, "unit": "L"}}],
    "steps": [{"text": "Simmer.", "active": "PT30M"}],
}
TOKENS = {"director": (None, None), "kitchen": (["quay"], None), "integration": (None, "till"), "viewer": (None, None)}
NOUNS = {"stations": "stations", "ingredients": "ingredients", "menu_items": "menu-items", "sites": "sites"}
RECIPES = ("stock", "soup", "roll", "chowder")
THINGS = (
    *(f"/v1/{path}/{each['code']}" for noun, path in NOUNS.items() for each in CATALOGUE[noun]),
    *(f"/v1/recipes/{code}/draft" for code in RECIPES),
    f"/v1/sites/hill/overrides/{THU}/lunch/bowl",
)
"""What can be put: each has its ETag."""
OTHERS = (
    *(f"/v1/{path}" for path in ("stations", "ingredients", "recipes", "menu-items", "sites", "tokens")),
    *(f"/v1/recipes/{code}{rest}" for code in RECIPES for rest in ("", "/versions")),
    *(f"/v1/recipes/chowder/versions/{rest}" for rest in ("1", "2", "2/changes")),
    "/v1/recipes/soup/cost?site=hill",
    "/v1/menu-items/bowl/cost?site=hill",
    f"/v1/forecasts?from={TUE}&to={FRI}",
    f"/v1/sites/hill/forecasts?from={TUE}&to={FRI}",
    f"/v1/sites/quay/prep-lists/{WED}/prints",
)
PRINT = f"/v1/sites/quay/prep-lists/{WED}/prints/1"
LISTS = tuple(f"/v1/sites/hill/prep-lists/{date}" for date in (WED, THU, FRI))


class Director:
    """A director who calls the release; any refusal ends the work."""

    def __init__(self, client: FlaskClient, secret: str) -> None:
        self.client = client
        self.secret = secret

    def send(self, method: str, path: str, body: Any = None, **headers: str) -> Any:
        """The document of the answer."""
        given = {"Authorization": f"Bearer {self.secret}", **{name.replace("_", "-"): text for name, text in headers.items()}}
        answer = self.client.open(path, method=method, json=body, headers=given)
        if answer.status_code >= 400:
            raise RuntimeError(f"{method} {path}: {answer.status_code} {answer.get_data(as_text=True)}")
        return answer.get_json()


def live(director: Director) -> Json:
    """Some of everything; returns a request that an Idempotency-Key is held for, with its answer."""
    director.send("POST", "/v1/imports", CATALOGUE)
    repeated = publish_chowder(director)
    director.send("POST", "/v1/forecasts", {"source": "till", "as_of": NOW, "entries": list(entries())})
    director.send("PUT", f"/v1/sites/hill/overrides/{THU}/lunch/bowl", {"count": 60, "note": "a school"})
    soup = {"item": {"recipe": "soup"}, "quantity": {"amount": 3, "unit": "L"}, "made_on": TUE}
    count(director, "hill", [onions("2.50", "store"), soup])
    count(director, "quay", [onions("4", "kitchen")])
    printed = director.send("POST", f"/v1/sites/quay/prep-lists/{WED}/prints")
    first, second = [task["id"] for station in printed["stations"] for task in station["tasks"]][:2]
    director.send("PUT", f"/v1/sites/quay/prep-lists/{WED}/tasks/{first}/progress", {"state": "done", "note": "early"})
    director.send("PUT", f"/v1/sites/quay/prep-lists/{WED}/tasks/{second}/progress", {"state": "doing"})
    return repeated


def publish_chowder(director: Director) -> Json:
    """A version for all, another for one site, withdrawn later, and a draft that differs from both."""
    path = "/v1/recipes/chowder"
    director.send("PUT", f"{path}/draft", CHOWDER)
    director.send("POST", f"{path}/versions", {"from": TUE, "note": "first", "acknowledge": ["milk", "soy"]})
    director.send("PUT", f"{path}/draft", {**CHOWDER, "keeps": "P1D", "lines": CHOWDER["lines"] * 2}, If_Match="*")
    body, key = {"from": FRI, "sites": ["hill"]}, "chowder-at-hill"
    answer = director.send("POST", f"{path}/versions", body, Idempotency_Key=key)
    director.send("POST", f"{path}/versions/2/withdrawal", {"from": "2026-12-08"})
    director.send("PUT", f"{path}/draft", {**CHOWDER, "storage": "cold"}, If_Match="*")
    return {"path": f"{path}/versions", "body": body, "key": key, "answer": answer}


def entries() -> Iterator[Json]:
    """Forecasts by till code and by menu item, of an event, and of a code that nothing has."""
    for site, date, guests in (("hill", WED, 30), ("hill", THU, 45), ("hill", FRI, 20), ("quay", WED, 24), ("quay", THU, 24)):
        yield {"site": site, "date": date, "period": "lunch", "till_code": "1042", "count": guests}
    event = {"code": "wedding", "serve_at": "19:30", "buffer": 0.02}
    yield {"site": "hill", "date": THU, "period": "dinner", "menu_item": "cup", "count": 80, "event": event}
    yield {"site": "hill", "date": THU, "period": "lunch", "till_code": "9999", "count": 2}


def count(director: Director, site: str, lots: list[Json]) -> None:
    """A count of the early morning."""
    director.send("POST", f"/v1/sites/{site}/counts", {"counted_at": "2026-12-02T06:30:00Z", "lots": lots})


def onions(amount: str, place: str) -> Json:
    """A lot, as counted."""
    return {"item": {"ingredient": "onion"}, "quantity": {"amount": amount, "unit": "kg"}, "in": place}


def to_do(document: Json) -> list[Json]:
    """What a list asks for, whatever its tasks are called."""
    tasks = [{"station": station["code"], **task} for station in document["stations"] for task in station["tasks"]]
    names = ("station", "kind", "item", "quantity", "need", "have", "surplus", "start", "ready_by", "need_by", "use_by")
    return [{name: row[name] for name in names if name in row} for row in (*tasks, *document["pulls"], *document["left_over"])]


def statements(file: Path) -> Iterator[str]:
    """The database as SQL, a statement a line: what was made, then its rows, whose values PostgreSQL reads as well."""
    connection = sqlite3.connect(file)
    yield from (" ".join(sql.split()) + ";" for (sql,) in connection.execute("SELECT sql FROM sqlite_master WHERE sql > '' ORDER BY rowid"))
    for (table,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY rowid").fetchall():
        columns = [(row[1], row[5]) for row in connection.execute(f"PRAGMA table_info({table})")]
        names = ", ".join(name for name, _ in columns)
        values = " || ', ' || ".join(f"quote({name})" for name, _ in columns)
        keys = ", ".join(name for name, place in columns if place) or "1"
        rows = connection.execute(f"SELECT {values} FROM {table} ORDER BY {keys}")  # noqa: S608 - the names are the database's own
        yield from (f"INSERT INTO {table} ({names}) VALUES ({row});" for (row,) in rows)  # noqa: S608 - as above
    connection.close()


def lines(kept: Json) -> Iterator[str]:
    """The document with an answer a line."""
    yield "{"
    for number, (name, value) in enumerate(kept.items(), 1):
        yield f"{json.dumps(name)}: {json.dumps(value, ensure_ascii=False)}{',' if number < len(kept) else ''}"
    yield "}"


def keep(folder: Path) -> None:
    """Live a day in a new database, and write both files; raises FileExistsError for a release that was kept already."""
    with tempfile.TemporaryDirectory() as place, (folder / f"{__version__}.sql").open("x", encoding="utf-8") as sql:
        file = Path(place) / "kitchen.sqlite3"
        config = Config.from_env({"DATABASE_URL": f"sqlite:///{file}", "KITCHEN_PREP_NOW": NOW, "KITCHEN_PREP_LOG_LEVEL": "ERROR"})
        migration.upgrade(config.database_url)
        with writing(config) as session:
            secrets = {role: create_token(session, role, role, *reach, 365, config.now())[0] for role, reach in TOKENS.items()}
        app = create_app(config)
        director = Director(app.test_client(), secrets["director"])
        kept: Json = {"now": NOW, "secrets": secrets, "catalogue": CATALOGUE, "repeated": live(director)}
        kept |= {path: director.send("GET", path) for path in (*THINGS, *OTHERS, PRINT)}
        kept |= {path: to_do(director.send("GET", path)) for path in LISTS}
        app.extensions["kitchen_prep"].engine.dispose()
        sql.writelines(f"{statement}\n" for statement in statements(file))
        (folder / f"{__version__}.json").write_text("\n".join(lines(kept)) + "\n", "utf-8")


if __name__ == "__main__":
    keep(HERE)

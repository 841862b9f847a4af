"""The demo kitchens with a caller of every role and reach, some versions for single sites, and a print, a report and an override."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from service import demo
from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.bodies import DRAFT, LINE
from tests.api.caller import Caller

NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)
OWN, FOREIGN, MISSING = "mill-street", "quayside", "nowhere"
SOURCE = "till-east"
OVERRIDE = f"/v1/sites/{OWN}/overrides/2026-12-03/lunch/soup-bowl"
CAPACITY = f"/v1/sites/{OWN}/capacity/2026-12-03"
LIST = f"/v1/sites/{OWN}/prep-lists/2026-12-03"

WHO: dict[str, tuple[str, list[str] | None, str | None]] = {
    "director": ("director", None, None),
    "kitchen": ("kitchen", [OWN], None),
    "quay": ("kitchen", [FOREIGN], None),
    "viewer": ("viewer", None, None),
    "guest": ("viewer", [OWN], None),
    "till": ("integration", None, SOURCE),
    "counter": ("integration", [OWN], SOURCE),
}
"""Callers by name: role, sites, source."""


@dataclass(frozen=True)
class Kitchens:
    """The callers by name, by site the ids of a task that was reported there and of a count, and the secret of a link to sheets."""

    callers: dict[str, Caller]
    tasks: dict[str, str]
    counts: dict[str, str]
    sheet: str

    def path(self, case: str, site: str = OWN) -> str:
        """The path of a case of the matrix at a site, with ids of that site in it."""
        return case.replace(OWN, site).replace("TASK", self.tasks[site]).replace("COUNT", self.counts[site])

    def __getattr__(self, name: str) -> Caller:
        return self.callers[name]


@contextmanager
def open_kitchens() -> Iterator[Kitchens]:
    """The demo kitchens, prepared."""
    # The clock stands still, so that all requests fall into one minute.
    configured = Config(database_url="sqlite:///elsewhere.sqlite3", pinned=NOW, requests_per_minute=1_000_000)
    with demo.temporary(configured) as config:
        sheet = demo.prepare(config).sheet
        app = create_app(config)
        callers = {}
        with Interior.of(app).writers() as session:
            for name, (role, sites, source) in WHO.items():
                callers[name] = Caller(app.test_client(), create_token(session, name, role, sites, source, 1, NOW)[0])
            session.commit()
        try:
            director = callers["director"]
            counts = {site: count(director, site) for site in (OWN, FOREIGN)} | {MISSING: "1"}
            yield Kitchens(callers, prepare(director), counts, sheet)
        finally:
            Interior.of(app).engine.dispose()


def prepare(director: Caller) -> dict[str, str]:
    """Add what a matrix of routes needs beside the demo; the ids of reported tasks by site."""
    draft = {**DRAFT, "station": "bakery", "yield": {"amount": 90, "unit": "g"}, "lines": [{**LINE, "item": {"ingredient": "honey"}}]}
    for code in ("quay-syrup", "idea"):
        made(director, "PUT", f"/v1/recipes/{code}/draft", {**draft, "title": code})
    made(director, "POST", "/v1/recipes/quay-syrup/versions", {"from": "2026-12-01", "sites": [FOREIGN]})
    glaze = {**draft, "title": "quay-glaze", "lines": [{**LINE, "item": {"recipe": "quay-syrup"}}]}
    made(director, "PUT", "/v1/recipes/quay-glaze/draft", glaze)
    made(director, "POST", "/v1/recipes/quay-glaze/versions", {"from": "2026-12-01", "sites": [FOREIGN]})
    # The second version of the soup is a pilot elsewhere, the third one here and there.
    made(director, "POST", "/v1/recipes/lentil-soup/versions", {"from": "2026-12-03", "sites": [FOREIGN]})
    made(director, "POST", "/v1/recipes/lentil-soup/versions", {"from": "2026-12-20", "sites": [FOREIGN, OWN]})
    pack = {"label": "tub", "quantity": {"amount": 1, "unit": "kg"}, "price": {"amount": "9", "currency": "GBP"}, "site": FOREIGN}
    honey = director.get("/v1/ingredients/honey")
    body = honey.get_json()
    made(director, "PUT", "/v1/ingredients/honey", {**body, "packs": [*body["packs"], pack]}, {"If-Match": honey.headers["ETag"]})
    # The newest version of the loaf has a title that only its pilot may show.
    loaf = director.get("/v1/recipes/country-loaf/draft")
    pilot = {**loaf.get_json(), "title": f"Country loaf as {FOREIGN} tries it"}
    made(director, "PUT", "/v1/recipes/country-loaf/draft", pilot, {"If-Match": loaf.headers["ETag"]})
    made(director, "POST", "/v1/recipes/country-loaf/versions", {"from": "2026-12-03", "sites": [FOREIGN]})
    tasks = {site: work(director, site) for site in (OWN, FOREIGN)}
    return tasks | {MISSING: tasks[FOREIGN].replace(FOREIGN, MISSING)}


def count(director: Caller, site: str) -> str:
    """The id of the demo's count of a site."""
    (row,) = director.get(f"/v1/sites/{site}/counts?from=2026-12-01&to=2026-12-02").get_json()["items"]
    return str(row["id"])


def work(director: Caller, site: str) -> str:
    """Override, capacity, print and report at a site; the id of the task."""
    made(director, "PUT", OVERRIDE.replace(OWN, site), {"count": None, "add": 0})
    made(director, "PUT", CAPACITY.replace(OWN, site), {"note": "as usual"})
    address = LIST.replace(OWN, site)
    printed = made(director, "POST", f"{address}/prints", None)
    task: str = next(task["id"] for station in printed["stations"] for task in station["tasks"] if task["kind"] == "make")
    made(director, "PUT", f"{address}/tasks/{task}/progress", {"state": "doing"})
    return task


def made(director: Caller, method: str, path: str, body: Any, headers: dict[str, str] | None = None) -> Any:
    """The answer to a request that must succeed."""
    answer = director.send(method, path, body, headers=headers)
    assert answer.status_code in (200, 201), (method, path, answer.get_json())
    return answer.get_json()

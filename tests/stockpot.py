"""A kitchen that cooks stock overnight for soup, on one database file, with a clock that tests move.

Responsible for its catalogue, for reports and prints over the interface, and for picking numbers out of answers. Refuses to
know what they should be.

10 L of stock take 2 kg of onions at 20:30, are strained at 10:40, and ready at 11:00 of the next date. 10 L of soup take 8 L
of stock and 1 kg of diced onion (1.25 kg as purchased) at 11:00 and are ready at 12:00. Both are made in 10 L at least; a
bowl is 250 mL. Stock keeps two days after its own, soup and diced onion one.
"""

from typing import Any

from flask import Flask
from werkzeug.test import TestResponse

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.caller import Caller

Json = dict[str, Any]
SITE = "quay"
TUE, WED, THU = "2026-12-01", "2026-12-02", "2026-12-03"


def litres(number: float) -> Json:
    return {"amount": number, "unit": "L"}


def kilos(number: float) -> Json:
    return {"amount": number, "unit": "kg"}


CATALOGUE: Json = {
    "stations": [{"code": "hot", "name": "Hot line", "position": 1}, {"code": "veg", "name": "Vegetables", "position": 2}],
    "ingredients": [
        {
            "code": "onion",
            "name": "Onion",
            "kind": "mass",
            "forms": [{"code": "dice", "name": "dice", "station": "veg", "trim_yield": 0.8, "keeps": "P1D"}],
        }
    ],
    "recipes": [
        {
            "code": "stock",
            "title": "Stock",
            "station": "hot",
            "yield": litres(10),
            "keeps": "P2D",
            "batch": {"smallest": litres(10)},
            "lines": [{"item": {"ingredient": "onion"}, "quantity": kilos(2), "step": 1}],
            "steps": [
                {"text": "Simmer overnight.", "active": "PT10M", "passive": "PT14H"},
                {"text": "Strain.", "active": "PT20M", "station": "veg"},
            ],
            "publish_from": "2026-01-01",
        },
        {
            "code": "soup",
            "title": "Soup",
            "station": "hot",
            "yield": litres(10),
            "portion": {"amount": 250, "unit": "mL"},
            "keeps": "P1D",
            "batch": {"smallest": litres(10)},
            "lines": [
                {"item": {"ingredient": "onion", "form": "dice"}, "quantity": kilos(1), "step": 1},
                {"item": {"recipe": "stock"}, "quantity": litres(8), "step": 1},
            ],
            "steps": [{"text": "Cook.", "active": "PT1H"}],
            "publish_from": "2026-01-01",
        },
    ],
    "menu_items": [
        {"code": "bowl", "name": "Bowl of soup", "components": [{"recipe": "soup", "quantity": {"amount": 1, "unit": "portion"}}]}
    ],
    "sites": [
        {"code": site, "name": site.title(), "time_zone": "UTC", "periods": [{"code": "lunch", "name": "Lunch", "ready_by": "12:00"}]}
        for site in (SITE, "hill")
    ],
}


class Stockpot:
    """The kitchen's database, its director, and the hour of the day; the site keeps UTC."""

    def __init__(self, database_url: str, now: str = f"{TUE} 08:00") -> None:
        self.database_url = database_url
        self.app: Flask | None = None
        self.pushes = 0
        self.director = Caller(self.strike(now).test_client(), None)
        self.director.secret = self.token("director")
        assert self.director.post("/v1/imports", CATALOGUE).status_code == 200

    def strike(self, now: str) -> Flask:
        """Serve the same database at another hour."""
        self.close()
        moment = now.replace(" ", "T") + ":00Z"
        self.app = create_app(Config.from_env({"DATABASE_URL": self.database_url, "KITCHEN_PREP_NOW": moment}))
        self.now = moment
        if hasattr(self, "director"):
            self.director.client = self.app.test_client()
        return self.app

    def close(self) -> None:
        if self.app is not None:
            Interior.of(self.app).engine.dispose()

    def token(self, role: str, sites: list[str] | None = None) -> str:
        assert self.app is not None
        interior = Interior.of(self.app)
        with interior.writers() as session:
            secret, _ = create_token(session, f"the {role}", role, sites, None, 30, interior.config.now())
            session.commit()
        return secret

    def somebody(self, role: str, sites: list[str] | None = None) -> Caller:
        assert self.app is not None
        return Caller(self.app.test_client(), self.token(role, sites))

    def push(self, **counts: int) -> None:
        """Push how many bowls are wanted, by weekday: ``push(WED=24)``."""
        days = {"TUE": TUE, "WED": WED, "THU": THU}
        entries = [
            {"site": SITE, "date": days[day], "period": "lunch", "menu_item": "bowl", "count": count} for day, count in counts.items()
        ]
        answer = self.director.post("/v1/forecasts", {"source": "till", "as_of": self.as_of(), "entries": entries})
        assert answer.get_json()["refused"] == []

    def as_of(self) -> str:
        """A moment of this minute, later than that of the push before: of two at one moment the larger count holds."""
        self.pushes += 1
        return self.now.replace(":00Z", f":{self.pushes:02}Z")

    def count(self, counted_at: str, *lots: Json) -> None:
        body = {"counted_at": counted_at.replace(" ", "T") + ":00Z", "lots": list(lots)}
        assert self.director.post(f"/v1/sites/{SITE}/counts", body).status_code == 201

    def list_of(self, date: str, query: str = "") -> Json:
        answer = self.director.get(f"{LIST}/{date}{query}")
        assert answer.status_code == 200, answer.get_json()
        return read(answer)

    def printed(self, date: str) -> Json:
        answer = self.director.post(f"{LIST}/{date}/prints", None)
        assert answer.status_code == 201, answer.get_json()
        return read(answer)

    def changes(self, date: str, since: int = 1) -> Json:
        """What changed since a print: ids added and dropped, and those changed with the displayed quantity before and after."""
        answer = self.director.get(f"{LIST}/{date}/changes?since={since}")
        assert answer.status_code == 200, answer.get_json()
        found = read(answer)
        changed = {short(each["id"]): (each["old"]["quantity"]["display"], each["new"]["quantity"]["display"]) for each in found["changed"]}
        return {
            "added": sorted(short(each["id"]) for each in found["added"]),
            "dropped": sorted(short(each["id"]) for each in found["dropped"]),
            "changed": changed,
        }

    def report(self, date: str, task: str, state: str = "done", **said: Any) -> Json:
        """Report a task of a date's list by its short id, such as ``make.soup.2026-12-02.1``."""
        answer = self.try_report(date, task, {"state": state, **said})
        assert answer.status_code == 200, answer.get_json()
        return read(answer)

    def try_report(self, date: str, task: str, body: Any) -> TestResponse:
        return self.director.put(f"{LIST}/{date}/tasks/{long(task)}/progress", body)


LIST = f"/v1/sites/{SITE}/prep-lists"
UNCHANGED: Json = {"added": [], "dropped": [], "changed": {}}


def read(answer: TestResponse) -> Json:
    document: Json = answer.get_json()
    return document


def short(id_: str) -> str:
    """An id without its site."""
    return id_.replace(f".{SITE}", "", 1)


def long(id_: str) -> str:
    """An id with its site."""
    kind, rest = id_.split(".", 1)
    return f"{kind}.{SITE}.{rest}"


def tasks(document: Json) -> dict[str, Json]:
    """The tasks of a list by their short ids."""
    return {short(task["id"]): task for station in document["stations"] for task in station["tasks"]}


def work(document: Json) -> dict[str, float]:
    """Quantities of what is to be made and made ready, by short id, in litres and kilos."""
    return {id_: amount(task["quantity"]) for id_, task in tasks(document).items() if task["kind"] != "use"}


def uses(document: Json) -> dict[str, float]:
    """What lots give, by item and date of need, in litres and kilos, all use-bys together."""
    found: dict[str, float] = {}
    for id_, task in tasks(document).items():
        if task["kind"] == "use":
            key = id_.removeprefix("use.").rsplit(".", 1)[0]
            found[key] = found.get(key, 0.0) + amount(task["quantity"])
    return found


def pulls(document: Json) -> dict[str, float]:
    return {short(pull["id"]): amount(pull["quantity"]) for pull in document["pulls"]}


def left(document: Json) -> dict[str, float]:
    """What is left at the end of the date, by title."""
    found: dict[str, float] = {}
    for row in document["left_over"]:
        found[row["item"]["title"]] = found.get(row["item"]["title"], 0.0) + amount(row["quantity"])
    return found


def balance(task: Json) -> list[float]:
    """Need, have, quantity and surplus."""
    return [amount(task[name]) for name in ("need", "have", "quantity", "surplus")]


def amount(quantity: Json) -> float:
    """A quantity in litres or kilos, to a milligram."""
    found: float = round(quantity["amount"] / 1000, 6)
    return found

"""The canteen at the quay on one database file: who calls it, the hour of its day, and how its lists are read.

Responsible for moving the clock and for picking numbers out of answers. Refuses to know what they should be.
"""

from typing import Any

import pytest
from flask import Flask

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from tests.api.caller import Caller

Json = dict[str, Any]
WEDNESDAY = "2026-12-02"
LIST = "/v1/sites/quayside/prep-lists"


class Day:
    """The canteen's database, who calls it, and the hour of the day."""

    def __init__(self, database_url: str) -> None:
        self.database_url = database_url
        self.app: Flask | None = None
        self.strike("08:00")
        self.director = self.somebody("director")
        self.visitor = self.somebody("viewer")

    def strike(self, hour: str, date: str = WEDNESDAY) -> None:
        """Serve the same database at another hour; Dublin keeps UTC in winter."""
        self.close()
        self.app = create_app(Config.from_env({"DATABASE_URL": self.database_url, "KITCHEN_PREP_NOW": f"{date}T{hour}:00Z"}))
        for caller in vars(self).values():
            if isinstance(caller, Caller):
                caller.client = self.app.test_client()

    def somebody(self, role: str) -> Caller:
        assert self.app is not None
        interior = Interior.of(self.app)
        with interior.writers() as session:
            secret, _ = create_token(session, f"the {role}", role, None, None, 2, interior.config.now())
            session.commit()
        return Caller(self.app.test_client(), secret)

    def close(self) -> None:
        if self.app is not None:
            Interior.of(self.app).engine.dispose()

    def list_of(self, date: str, query: str = "") -> Json:
        answer = self.director.get(f"{LIST}/{date}{query}")
        assert answer.status_code == 200, answer.get_json()
        document: Json = answer.get_json()
        return document

    def tag(self, date: str) -> str:
        return self.director.get(f"{LIST}/{date}").headers["ETag"]


def sold(date: str, code: str, count: int, period: str = "lunch") -> Json:
    return {"site": "quayside", "date": date, "period": period, "till_code": code, "count": count}


def push(day: Day, source: str, hour: str, *entries: Json) -> Json:
    answer = day.director.post("/v1/forecasts", {"source": source, "as_of": f"{WEDNESDAY}T{hour}:00Z", "entries": list(entries)})
    assert answer.status_code == 200, answer.get_json()
    document: Json = answer.get_json()
    return document


def named(item: Json) -> str:
    return "/".join(item[key] for key in ("ingredient", "form", "recipe") if key in item)


def amount(quantity: Json) -> float:
    found: float = quantity["amount"]
    return found


def by_item(rows: list[Json]) -> dict[str, float]:
    return {named(row["item"]): amount(row["quantity"]) for row in rows}


def tasks(document: Json, kind: str) -> dict[str, Json]:
    """The tasks of one kind by item; none of these lists has two of an item."""
    found = [task for station in document["stations"] for task in station["tasks"] if task["kind"] == kind]
    return {named(task["item"]): task for task in found}


def balance(task: Json) -> tuple[float, float, float, float]:
    """Need, have, quantity and surplus of a task."""
    return amount(task["need"]), amount(task["have"]), amount(task["quantity"]), amount(task["surplus"])


def about(*numbers: float) -> Any:
    return pytest.approx(numbers, rel=1e-9, abs=1e-9)


def batches(task: Json) -> Any:
    """Number, quantity and factor of the batches of a run."""
    return [(each["count"], amount(each["quantity"]), each["factor"]) for each in task["batches"]]


def codes(document: Json) -> list[str]:
    return [warning["code"] for warning in document["warnings"]]

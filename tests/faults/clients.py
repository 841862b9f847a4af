"""Clients that write without pause, repeat what was not answered, and know what was acknowledged.

Responsible for telling, at any moment, what the service must hold and what it may hold. Refuses to know
what is killed.
"""

import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from http.client import HTTPException
from threading import Event, Thread
from typing import Any

from tests.serving import Answer, Served

SITE, OTHER, RECIPE = "mill", "pier", "soup"
ENTRIES, LOTS = 20, 3
PAUSE = 0.01
Json = dict[str, Any]

CATALOGUE: Json = {
    "stations": [{"code": "hot", "name": "Hot line"}],
    "ingredients": [{"code": f"herb-{number}", "name": f"Herb {number}", "kind": "mass"} for number in range(LOTS)],
    "recipes": [
        {
            "code": RECIPE,
            "title": "Soup 0",
            "station": "hot",
            "yield": {"amount": 1, "unit": "kg"},
            "lines": [{"item": {"ingredient": "herb-0"}, "quantity": {"amount": 1, "unit": "kg"}}],
            "publish_from": "2026-01-01",
        }
    ],
    "menu_items": [{"code": "bowl", "name": "Bowl", "components": [{"recipe": RECIPE, "quantity": {"amount": 100, "unit": "g"}}]}],
    "sites": [
        {"code": code, "name": code, "time_zone": "UTC", "periods": [{"code": "noon", "name": "Noon", "ready_by": "12:00"}]}
        for code in (SITE, OTHER)
    ],
}


class Refused(Exception):
    """An answer that no fault explains."""


class Client(Thread):
    """Takes numbered steps until told to stop; a step that was not acknowledged is taken again, the same.

    ``done`` is the number of the last acknowledged step, ``tried`` that of the last one sent.
    """

    def __init__(self, name: str, token: str, today: date) -> None:
        super().__init__(name=name, daemon=True)
        self.token, self.today = token, today
        self.done = self.tried = 0
        self.place: Callable[[], Served] | None = None
        self.stopping = Event()
        self.failure: Exception | None = None
        self.interrupted = 0

    def run(self) -> None:
        """Take steps."""
        try:
            while not self.stopping.is_set():
                self.take_one()
                time.sleep(PAUSE)
        except Exception as error:  # noqa: BLE001 - a thread hands its failure to whoever joins it
            self.failure = error

    def take_one(self) -> None:
        """Take the next step, or the same one again; what a kill explains is no failure."""
        self.tried = self.done + 1
        try:
            acknowledged = self.step(self.tried)
        except (OSError, HTTPException):
            acknowledged = False
        if acknowledged:
            self.done = self.tried
        else:
            self.interrupted += 1

    def step(self, number: int) -> bool:
        """Do the work of a step; True once all of it is acknowledged."""
        raise AssertionError(number)

    def send(self, method: str, path: str, body: Json, **headers: str) -> bool:
        """Send one request; False where the service cannot answer now. Raises Refused for any other refusal."""
        assert self.place is not None
        answer: Answer = self.place().send(method, path, body, self.token, **headers)
        in_flight = answer.status == 409 and answer.value["type"] == "/problems/in-flight"
        if answer.status == 503 or in_flight:
            return False
        if answer.status not in (200, 201):
            raise Refused(f"{method} {path} was answered {answer.status}: {answer.content.decode()}")
        return True


class Till(Client):
    """Pushes the number of its step as the count of every one of its entries."""

    def step(self, number: int) -> bool:
        """Push one state of all entries."""
        entries = [
            {"site": SITE, "date": str(self.today + timedelta(1 + day)), "period": "noon", "menu_item": "bowl", "count": number}
            for day in range(ENTRIES)
        ]
        as_of = datetime.now(UTC).isoformat()
        return self.send("POST", "/v1/forecasts", {"source": self.name, "as_of": as_of, "entries": entries})


class Office(Client):
    """Publishes a draft whose title tells the number of its step; the import published the version before the first."""

    def step(self, number: int) -> bool:
        """Write the draft, then publish it under a key of the step's own."""
        draft = {name: value for name, value in CATALOGUE["recipes"][0].items() if name not in ("code", "publish_from")}
        path = f"/v1/recipes/{RECIPE}"
        if not self.send("PUT", f"{path}/draft", {**draft, "title": f"Soup {number}"}, If_Match="*"):
            return False
        publication = {"from": str(self.today + timedelta(1))}
        return self.send("POST", f"{path}/versions", publication, Idempotency_Key=f"publish-{number}")


class Cook(Client):
    """Counts stock, each count under a key of its own."""

    def step(self, number: int) -> bool:
        """Record a count of some lots."""
        lots = [{"item": {"ingredient": f"herb-{index}"}, "quantity": {"amount": number, "unit": "g"}} for index in range(LOTS)]
        body = {"counted_at": f"{self.today - timedelta(2)}T06:00:00Z", "lots": lots}
        return self.send("POST", f"/v1/sites/{SITE}/counts", body, Idempotency_Key=f"count-{number}")


class Tablet(Client):
    """Reports a task of the first print of its site, with the number of its step as the note; sites are written for at once."""

    @property
    def day(self) -> str:
        """The address of the list."""
        return f"/v1/sites/{self.name}/prep-lists/{self.today + timedelta(1)}"

    def report_of(self, printed: Json) -> str:
        """The address of the report, by the print."""
        return f"{self.day}/tasks/{printed['stations'][0]['tasks'][0]['id']}/progress"

    def step(self, number: int) -> bool:
        """Report it once more."""
        assert self.place is not None
        printed = self.place().send("GET", f"{self.day}/prints/1", token=self.token)
        return printed.status == 200 and self.send("PUT", self.report_of(printed.value), {"state": "doing", "note": str(number)})

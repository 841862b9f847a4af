"""The interface against a model of a few dictionaries: whatever is sent in whatever order, both tell the same.

Responsible for conditional requests, publications, pushes, overrides, counts, reports, prints and repeated keys.
Refuses to know how a list is planned.
"""

import atexit
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from typing import Any

from flask import Flask
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from service.operations.tokens import create_token
from service.store import migration
from tests.api.caller import Caller
from tests.api.conftest import NOW
from tests.api.shop import CATALOGUE, measure, open_shop
from tests.profiles import examples

DATES = [f"2026-12-{day:02}" for day in (3, 4)]
RANGE = f"from={DATES[0]}&to={DATES[-1]}"
SOURCES = ["till-a", "till-b"]
DRAFT = {name: value for name, value in CATALOGUE["recipes"][0].items() if name not in ("code", "publish_from")}
PRINTED = f"/v1/sites/young/prep-lists/{DATES[0]}"
# An example is a walk of 25 requests and as many looks at everything.
WALKS = settings(max_examples=examples(20), stateful_step_count=25)
few = st.integers(0, 3)
minutes = st.integers(10, 13)


def opened(file: Path) -> Flask:
    return create_app(
        Config.from_env({"DATABASE_URL": f"sqlite:///{file}", "KITCHEN_PREP_NOW": NOW, "KITCHEN_PREP_REQUESTS_PER_MINUTE": "9999999"})
    )


@contextmanager
def closing(app: Flask) -> Iterator[Flask]:
    yield app
    Interior.of(app).engine.dispose()


@cache
def prepared() -> tuple[Path, str]:
    """A database with the shop, forecasts where no rule pushes any, and a director's token; machines copy it."""
    folder = Path(mkdtemp(prefix="kitchen-prep-model-"))
    atexit.register(shutil.rmtree, folder)
    file = folder / "shop.sqlite3"
    migration.upgrade(f"sqlite:///{file}")
    with closing(opened(file)) as app:
        interior = Interior.of(app)
        with interior.writers() as session:
            secret, _ = create_token(session, "Head office", "director", None, None, 1, interior.config.now())
            session.commit()
        open_shop(Caller(app.test_client(), secret), {("west", DATES[0]): 100, ("young", DATES[0]): 40})
    return file, secret


class Kitchen(RuleBasedStateMachine):
    """A director of the shop, and what the model says that the service holds."""

    def __init__(self) -> None:
        super().__init__()
        file, secret = prepared()
        self.place = TemporaryDirectory()
        self.app = opened(Path(shutil.copy(file, self.place.name)))
        self.caller = Caller(self.app.test_client(), secret)
        self.stations: dict[str, tuple[str, str]] = {}
        self.stale: dict[str, str] = {}
        self.draft = "Soup"
        self.versions = [("Soup", "2026-01-01")]
        self.pushed: dict[tuple[str, str], tuple[int, int]] = {}
        self.overrides: dict[str, tuple[int | None, int, str]] = {}
        self.counted: tuple[int, int] | None = None
        self.prints: list[bytes] = []
        self.keyed: dict[str, tuple[Any, bytes]] = {}

    def teardown(self) -> None:
        Interior.of(self.app).engine.dispose()
        self.place.cleanup()

    def read(self, path: str) -> Any:
        answer = self.caller.get(path)
        assert answer.status_code == 200, answer.get_json()
        return answer.get_json()

    # Conditional requests.

    @rule(code=st.sampled_from(["hot", "cold"]), name=st.sampled_from(["A", "B"]), tag=st.sampled_from(["none", "current", "stale", "*"]))
    def put_a_station(self, code: str, name: str, tag: str) -> None:
        known = self.stations.get(code)
        given = {"none": "", "current": known[1] if known else '"x"', "stale": self.stale.get(code, '"old"'), "*": "*"}[tag]
        answer = self.caller.put(f"/v1/stations/{code}", {"name": name}, If_Match=given)
        if known is None:
            expected = 201 if given == "" else 412
        elif given == "":
            expected = 428
        else:
            expected = 200 if given in ("*", known[1]) else 412
        assert answer.status_code == expected
        if expected < 300:
            if known and known[0] != name:
                self.stale[code] = known[1]
            self.stations[code] = (name, answer.headers["ETag"])

    @rule(code=st.sampled_from(["hot", "cold"]))
    def delete_a_station(self, code: str) -> None:
        known = self.stations.pop(code, None)
        answer = self.caller.delete(f"/v1/stations/{code}", If_Match=known[1] if known else "*")
        assert answer.status_code == (204 if known else 404)

    # Publications.

    @rule(title=st.sampled_from(["Soup", "Broth"]))
    def write_the_draft(self, title: str) -> None:
        assert self.caller.put("/v1/recipes/soup/draft", {**DRAFT, "title": title}, If_Match="*").status_code == 200
        self.draft = title

    @rule(day=few)
    def publish(self, day: int) -> None:
        since = f"2026-12-{10 + day}"
        answer = self.caller.post("/v1/recipes/soup/versions", {"from": since})
        if self.versions[-1] == (self.draft, since):
            assert answer.status_code == 409
            return
        self.versions.append((self.draft, since))
        assert (answer.status_code, answer.get_json()["version"]) == (201, len(self.versions))

    # Demand.

    @rule(source=st.sampled_from(SOURCES), date=st.sampled_from(DATES), minute=minutes, count=few)
    def push(self, source: str, date: str, minute: int, count: int) -> None:
        entry = {"site": "east", "date": date, "period": "lunch", "menu_item": "bowl", "count": count}
        body = {"source": source, "as_of": f"2026-12-02T06:{minute}:00-05:00", "entries": [entry]}
        told = self.caller.post("/v1/forecasts", body).get_json()
        old, new = self.pushed.get((source, date)), (minute, count)
        if old is not None and count == old[1] and minute >= old[0]:
            outcome = "unchanged"
        else:
            outcome = "stored" if old is None or new > old else "superseded"
        outcomes = ("stored", "unchanged", "superseded")
        assert {name: told[name] for name in outcomes} == dict.fromkeys(outcomes, 0) | {outcome: 1}
        self.pushed[source, date] = new if old is None else max(old, new)

    @rule(date=st.sampled_from(DATES), count=st.one_of(st.none(), few), add=few)
    def override(self, date: str, count: int | None, add: int) -> None:
        path, known = f"/v1/sites/east/overrides/{date}/lunch/bowl", self.overrides.get(date)
        answer = self.caller.put(path, {"count": count, "add": add}, If_Match=known[2] if known else "")
        assert answer.status_code == (200 if known else 201), answer.get_json()
        self.overrides[date] = (count, add, answer.headers["ETag"])

    @rule(date=st.sampled_from(DATES))
    def take_the_override_back(self, date: str) -> None:
        known = self.overrides.pop(date, None)
        answer = self.caller.delete(f"/v1/sites/east/overrides/{date}/lunch/bowl", If_Match="*")
        assert answer.status_code == (204 if known else 404)

    # Stock, reports and prints.

    @rule(minute=minutes, amount=few)
    def count_salt(self, minute: int, amount: int) -> None:
        lot = {"item": {"ingredient": "salt"}, "quantity": measure(f"{amount} g"), "in": "store"}
        body = {"counted_at": f"2026-12-02T06:{minute}:00-05:00", "lots": [lot]}
        assert self.caller.post("/v1/sites/west/counts", body).status_code == 201
        if self.counted is None or minute >= self.counted[0]:
            self.counted = (minute, amount)

    @rule(state=st.sampled_from(["open", "doing"]), note=st.sampled_from(["a", "b"]))
    def report_work(self, state: str, note: str) -> None:
        [task, *_] = [task for station in self.read(PRINTED)["stations"] for task in station["tasks"] if task["kind"] == "make"]
        path = f"{PRINTED}/tasks/{task['id']}/progress"
        answer = self.caller.put(path, {"state": state, "note": note})
        assert answer.status_code == 200, answer.get_json()
        assert self.read(path) == answer.get_json()
        assert (answer.get_json()["state"], answer.get_json()["note"]) == (state, note)

    @rule()
    def print_the_list(self) -> None:
        answer = self.caller.post(f"{PRINTED}/prints", None)
        assert answer.status_code == 201, answer.get_json()
        self.prints.append(answer.get_data())
        assert answer.get_json()["print"] == len(self.prints)

    # Repeated keys.

    @rule(key=st.sampled_from(["k", "l"]), amount=few)
    def count_lentils_under_a_key(self, key: str, amount: int) -> None:
        lot = {"item": {"ingredient": "lentils"}, "quantity": measure(f"{amount} g"), "in": "store"}
        body = {"counted_at": "2026-12-02T06:00:00-05:00", "lots": [lot]}
        answer = self.caller.post("/v1/sites/east/counts", body, Idempotency_Key=key)
        first, content = self.keyed.setdefault(key, (body, answer.get_data()))
        if body == first:
            assert (answer.status_code, answer.get_data()) == (201, content)
        else:
            assert answer.status_code == 422

    # What both must tell alike.

    @invariant()
    def stations_are_those_put(self) -> None:
        found = {row["code"]: row["name"] for row in self.read("/v1/stations")["items"]}
        assert found == {"veg": "Veg"} | {code: name for code, (name, _) in self.stations.items()}

    @invariant()
    def forecasts_are_the_latest_of_each_key(self) -> None:
        rows = self.read(f"/v1/forecasts?{RANGE}&site=east")["items"]
        found = {(row["source"], row["date"]): row["count"] for row in rows if row["count"]}
        assert found == {key: count for key, (_, count) in self.pushed.items() if count}

    @invariant()
    def what_the_site_will_sell_follows_from_forecasts_and_overrides(self) -> None:
        found = {row["date"]: row["count"] for row in self.read(f"/v1/sites/east/forecasts?{RANGE}")["items"] if row["count"]}
        sold = {}
        for date in DATES:
            count, add, _ = self.overrides.get(date, (None, 0, ""))
            forecast = sum(pushed for (_, day), (_, pushed) in self.pushed.items() if day == date)
            sold[date] = (forecast if count is None else count) + add
        assert found == {date: count for date, count in sold.items() if count}

    @invariant()
    def the_newest_count_is_on_hand(self) -> None:
        lines = self.read(f"/v1/sites/west/order-lists?from=2026-12-02&to={DATES[0]}")["lines"]
        [salt] = [line for line in lines if line["item"].get("ingredient") == "salt"]
        assert salt["on_hand"]["amount"] == (self.counted[1] if self.counted else 0)

    @precondition(lambda self: len(self.versions) > 1)
    @invariant()
    def versions_never_change(self) -> None:
        listed = self.read("/v1/recipes/soup/versions")["items"]
        assert [(row["version"], row["from"]) for row in listed] == [(number, since) for number, (_, since) in enumerate(self.versions, 1)]
        newest = len(self.versions)
        assert self.read(f"/v1/recipes/soup/versions/{newest}")["title"] == self.versions[-1][0]

    @invariant()
    def prints_never_change(self) -> None:
        for number, content in enumerate(self.prints, 1):
            assert self.caller.get(f"{PRINTED}/prints/{number}").get_data() == content


TestKitchen = Kitchen.TestCase
TestKitchen.settings = WALKS

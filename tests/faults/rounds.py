"""Rounds of faults: clients write, something is killed, everything acknowledged must be there and nothing half done.

Responsible for what is checked. Refuses to know how anything is killed.
"""

import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import func, select

from service.config import Config
from service.operations.tokens import create_token
from service.shell import writing
from service.store.engine import make_engine
from service.store.tables import counted_items, idempotency_keys, stock_counts
from tests.faults.clients import CATALOGUE, ENTRIES, LOTS, OTHER, RECIPE, SITE, Client, Cook, Office, Tablet, Till
from tests.faults.places import Place, opened

SECONDS = 30


class Lost(AssertionError):
    """Something acknowledged is gone, or something is there by half."""


def demand(holds: bool, rule: str) -> None:  # noqa: FBT001 - the condition of a check
    """Raise Lost unless a rule holds."""
    if not holds:
        raise Lost(rule)


class Trial:
    """One place, its clients, and how often what was killed."""

    def __init__(self, place: Place, seed: int) -> None:
        self.place = place
        self.dice = random.Random(seed)
        self.today = datetime.now(UTC).date()
        config = Config(database_url=place.url)
        with writing(config) as session:
            self.token = create_token(session, "Faults", "director", None, None, 1, config.now())[0]
        self.clients: list[Client] = [kind(name, self.token, self.today) for name, kind in KINDS.items()]
        self.checked = 0

    def read(self, path: str) -> Any:
        """The value of a GET, once the service answers again."""
        end = time.monotonic() + SECONDS
        while True:
            try:
                answer = self.place.served.send("GET", path, token=self.token)
            except OSError:
                answer = None
            if answer is not None and answer.status == 200:
                return answer.value
            demand(time.monotonic() < end and (answer is None or answer.status == 503), f"{path} is not answered after a restart")
            time.sleep(0.1)

    def prepare(self) -> None:
        """Start the service, import the catalogue, and print a list for each tablet."""
        self.place.start()
        self.send("POST", "/v1/imports", CATALOGUE)
        for tablet in (client for client in self.clients if isinstance(client, Tablet)):
            self.send("PUT", f"/v1/sites/{tablet.name}/overrides/{self.today + timedelta(1)}/noon/bowl", {"count": 10})
            self.send("POST", f"{tablet.day}/prints", None)

    def send(self, method: str, path: str, body: Any) -> None:
        """Do something that must succeed."""
        answer = self.place.served.send(method, path, body, self.token)
        demand(answer.status in (200, 201), answer.content.decode())

    def round(self, victim: str) -> None:
        """Let clients write, kill in the middle of it, start again, check; then let each repeat what was not answered."""
        self.clients = [successor(client) for client in self.clients]
        for client in self.clients:
            client.place = self.place.now
            client.start()
        before = [client.done for client in self.clients]
        self.wait(lambda: all(client.done > done for client, done in zip(self.clients, before, strict=True)))
        time.sleep(self.dice.uniform(0, 0.3))
        self.place.kill(victim)
        time.sleep(self.dice.uniform(0, 0.2))
        for client in self.clients:
            client.stopping.set()
        for client in self.clients:
            client.join(SECONDS)
            demand(not client.is_alive(), f"{client.name} waits for an answer that never comes")
            if client.failure is not None:
                raise client.failure
        self.place.restore(victim)
        self.check()
        for client in self.clients:
            self.wait(lambda client=client: client.tried == client.done or repeated(client))  # type: ignore[misc]
        self.check()

    def wait(self, holds: Callable[[], bool]) -> None:
        """Wait until something holds; raises what a client failed with."""
        end = time.monotonic() + SECONDS
        while not holds():
            for client in self.clients:
                if client.failure is not None:
                    raise client.failure
            demand(time.monotonic() < end, "the service does not take work again")
            time.sleep(0.02)

    def check(self) -> None:
        """Everything acknowledged is there; of what was not, all or nothing."""
        for client in self.clients:
            if isinstance(client, Till):
                self.check_forecasts(client)
            elif isinstance(client, Office):
                self.check_versions(client)
            elif isinstance(client, Tablet):
                self.check_reports(client)
            else:
                self.check_counts(client)

    def check_forecasts(self, till: Client) -> None:
        """All entries of a source tell the count of one push."""
        dates = f"from={self.today}&to={self.today + timedelta(ENTRIES + 1)}"
        rows = [row for row in self.read(f"/v1/forecasts?{dates}&limit=500")["items"] if row["source"] == till.name]
        counts = {row["count"] for row in rows}
        demand(len(rows) in ({0, ENTRIES} if till.done == 0 else {ENTRIES}), f"{till.name}: {len(rows)} of {ENTRIES} entries")
        demand(len(counts) <= 1, f"{till.name}: a push by half, {sorted(counts)}")
        demand(counts <= {till.done, till.tried}, f"{till.name}: {counts} stored, {till.done} acknowledged, {till.tried} sent")

    def check_versions(self, office: Client) -> None:
        """Versions are numbered without a gap or a repetition, each with the title that it was published with."""
        number = self.checked + 1
        while number <= office.done + 1:
            title = self.read(f"/v1/recipes/{RECIPE}/versions/{number}")["title"]
            demand(title == f"Soup {number - 1}", f"version {number} has the title {title}")
            number += 1
        self.checked = office.done
        answer = self.place.served.send("GET", f"/v1/recipes/{RECIPE}/versions/{office.tried + 2}", token=self.token)
        demand(answer.status == 404, f"version {office.tried + 2} was never asked for")

    def check_reports(self, tablet: Tablet) -> None:
        """What was last reported is what was last acknowledged, or what came after it."""
        if tablet.done:
            number = int(self.read(tablet.report_of(self.read(f"{tablet.day}/prints/1")))["note"])
            demand(
                number in (tablet.done, tablet.tried), f"{tablet.name}: {number} stored, {tablet.done} acknowledged, {tablet.tried} sent"
            )

    def check_counts(self, cook: Client) -> None:
        """Each count stands there once, with all its lots; each key with its work."""
        engine = make_engine(self.place.url)
        with engine.connect() as connection:
            keys = connection.execute(select(func.count()).select_from(idempotency_keys)).scalar_one()
            found = connection.execute(select(stock_counts.c.content)).scalars().all()
            items = connection.execute(select(func.count()).select_from(counted_items)).scalar_one()
        engine.dispose()
        counts, lots = len(found), sum(len(content["lots"]) for content in found)
        demand(cook.done <= counts <= cook.tried, f"{counts} counts stored, {cook.done} acknowledged, {cook.tried} sent")
        demand(lots == LOTS * counts, f"{lots} lots of {counts} counts")
        demand(items == (LOTS if counts else 0), f"{items} items that were counted, of {LOTS}")
        published = next(client for client in self.clients if isinstance(client, Office))
        demand(published.done + counts <= keys <= published.tried + counts, f"{keys} keys of {counts} counts and {published.done} versions")


KINDS: dict[str, type[Client]] = {"till-east": Till, "till-west": Till, "office": Office, "cook": Cook, SITE: Tablet, OTHER: Tablet}


def successor(client: Client) -> Client:
    """A client that goes on where another stopped: a thread runs once."""
    following = type(client)(client.name, client.token, client.today)
    following.done, following.tried, following.interrupted = client.done, client.tried, client.interrupted
    return following


def repeated(client: Client) -> bool:
    """Whether a client's repetition of what was not answered is acknowledged now."""
    client.take_one()
    return client.tried == client.done


@contextmanager
def trial(kind: str, seed: int) -> Iterator[Trial]:
    """A trial on one kind of database, in a folder of its own."""
    with TemporaryDirectory(prefix="kitchen-prep-faults-") as folder:
        Path(folder).chmod(0o755)
        with opened(kind, Path(folder)) as place:
            made = Trial(place, seed)
            made.prepare()
            yield made


def run(kind: str, rounds: int, seed: int, tell: Callable[[str], None]) -> None:
    """Kill each victim in turn, so many rounds in all; raises Lost."""
    with trial(kind, seed) as tried:
        victims = tried.place.victims()
        for number in range(rounds):
            victim = victims[number % len(victims)]
            tried.round(victim)
            tell(f"{kind}, round {number + 1} of {rounds}: the {victim} was killed, nothing is lost")
        work = ", ".join(f"{client.name} {client.done}" for client in tried.clients)
        repeats = sum(client.interrupted for client in tried.clients)
        tell(f"{kind}: {rounds} kills; acknowledged: {work}; {repeats} requests were repeated")

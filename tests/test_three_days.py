"""Three days of the demo's kitchens (P15 a): whatever their lists show can be reported, in any order, and is done then."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from random import Random
from typing import Any

import pytest

from service import demo
from service.api.exchange.interior import Interior
from service.app import create_app
from service.config import Config
from tests.api.caller import Caller
from tests.load.history import entries
from tests.profiles import examples

Json = dict[str, Any]
NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)
DAYS = [NOW.date() + timedelta(number) for number in range(3)]


class Kitchens:
    """The demo on the Wednesday that it is drawn for, and its director."""

    def __init__(self, config: Config) -> None:
        secret = demo.prepare(config).tokens["director"]
        self.app = create_app(config)
        self.director = Caller(self.app.test_client(), secret)
        self.now = NOW

    def shown(self, site: str) -> list[tuple[date, str]]:
        """What the lists of three days show, in order of time: on which date's list, and its id."""
        found = [(on, each) for on in DAYS for each in entries(self.director.get(f"{lists(site)}/{on}").get_json())]
        return [(on, each["id"]) for on, each in sorted(found, key=lambda one: (one[1]["start_by"], one[1]["id"]))]

    def push(self, site: str, *, of_ten: int) -> None:
        """Let so many of ten guests come whom the demo announces."""
        self.now += timedelta(seconds=1)
        Interior.of(self.app).config = replace(Interior.of(self.app).config, pinned=self.now)
        announced = [each for body in demo.seed("forecasts") for each in body["entries"] if each["site"] == site]
        rows = [demo.dated({**each, "count": each["count"] * of_ten // 10}, DAYS[0], {"day": "date"}) for each in announced]
        answer = self.director.post("/v1/forecasts", {"source": "till-east", "as_of": self.now.isoformat(), "entries": rows})
        assert answer.get_json()["refused"] == []

    def refused(self, site: str, shown: Sequence[tuple[date, str]]) -> list[tuple[int, str]]:
        """Report all of it as done, and tell what is not accepted."""
        told = [(self.director.put(f"{lists(site)}/{on}/tasks/{id_}/progress", {"state": "done"}), id_) for on, id_ in shown]
        return [(answer.status_code, id_) for answer, id_ in told if answer.status_code != 200]


def lists(site: str) -> str:
    return f"/v1/sites/{site}/prep-lists"


@pytest.fixture
def kitchens() -> Iterator[Kitchens]:
    with demo.temporary(Config(database_url="sqlite:///elsewhere.sqlite3", pinned=NOW, requests_per_minute=1_000_000)) as config:
        made = Kitchens(config)
        yield made
        Interior.of(made.app).engine.dispose()


def as_it_starts(shown: list[tuple[date, str]]) -> list[tuple[date, str]]:
    return shown


def in_reverse(shown: list[tuple[date, str]]) -> list[tuple[date, str]]:
    return shown[::-1]


def at_random(shown: list[tuple[date, str]]) -> list[tuple[date, str]]:
    return Random(11).sample(shown, len(shown))


Order = Callable[[list[tuple[date, str]]], list[tuple[date, str]]]


@pytest.mark.parametrize("order", [as_it_starts, in_reverse, at_random])
def test_p15_a_what_was_shown_can_be_reported_in_any_order(kitchens: Kitchens, order: Order) -> None:
    shown = kitchens.shown(demo.SITE)
    assert len(shown) > 200
    # Each report of unprinted work plans, and all of them take minutes: HYPOTHESIS_PROFILE=deep reports all.
    some = shown if examples(100) > 100 else shown[::16]
    assert kitchens.refused(demo.SITE, order(some)) == []


def test_p15_a_all_that_was_printed_can_be_reported_whatever_is_announced_since(kitchens: Kitchens) -> None:
    site = demo.SITE
    printed = [kitchens.director.post(f"{lists(site)}/{on}/prints", None).get_json() for on in DAYS]
    shown = at_random([(on, each["id"]) for on, document in zip(DAYS, printed, strict=True) for each in entries(document)])
    third = len(shown) // 3
    assert kitchens.refused(site, shown[:third]) == []
    kitchens.push(site, of_ten=4)
    assert kitchens.refused(site, shown[third : 2 * third]) == []
    kitchens.push(site, of_ten=14)
    assert kitchens.refused(site, shown[2 * third :]) == []

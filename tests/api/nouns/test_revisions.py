"""The feed tells which of many lists have changed, by the tags that the lists themselves have; bulk lists follow it."""

import gzip
import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

import pytest
from flask import Flask

from service.api.exchange.interior import Interior
from service.api.schemas.queries import write_cursor
from service.app import create_app
from service.config import Config
from tests.api.bodies import SITE, STATION
from tests.api.caller import Caller, faults
from tests.api.conftest import NOW

DAY = "2026-12-03"
FEED = f"/v1/revisions?date={DAY}"
SITES = ("annex", "mill", "quay")
LATER = "2026-12-02T07:20:00-05:00"


@contextmanager
def at(database_url: str, moment: str, secret: str | None) -> Iterator[Caller]:
    """A caller of the service at another moment."""
    app = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_NOW": moment, "KITCHEN_PREP_LOG_LEVEL": "CRITICAL"}))
    yield Caller(app.test_client(), secret)
    Interior.of(app).engine.dispose()


@pytest.fixture
def group(director: Caller) -> Caller:
    """A director of three sites that sell one thing."""
    for station in ("veg", "hot"):
        assert director.put(f"/v1/stations/{station}", STATION).status_code == 201
    for code in SITES:
        assert director.put(f"/v1/sites/{code}", {**SITE, "name": code}).status_code == 201
    return director


def list_path(site: str) -> str:
    return f"/v1/sites/{site}/prep-lists/{DAY}"


def count(caller: Caller, site: str) -> None:
    """Change what one site's list is made of."""
    body = {"counted_at": "2026-12-02T07:00:00-05:00", "lots": []}
    assert caller.post(f"/v1/sites/{site}/counts", body).status_code == 201


def told(caller: Caller, path: str) -> tuple[dict[str, str], str]:
    """The tags of a feed by site, and its cursor."""
    answer = caller.get(path)
    assert answer.status_code == 200, answer.get_json()
    body = answer.get_json()
    return {row["site"]: row["etag"] for row in body["revisions"]}, body["cursor"]


def test_every_tag_of_the_feed_is_that_of_the_list_and_asks_for_nothing_again(group: Caller) -> None:
    for encoding in ("", "gzip"):
        feed = group.get(FEED, Accept_Encoding=encoding)
        rows = {row["site"]: row["etag"] for row in (feed.get_json() if not encoding else unpacked(feed))["revisions"]}
        assert list(rows) == list(SITES)
        for site, tag in rows.items():
            assert group.get(list_path(site), Accept_Encoding=encoding).headers["ETag"] == tag
            assert group.get(list_path(site), Accept_Encoding=encoding, If_None_Match=tag).status_code == 304


def unpacked(answer: Any) -> Any:
    return json.loads(gzip.decompress(answer.get_data()))


def test_since_an_earlier_answer_only_what_changed_is_told(group: Caller) -> None:
    before, cursor = told(group, FEED)
    assert told(group, f"{FEED}&since={cursor}") == ({}, cursor)
    count(group, "mill")
    changed, later = told(group, f"{FEED}&since={cursor}")
    assert list(changed) == ["mill"]
    assert changed["mill"] != before["mill"]
    assert told(group, f"{FEED}&since={later}") == ({}, later)
    assert list(told(group, f"{FEED}&since={cursor}&sites=annex,quay")[0]) == []
    assert list(told(group, f"{FEED}&sites=quay,mill")[0]) == ["mill", "quay"]
    assert list(told(group, f"{FEED}&sites=quay&sites=mill")[0]) == ["mill", "quay"]


def test_a_change_that_can_have_no_place_in_the_order_yet_is_told_until_it_has_one(app: Flask, group: Caller) -> None:
    _, cursor = told(group, FEED)
    count(group, "mill")
    with Interior.of(app).writers() as another:
        another.connection()
        for _ in range(2):
            changed, cursor = told(group, f"{FEED}&since={cursor}")
            assert list(changed) == ["mill"]
    changed, cursor = told(group, f"{FEED}&since={cursor}")
    assert list(changed) == ["mill"]
    assert told(group, f"{FEED}&since={cursor}") == ({}, cursor)


def test_a_change_of_the_catalogue_is_one_of_every_list(group: Caller) -> None:
    before, cursor = told(group, FEED)
    assert group.put("/v1/stations/grill", STATION).status_code == 201
    after, _ = told(group, f"{FEED}&since={cursor}")
    assert list(after) == list(SITES)
    assert all(after[site] != before[site] for site in SITES)


def test_lists_of_a_clock_that_was_pinned_otherwise_are_told_with_their_tags(group: Caller, database_url: str) -> None:
    today = "/v1/revisions?date=2026-12-02"
    _, tomorrows = told(group, FEED)
    _, cursor = told(group, today)
    with at(database_url, LATER, group.secret) as later:
        # A pinned clock is told on every list, so that each of its moments has lists of its own.
        assert list(told(later, f"{today}&since={cursor}")[0]) == list(SITES)
        assert told(later, today)[0] == {site: later.get(list_path(site).replace(DAY, "2026-12-02")).headers["ETag"] for site in SITES}
        assert list(told(later, f"{FEED}&since={tomorrows}")[0]) == list(SITES)


def test_a_caller_of_some_sites_is_told_of_these_and_a_foreign_one_reads_like_none(group: Caller, caller_of: Any) -> None:
    kitchen = caller_of("kitchen", ["mill"])
    assert list(told(kitchen, FEED)[0]) == ["mill"]
    same = {"X_Request_Id": "the-same"}
    foreign, missing = (kitchen.get(f"{FEED}&sites={site}", **same) for site in ("quay", "nowhere"))
    assert (foreign.status_code, foreign.get_data().replace(b"quay", b"nowhere")) == (404, missing.get_data())
    assert caller_of("integration", None, "till-east").get(FEED).status_code == 403


@pytest.mark.parametrize("cursor", ["x", "MC4yLjB8MQ", "", "b25pb24"])
def test_what_is_no_cursor_of_the_feed_is_refused(group: Caller, cursor: str) -> None:
    refused = group.get(f"{FEED}&since={cursor}")
    assert faults(refused) == {("since", "wrong_type")}
    assert "/v1/revisions" in refused.get_json()["errors"][0]["detail"]


def test_bulk_lists_are_those_of_the_sites_asked_for_that_have_changed(group: Caller) -> None:
    _, cursor = told(group, FEED)
    count(group, "quay")
    for path in (f"/v1/prep-lists/{DAY}?", f"/v1/order-lists?from={DAY}&to={DAY}&"):
        assert [row["site"] for row in group.get(f"{path}sites=quay,annex").get_json()["items"]] == ["annex", "quay"]
        since = group.get(f"{path}since={cursor}")
        assert [row["site"] for row in since.get_json()["items"]] == ["quay"]
        assert group.get(f"{path}since={cursor}", If_None_Match=since.headers["ETag"]).status_code == 304
        assert group.get(f"{path}since={cursor}&sites=mill").get_json()["items"] == []
        assert group.get(f"{path}sites=nowhere").status_code == 404
        first = group.get(f"{path}limit=1&sites=quay,annex").get_json()
        assert [row["site"] for row in group.get(first["next"]).get_json()["items"]] == ["quay"]


def test_a_cursor_of_another_database_or_release_tells_all(group: Caller) -> None:
    quarter = int(datetime.fromisoformat(NOW).timestamp())
    for state in (f"0.0.1|1|{quarter}", f"0.2.0|999999|{quarter}"):
        assert list(told(group, f"{FEED}&since={write_cursor(state)}")[0]) == list(SITES)

"""What concerns one site alone waits for its writers and for those of the whole group, and on PostgreSQL for no other site's."""

import re
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from concurrent.futures import TimeoutError as Waits
from functools import partial
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import event
from werkzeug.test import TestResponse

from service.api.exchange.interior import Interior
from service.app import NOUNS
from service.store.engine import SITE
from tests.api.caller import Caller
from tests.api.exchange.test_idempotency import KEY
from tests.api.exchange.test_preparing import LIST, report, task_of
from tests.api.exchange.test_turns import Work, together
from tests.api.nouns.test_revisions import FEED, told
from tests.api.shop import open_shop

Send = Callable[[Caller, str], int]
OF_CALLERS = {"idempotency_keys"}
"""Tables in which each token has rows of its own."""
SENT: dict[str, Send] = {
    "PUT /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress": lambda shop, task: report(shop, task).status_code,
    "POST /v1/sites/{site}/prep-lists/{date}/prints": lambda shop, _: shop.post(f"{LIST}/prints", None, Idempotency_Key=KEY).status_code,
}


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", "2026-12-03"): 10, ("west", "2026-12-03"): 8})
    return director


def test_every_view_that_is_local_is_one_of_a_site_and_is_tried_here() -> None:
    local = {f"{view.method} {view.path}" for noun in NOUNS for view in noun.views if view.local}
    assert local == SENT.keys()
    assert all("/sites/{site}/" in name for name in local)


@pytest.mark.parametrize("name", SENT)
@pytest.mark.parametrize("other", ["west", "east", None])
def test_what_is_local_waits_for_no_other_site_on_postgresql(app: Flask, shop: Caller, name: str, other: str | None) -> None:
    task, interior = task_of(shop), Interior.of(app)
    waits = other != "west" or interior.engine.dialect.name == "sqlite"
    with ThreadPoolExecutor(1) as pool:
        with interior.writers() as another:
            another.connection(execution_options={SITE: other})
            sent = pool.submit(SENT[name], shop, task)
            if waits:
                with pytest.raises(Waits):
                    sent.result(0.5)
            else:
                assert sent.result(9) in (200, 201)
        assert sent.result(9) in (200, 201)


@pytest.mark.parametrize("name", SENT)
def test_what_is_local_writes_rows_of_its_site_alone(app: Flask, shop: Caller, name: str) -> None:
    task, written = task_of(shop), list[tuple[str, str]]()

    def watch(_connection: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        if found := re.match(r"(?:INSERT INTO|UPDATE|DELETE FROM) (\w+)", statement):
            written.append((found[1], str(parameters)))

    with Interior.of(app).writers() as session:
        event.listen(session.get_bind(), "before_cursor_execute", watch)
    assert SENT[name](shop, task) in (200, 201)
    assert {"revisions"} < {table for table, _ in written}
    assert [each for each in written if each[0] not in OF_CALLERS and "east" not in each[1]] == []


def test_a_poller_knows_every_list_that_two_sites_report_and_print_while_the_catalogue_changes(app: Flask, shop: Caller) -> None:
    lists = {site: LIST.replace("east", site) for site in ("east", "west")}
    tasks, over = {site: task_of(shop, day) for site, day in lists.items()}, threading.Event()

    def poll() -> dict[str, str]:
        caller, last = Caller(app.test_client(), shop.secret), False
        tags, cursor = told(caller, FEED)
        while not last:
            last = over.is_set()
            changed, cursor = told(caller, f"{FEED}&since={cursor}")
            tags |= changed
        return tags

    def change(caller: Caller, number: int) -> TestResponse:
        return caller.post("/v1/imports", {"stations": [{"code": f"new-{number}", "name": "New"}]})

    def report_at(site: str, caller: Caller, number: int) -> TestResponse:
        return report(caller, tasks[site], lists[site], "done" if number % 2 else "doing")

    def print_at(site: str, caller: Caller, _: int) -> TestResponse:
        return caller.post(f"{lists[site]}/prints", None)

    works: list[Work] = [change, *(partial(work, site) for work in (report_at, print_at) for site in lists)]
    with ThreadPoolExecutor(1) as pool:
        polling = pool.submit(poll)
        answers = together(app, shop, *works)
        over.set()
        tags = polling.result()
    assert {answer.status_code for answer in answers} <= {200, 201, 503}
    assert {site: tags[site] for site in lists} == {site: shop.get(day).headers["ETag"] for site, day in lists.items()}

"""Many clients at once, on both databases, end as if each had had its turn: nothing lost, nothing twice, no 5xx."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tests.api.caller import Caller
from tests.api.shop import CATALOGUE, measure, open_shop

LIST = "/v1/sites/east/prep-lists/2026-12-03"
FORECASTS = "/v1/forecasts?from=2026-12-03&to=2026-12-03&site=east"
ROUNDS, CLIENTS = 4, 4
Work = Callable[[Caller, int], TestResponse]
DRAFT = {name: value for name, value in CATALOGUE["recipes"][0].items() if name not in ("code", "publish_from")}


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", "2026-12-03"): 10})
    return director


def together(app: Flask, shop: Caller, *works: Work) -> list[TestResponse]:
    """Every piece of work, each some times with its number, sent by several clients at once; the answers in no order."""
    pieces = [(work, number) for number in range(CLIENTS * ROUNDS) for work in works]
    with ThreadPoolExecutor(CLIENTS) as pool:
        answers = list(pool.map(lambda piece: piece[0](Caller(app.test_client(), shop.secret), piece[1]), pieces))
    assert [answer.get_json() for answer in answers if answer.status_code >= 500 and answer.status_code != 503] == []
    return answers


def patiently(send: Callable[[], TestResponse]) -> TestResponse:
    """The answer to a request that is repeated while the service is busy."""
    while (answer := send()).status_code == 503:
        assert answer.headers["Retry-After"]
    return answer


def push(source: str, number: int, minute: int) -> dict[str, Any]:
    entry = {"site": "east", "date": "2026-12-03", "period": "lunch", "menu_item": "bowl", "count": number}
    return {"source": source, "as_of": f"2026-12-02T06:{minute:02}:00-05:00", "entries": [entry]}


def test_of_pushes_in_any_order_the_latest_stands_and_of_one_moment_the_larger_count(app: Flask, shop: Caller) -> None:
    answers = together(app, shop, lambda caller, number: caller.post("/v1/forecasts", push("till-b", 100 - number, 10 + number // 2)))
    told = [answer.get_json() for answer in answers]
    assert all(each["stored"] + each["unchanged"] + each["superseded"] == 1 for each in told)
    last = CLIENTS * ROUNDS - 1
    rows = {row["source"]: row["count"] for row in shop.get(FORECASTS).get_json()["items"]}
    assert rows == {"till": 10, "till-b": 100 - (last - 1)}


def test_versions_published_at_once_have_numbers_without_gap_and_none_is_lost(app: Flask, shop: Caller) -> None:
    dates = [f"2026-12-{10 + number:02}" for number in range(CLIENTS * ROUNDS)]
    answers = together(app, shop, lambda caller, number: caller.post("/v1/recipes/soup/versions", {"from": dates[number]}))
    assert sorted(answer.get_json()["version"] for answer in answers) == list(range(2, 2 + len(dates)))
    listed = shop.get("/v1/recipes/soup/versions").get_json()["items"]
    assert sorted(version["from"] for version in listed) == ["2026-01-01", *dates]


def test_of_those_who_publish_the_same_at_once_one_does(app: Flask, shop: Caller) -> None:
    answers = together(app, shop, lambda caller, _: caller.post("/v1/recipes/soup/versions", {"from": "2026-12-10"}))
    assert sorted(answer.status_code for answer in answers) == [201, *[409] * (len(answers) - 1)]
    assert len(shop.get("/v1/recipes/soup/versions").get_json()["items"]) == 2


def test_of_those_who_replace_one_state_one_does_and_no_change_is_overwritten(app: Flask, shop: Caller) -> None:
    tag = shop.get("/v1/recipes/soup/draft").headers["ETag"]
    answers = together(
        app, shop, lambda caller, number: caller.put("/v1/recipes/soup/draft", {**DRAFT, "title": f"Soup {number}"}, If_Match=tag)
    )
    assert sorted(answer.status_code for answer in answers) == [200, *[412] * (len(answers) - 1)]
    [won] = [answer for answer in answers if answer.status_code == 200]
    assert shop.get("/v1/recipes/soup/draft").get_data() == won.get_data()


def test_prints_made_at_once_have_numbers_without_gap_and_each_is_kept(app: Flask, shop: Caller) -> None:
    answers = together(app, shop, lambda caller, _: patiently(lambda: caller.post(f"{LIST}/prints", None)))
    assert sorted(answer.get_json()["print"] for answer in answers) == list(range(1, len(answers) + 1))
    for answer in answers:
        assert shop.get(f"{LIST}/prints/{answer.get_json()['print']}").get_data() == answer.get_data()


def test_pushes_counts_reports_prints_and_publications_at_once_end_as_some_order_of_them(app: Flask, shop: Caller) -> None:
    [task, *_] = [task for station in shop.get(LIST).get_json()["stations"] for task in station["tasks"] if task["kind"] != "use"]
    lot = {"item": {"ingredient": "salt"}, "in": "store"}

    def count(caller: Caller, number: int) -> TestResponse:
        lots = [{**lot, "quantity": measure(f"{number + 1} kg")}]
        return caller.post("/v1/sites/east/counts", {"counted_at": f"2026-12-02T05:{10 + number}:00-05:00", "lots": lots})

    answers = together(
        app,
        shop,
        lambda caller, number: caller.post("/v1/forecasts", push(f"till-{number % 2}", number, 10 + number)),
        count,
        lambda caller, number: patiently(
            lambda: caller.put(f"{LIST}/tasks/{task['id']}/progress", {"state": "doing", "note": f"report {number}"})
        ),
        lambda caller, _: patiently(lambda: caller.post(f"{LIST}/prints", None)),
        lambda caller, number: caller.post("/v1/recipes/soup/versions", {"from": f"2026-12-{10 + number:02}"}),
    )
    assert {answer.status_code for answer in answers} == {200, 201}
    last = CLIENTS * ROUNDS - 1
    rows = {row["source"]: row["count"] for row in shop.get(FORECASTS).get_json()["items"]}
    assert rows == {"till": 10, "till-0": last - 1, "till-1": last}
    assert len(shop.get("/v1/recipes/soup/versions").get_json()["items"]) == 2 + last
    assert len(shop.get(f"{LIST}/prints").get_json()["items"]) == 1 + last
    order = shop.get("/v1/sites/east/order-lists?from=2026-12-02&to=2026-12-03").get_json()
    [salt] = [line for line in order["lines"] if line["item"].get("ingredient") == "salt"]
    assert salt["order"]["amount"] == 0, "the newest count holds sixteen kilos"
    first = shop.get(LIST)
    assert shop.get(LIST).get_data() == first.get_data()

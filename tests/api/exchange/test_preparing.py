"""What is to be written is prepared with a reader: the one writer computes nothing, and what has moved is prepared once more."""

import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest
from flask import Flask, g
from werkzeug.test import TestResponse

from service.api.exchange import turns
from service.api.exchange.interior import Interior
from service.api.exchange.views import View
from service.app import NOUNS
from service.errors import Moved
from service.kitchen.planning import plan
from service.operations import imports, lists, loading, prints, progress, publishing
from service.store import revisions
from service.store.engine import READ_ONLY
from tests.api.caller import Caller, faults
from tests.api.exchange.test_idempotency import COUNT, KEY, POSTS, TOKEN, later, rows, told
from tests.api.shop import CATALOGUE, measure, open_shop

LIST = "/v1/sites/east/prep-lists/2026-12-03"
DAY = "2026-12-03"
PUSH = {
    "source": "till",
    "as_of": "2026-12-02T06:30:00-05:00",
    "entries": [{"site": "east", "date": DAY, "period": "lunch", "menu_item": "bowl", "count": 12}],
}
Json = dict[str, Any]
VIEWS = {f"{view.method} {view.path}": view for noun in NOUNS for view in noun.views if view.writes}


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", DAY): 10})
    return director


def element(noun: str, code: str) -> Json:
    """An element of the catalogue as the body of a PUT."""
    found: Json = next(each for each in CATALOGUE[noun] if each["code"] == code)
    return {name: value for name, value in found.items() if name not in ("code", "publish_from")}


def tasks_of(shop: Caller, day: str = LIST) -> list[str]:
    """What is to be made and prepared on a list."""
    document = shop.get(day).get_json()
    return [task["id"] for station in document["stations"] for task in station["tasks"] if task["kind"] != "use"]


def task_of(shop: Caller, day: str = LIST) -> str:
    """A task of a list."""
    return tasks_of(shop, day)[0]


def meanwhile(work: Callable[[], TestResponse]) -> TestResponse:
    """What another caller is answered while this request is under way."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(work).result()


def report(caller: Caller, task: str, day: str = LIST, state: str = "done") -> TestResponse:
    return caller.put(f"{day}/tasks/{task}/progress", {"state": state})


def write_everything(shop: Caller, caller_of: Callable[..., Caller]) -> Iterator[str]:
    """Send a request to each view that writes, one after the other; method and path of each before it is sent."""
    spare: Json = {"ingredients": [{"code": "spare", "name": "Spare", "kind": "mass"}], "menu_items": [{"code": "spare", "name": "Spare"}]}
    spare["menu_items"][0]["components"] = element("menu_items", "bowl")["components"]
    assert shop.post("/v1/imports", spare).status_code == 200
    caller_of("viewer")
    token = next(each["id"] for each in shop.get("/v1/tokens").get_json()["items"] if each["role"] == "viewer")
    link = shop.post("/v1/sites/east/sheet-links", {}).get_json()["id"]
    requests = writes(task_of(shop), token, link)
    assert requests.keys() == VIEWS.keys()
    for name, (path, body) in requests.items():
        tag = shop.get(path).headers.get("ETag", "")
        yield name
        answer = shop.send(name.split()[0], path, body, headers={"If-Match": tag})
        assert answer.status_code in (200, 201, 204), (name, answer.get_json())


def writes(task: str, token: str, link: str) -> dict[str, tuple[str, Any]]:
    """A request to each view that writes; in this order all of them succeed."""
    return {
        "PUT /v1/stations/{code}": ("/v1/stations/new", {"name": "New"}),
        "DELETE /v1/stations/{code}": ("/v1/stations/new", None),
        "PUT /v1/equipment/{code}": ("/v1/equipment/new", {"name": "New"}),
        "DELETE /v1/equipment/{code}": ("/v1/equipment/new", None),
        "PUT /v1/ingredients/{code}": ("/v1/ingredients/salt", {**element("ingredients", "salt"), "name": "Sea salt"}),
        "DELETE /v1/ingredients/{code}": ("/v1/ingredients/spare", None),
        "PUT /v1/menu-items/{code}": ("/v1/menu-items/bowl", {**element("menu_items", "bowl"), "name": "Big bowl"}),
        "DELETE /v1/menu-items/{code}": ("/v1/menu-items/spare", None),
        "PUT /v1/sites/{code}": ("/v1/sites/west", {**element("sites", "west"), "name": "West"}),
        "DELETE /v1/sites/{code}": ("/v1/sites/young", None),
        "POST /v1/recipes/{code}/versions": ("/v1/recipes/soup/versions", {"from": "2026-12-20"}),
        "POST /v1/recipes/{code}/versions/{number}/withdrawal": ("/v1/recipes/soup/versions/2/withdrawal", {"from": "2026-12-21"}),
        "PUT /v1/recipes/{code}/draft": ("/v1/recipes/soup/draft", {**element("recipes", "soup"), "title": "Thick soup"}),
        "DELETE /v1/recipes/{code}/draft": ("/v1/recipes/soup/draft", None),
        "POST /v1/imports": ("/v1/imports", CATALOGUE),
        "POST /v1/forecasts": ("/v1/forecasts", PUSH),
        "PUT /v1/sites/{site}/overrides/{date}/{period}/{menu_item}": (f"/v1/sites/east/overrides/{DAY}/lunch/bowl", {"count": 20}),
        "DELETE /v1/sites/{site}/overrides/{date}/{period}/{menu_item}": (f"/v1/sites/east/overrides/{DAY}/lunch/bowl", None),
        "PUT /v1/sites/{site}/capacity/{date}": (f"/v1/sites/east/capacity/{DAY}", {"shifts": []}),
        "DELETE /v1/sites/{site}/capacity/{date}": (f"/v1/sites/east/capacity/{DAY}", None),
        "POST /v1/sites/{site}/counts": ("/v1/sites/east/counts", COUNT),
        "DELETE /v1/sites/{site}/counts/{number}": ("/v1/sites/east/counts/1", None),
        "PUT /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress": (f"{LIST}/tasks/{task}/progress", {"state": "done"}),
        "POST /v1/sites/{site}/prep-lists/{date}/prints": (f"{LIST}/prints", None),
        "POST /v1/sites/{site}/sheet-links": ("/v1/sites/east/sheet-links", {}),
        "DELETE /v1/sites/{site}/sheet-links/{id}": (f"/v1/sites/east/sheet-links/{link}", None),
        "POST /v1/tokens": ("/v1/tokens", TOKEN),
        "DELETE /v1/tokens/{id}": (f"/v1/tokens/{token}", None),
    }


def test_nobody_plans_or_reads_the_catalogue_while_holding_the_writer(
    shop: Caller, caller_of: Callable[..., Caller], monkeypatch: pytest.MonkeyPatch
) -> None:
    computed: list[str] = []

    def watch(name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def watched(*arguments: Any, **named: Any) -> Any:
            if not g.session.get_bind().get_execution_options().get(READ_ONLY):
                computed.append(f"{name} in {asked}")
            return work(*arguments, **named)

        return watched

    monkeypatch.setattr(plan._Planner, "__init__", watch("planning", plan._Planner.__init__))
    monkeypatch.setattr(loading, "_read", watch("reading the catalogue", loading._read))
    monkeypatch.setattr(loading, "_changed", watch("asking what would be", loading._changed))
    for name in write_everything(shop, caller_of):
        asked = name
        # As if each worker met a catalogue that it has not seen yet.
        loading._known.clear()
    assert computed == []


def test_whatever_was_prepared_by_a_catalogue_that_has_changed_is_prepared_once_more(
    app: Flask, shop: Caller, caller_of: Callable[..., Caller], monkeypatch: pytest.MonkeyPatch
) -> None:
    times, work, asked = Counter[str](), turns.prepare, ""

    def prepare(view: View, *arguments: Any) -> Any:
        made, name = work(view, *arguments), f"{view.method} {view.path}"
        times[name] += view.prepare is not None and name == asked
        if times[name] == 1:
            with Interior.of(app).writers() as session:
                revisions.bump(session, revisions.CATALOGUE)
                session.commit()
        return made

    monkeypatch.setattr(turns, "prepare", prepare)
    for name in write_everything(shop, caller_of):
        asked = name
    assert times == {name: 2 if view.prepare else 0 for name, view in VIEWS.items()}


def test_a_report_of_what_was_printed_or_reported_is_answered_without_planning(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    printed, task = shop.post(f"{LIST}/prints", None), task_of(shop)
    assert printed.status_code == 201
    unprinted = LIST.replace("-03", "-04")
    assert shop.put("/v1/sites/east/overrides/2026-12-04/lunch/bowl", {"count": 20}).status_code == 201
    other = task_of(shop, unprinted)
    assert report(shop, other, unprinted, state="doing").status_code == 200

    def fail(*_: Any) -> None:
        raise AssertionError

    monkeypatch.setattr("service.operations.progress.plan_site", fail)
    assert report(shop, task).status_code == 200
    assert report(shop, other, unprinted).status_code == 200


def test_neither_of_two_tablets_waits_for_a_list_that_is_planned(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    assert shop.post(f"{LIST}/prints", None).status_code == 201
    first, second = tasks_of(shop)[:2]
    planning, go_on, planned, work = threading.Event(), threading.Event(), list[str](), lists.plan_site

    def plan_slowly(*arguments: Any) -> Any:
        planned.append("once")
        planning.set()
        go_on.wait(30)
        return work(*arguments)

    monkeypatch.setattr("service.operations.prints.plan_site", plan_slowly)
    with ThreadPoolExecutor(3) as pool:
        slow = pool.submit(shop.post, f"{LIST}/prints", None)
        assert planning.wait(30)
        reports = [pool.submit(report, shop, task) for task in (first, second)]
        assert [each.result(30).status_code for each in reports] == [200, 200]
        assert not slow.done()
        go_on.set()
        document = slow.result().get_json()
    told = {task["id"]: task["progress"]["state"] for station in document["stations"] for task in station["tasks"] if task["progress"]}
    assert (document["print"], planned) == (2, ["once", "once"])
    assert told == dict.fromkeys((first, second), "done"), "it is planned again, since both have moved it"


def prepared_while(monkeypatch: pytest.MonkeyPatch, shop: Caller, task: str, change: Callable[[], TestResponse]) -> list[progress.Prepared]:
    """What was prepared to report a task, while something else was changed after the first time."""
    prepared, work = list[progress.Prepared](), progress.prepare

    def prepare(*arguments: Any) -> progress.Prepared:
        prepared.append(work(*arguments))
        if len(prepared) == 1:
            monkeypatch.setattr(progress, "prepare", work)
            assert meanwhile(change).status_code in (200, 201)
            monkeypatch.setattr(progress, "prepare", prepare)
        return prepared[-1]

    monkeypatch.setattr(progress, "prepare", prepare)
    assert report(shop, task).status_code == 200
    monkeypatch.undo()
    return prepared


def test_p15_a_report_is_of_the_work_as_listed_when_it_came_whatever_is_expected_meanwhile(
    shop: Caller, monkeypatch: pytest.MonkeyPatch
) -> None:
    task, path = task_of(shop), f"/v1/sites/east/overrides/{DAY}/lunch/bowl"
    [_] = prepared_while(monkeypatch, shop, task, lambda: shop.put(path, {"count": 40}))
    assert shop.get(f"{LIST}/tasks/{task}/progress").get_json()["state"] == "done"


def test_cooks_who_report_different_tasks_at_once_do_not_hold_each_other_up(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    task, other = tasks_of(shop)[:2]
    [_] = prepared_while(monkeypatch, shop, task, lambda: report(shop, other))
    for each in (task, other):
        assert shop.get(f"{LIST}/tasks/{each}/progress").get_json()["state"] == "done"


def test_a_report_that_meets_another_of_its_task_is_made_after_it(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    task = task_of(shop)
    first, second = prepared_while(monkeypatch, shop, task, lambda: report(shop, task, state="doing"))
    assert (first.row.number, second.row.number) == (1, 2)
    assert shop.get(f"{LIST}/tasks/{task}/progress").get_json()["state"] == "done"


def test_a_version_is_that_of_the_draft_as_it_is_when_it_is_published(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    work, times = publishing.prepare_publication, list[str]()

    def prepare(*arguments: Any) -> publishing.Publication:
        made = work(*arguments)
        times.append(made.row.document["title"])
        if len(times) == 1:
            draft = meanwhile(lambda: shop.get("/v1/recipes/soup/draft"))
            body = {**draft.get_json(), "title": "Thick soup"}
            assert meanwhile(lambda: shop.put("/v1/recipes/soup/draft", body, If_Match=draft.headers["ETag"])).status_code == 200
        return made

    monkeypatch.setattr(publishing, "prepare_publication", prepare)
    assert shop.post("/v1/recipes/soup/versions", {"from": "2026-12-20"}).get_json()["version"] == 2
    assert times == ["Soup", "Thick soup"]
    assert shop.get("/v1/recipes/soup/versions/2").get_json()["title"] == "Thick soup"


@pytest.mark.parametrize("how", ["put", "import"])
def test_an_ingredient_keeps_the_measure_that_it_is_counted_in_meanwhile(shop: Caller, monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    onion = element("ingredients", "onion")
    measured = {**onion, "equivalents": [{"a": measure("1 each"), "b": measure("150 g")}]}
    tag = shop.get("/v1/ingredients/onion").headers["ETag"]
    tag = shop.put("/v1/ingredients/onion", measured, If_Match=tag).headers["ETag"]
    ask, asked = turns.prepare, list[View]()

    def prepare(view: View, *arguments: Any) -> Any:
        made = ask(view, *arguments)
        asked.append(view)
        if view.path != "/v1/sites/{site}/counts" and len(asked) == 1:
            lots = [{"item": {"ingredient": "onion"}, "quantity": measure("7 each")}]
            assert meanwhile(lambda: shop.post("/v1/sites/east/counts", {**COUNT, "lots": lots})).status_code == 201
        return made

    monkeypatch.setattr(turns, "prepare", prepare)
    if how == "import":
        refused = shop.post("/v1/imports", {"ingredients": [{"code": "onion", **onion}]})
        assert faults(refused) == {("/ingredients/0", "in_use")}
    else:
        refused = shop.put("/v1/ingredients/onion", onion, If_Match=tag)
        assert faults(refused) == {("", "in_use")}
    assert [view.method for view in asked] == ["POST" if how == "import" else "PUT", "POST"]


def test_what_moves_each_time_is_refused_with_a_time_to_come_back(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    def move(*_: Any) -> None:
        raise Moved("Somebody else was faster.")

    monkeypatch.setattr(prints, "keep", move)
    monkeypatch.setattr(turns, "PATIENCE_SECONDS", 0.3)
    refused = shop.post(f"{LIST}/prints", None)
    assert (refused.status_code, refused.get_json()["type"], refused.headers["Retry-After"]) == (503, "/problems/unavailable", "1")
    monkeypatch.undo()
    assert shop.post(f"{LIST}/prints", None).get_json()["print"] == 1


@pytest.mark.parametrize(("seconds", "status", "tries"), [(30, 200, 2), (0, 503, 1)])
def test_an_import_that_others_overtook_is_checked_a_second_time_where_there_is_time(
    app: Flask, shop: Caller, monkeypatch: pytest.MonkeyPatch, seconds: int, status: int, tries: int
) -> None:
    interior, work, times = Interior.of(app), imports.import_catalogue, list[int]()

    def overtaken(*arguments: Any) -> Any:
        times.append(1)
        time.sleep(0.15)
        if len(times) == 1:
            raise Moved("Somebody else was faster.")
        return work(*arguments)

    monkeypatch.setattr("service.api.nouns.imports.import_catalogue", overtaken)
    monkeypatch.setattr(turns, "PATIENCE_SECONDS", 0.01)
    monkeypatch.setattr(interior, "config", replace(interior.config, request_seconds=seconds))
    assert shop.post("/v1/imports", {}).status_code == status
    assert len(times) == tries


def test_nothing_of_what_was_refused_while_writing_is_kept(app: Flask, shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    work, times = prints.keep, list[int]()

    def keep(*arguments: Any) -> Any:
        made = work(*arguments)
        times.append(made["print"])
        if len(times) == 1:
            raise Moved("Too late.")
        return made

    monkeypatch.setattr(prints, "keep", keep)
    assert shop.post(f"{LIST}/prints", None, Idempotency_Key=KEY).get_json()["print"] == 1
    assert (times, rows(app, "prints")) == ([1, 1], 1)


def test_a_repetition_is_answered_without_planning(shop: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    first = shop.post(f"{LIST}/prints", None, Idempotency_Key=KEY)

    def fail(*_: Any) -> None:
        raise AssertionError

    monkeypatch.setattr("service.operations.prints.plan_site", fail)
    assert told(shop.post(f"{LIST}/prints", None, Idempotency_Key=KEY)) == told(first)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_twin_of_what_is_still_prepared_is_refused_without_planning(
    app: Flask, shop: Caller, monkeypatch: pytest.MonkeyPatch, workers: int, database_url: str
) -> None:
    """In one process, and between processes on PostgreSQL; on SQLite the other process prepares too, and finds the answer."""
    inside, go_on, planned = threading.Event(), threading.Event(), list[str]()
    work = lists.plan_site

    def hold(*arguments: Any) -> Any:
        planned.append("once")
        inside.set()
        go_on.wait(30)
        return work(*arguments)

    monkeypatch.setattr("service.operations.prints.plan_site", hold)
    path = POSTS["prints"][0]
    with ThreadPoolExecutor(2) as pool, later(app, shop, 0) as elsewhere:
        first = pool.submit(shop.post, path, None, Idempotency_Key=KEY)
        assert inside.wait(30)
        other = elsewhere if workers == 2 else Caller(app.test_client(), shop.secret)
        if workers == 2 and database_url.startswith("sqlite"):
            threading.Timer(0.3, go_on.set).start()
            assert told(other.post(path, None, Idempotency_Key=KEY)) == told(first.result())
        else:
            refused = other.post(path, None, Idempotency_Key=KEY)
            assert (refused.status_code, refused.get_json()["type"], planned) == (409, "/problems/in-flight", ["once"])
            go_on.set()
            assert first.result().status_code == 201
            assert told(other.post(path, None, Idempotency_Key=KEY)) == told(first.result())
    assert rows(app, "prints") == 1


def test_turns_to_write_are_measured_with_the_wait_for_them(app: Flask, shop: Caller) -> None:
    registry = Interior.of(app).metrics.registry
    labels = {"route": "/v1/sites/{site}/counts", "method": "POST"}
    assert shop.post("/v1/sites/east/counts", {**COUNT, "lots": [{}]}).status_code == 422
    assert registry.get_sample_value("kitchen_prep_writer_seconds_count", labels) is None, "what is refused before takes no turn"
    assert shop.post("/v1/sites/east/counts", COUNT).status_code == 201
    for name in ("writer_seconds", "writer_wait_seconds"):
        assert registry.get_sample_value(f"kitchen_prep_{name}_count", labels) == 1
        assert 0 < (registry.get_sample_value(f"kitchen_prep_{name}_sum", labels) or 0) < 5

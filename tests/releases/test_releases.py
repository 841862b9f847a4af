"""Yesterday's database works today: every release's own is migrated, read, listed, put back and imported."""

import math
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import Engine

from service import __version__
from service.api.exchange.interior import Interior
from service.app import create_app
from service.store import migration
from tests.api.caller import Caller
from tests.releases.conftest import Release, fill, read
from tests.releases.keep import LISTS, OTHERS, PRINT, THINGS, WED, keep, to_do

TRIM = {"ingredient": "trim", "title": "Trimmings"}


def answer_of(director: Caller, path: str) -> Any:
    answer = director.get(path)
    assert answer.status_code == 200, (path, answer.get_json())
    return answer.get_json()


def holds(today: Any, then: Any) -> bool:
    """Whether all that was said then is said today; fields may have joined it, and amounts are told in measures of today (D2)."""
    if isinstance(then, dict):
        said = {name: value for name, value in then.items() if name != "display"}
        return isinstance(today, dict) and all(name in today and holds(today[name], value) for name, value in said.items())
    if isinstance(then, list):
        return isinstance(today, list) and len(today) == len(then) and all(map(holds, today, then))
    if isinstance(then, float):
        # Amounts are told with nine decimals at most (U4).
        return math.isclose(today, then, rel_tol=1e-9)
    # A moment in UTC is written with Z by now, as in all other answers.
    return bool(today == then or (isinstance(then, str) and today == then.replace("+00:00", "Z")))


def imported(director: Caller, catalogue: Any) -> Any:
    answer = director.post("/v1/imports", catalogue)
    assert answer.status_code == 200, answer.get_json()
    return answer.get_json()


def all_unchanged(catalogue: dict[str, list[Any]]) -> dict[str, int]:
    """What an import answers that finds everything as it is."""
    return {"created": 0, "replaced": 0, "unchanged": sum(map(len, catalogue.values())), "published": 0}


def test_its_database_is_brought_up_to_date(engine: Engine, release: Release) -> None:
    assert migration.is_current(engine)
    assert release.migration <= migration.head()


@pytest.mark.parametrize("path", [*THINGS, *OTHERS])
def test_what_it_answered_is_answered_still(director: Caller, release: Release, path: str) -> None:
    assert holds(answer_of(director, path), release.kept[path])


def test_what_it_printed_stays_as_it_was_printed(director: Caller, release: Release) -> None:
    assert answer_of(director, PRINT) == release.kept[PRINT]


def test_what_changed_since_its_print_is_what_changed_in_the_kitchen(release: Release, tmp_path: Path) -> None:
    """A new release alone, and what was reported, change nothing; but for rules that ask for something else by now."""
    url = f"sqlite:///{tmp_path / 'kitchen.sqlite3'}"
    fill(url, release.statements, lambda _: None)
    app = create_app(release.config(url))
    director = Caller(app.test_client(), release.kept["secrets"]["director"])
    changes = PRINT.replace("prints/1", "changes?since=1")
    by_rule = answer_of(director, changes)
    # Since 0.2 nobody pulls a by-product that nobody buys (P13), and stock keeps no longer than the chicken in it (H2).
    assert [each["id"] for each in (*by_rule["added"], *by_rule["dropped"])] == ["pull.quay.trim.2026-12-01"]
    for each in by_rule["changed"]:
        assert each["new"]["use_by"] < each["old"]["use_by"], each["id"]
        assert each["new"]["item"]["recipe"] == "stock"
    # Six more rolls are six more rolls, and what they take.
    override = {"count": 30, "note": ""}
    assert director.put(f"/v1/sites/quay/overrides/{WED}/lunch/bowl", override).status_code == 201
    told = answer_of(director, changes)
    assert told["dropped"] == by_rule["dropped"]
    soup = next(each for each in told["changed"] if each["id"] == "make.quay.soup.2026-12-02T1200.1")
    assert soup["old"]["id"] == "make.quay.soup.2026-12-02.1"
    assert soup["old"]["need"]["amount"] < soup["new"]["need"]["amount"]
    Interior.of(app).engine.dispose()


@pytest.mark.parametrize("path", LISTS)
def test_what_it_asked_the_kitchen_for_is_asked_for_still(director: Caller, release: Release, path: str) -> None:
    # Since 0.2 nobody pulls a by-product that nobody buys (P13).
    today, then = to_do(answer_of(director, path)), [row for row in release.kept[path] if "need_by" not in row or row["item"] != TRIM]
    assert holds([without_date(row) for row in today], [without_date(row) for row in then])
    # Since 0.2 a task shows the date of what is made for it, too (H2): none may be used longer than was told then.
    assert all(now.get("use_by", "") <= row.get("use_by", "") for now, row in zip(today, then, strict=True) if row.get("use_by"))


def without_date(row: dict[str, Any]) -> dict[str, Any]:
    """What is to be done, but for the date until which it may be used."""
    return {name: value for name, value in row.items() if name != "use_by"}


def test_a_site_that_printed_and_reported_then_has_its_list_today(director: Caller) -> None:
    assert to_do(answer_of(director, PRINT.removesuffix("/prints/1")))


def test_importing_its_catalogue_again_changes_nothing(director: Caller, release: Release) -> None:
    catalogue = release.kept["catalogue"]
    before = director.get(LISTS[0]).headers["ETag"]
    assert imported(director, catalogue) == all_unchanged(catalogue)
    assert director.get(LISTS[0]).headers["ETag"] == before


@pytest.mark.parametrize("path", THINGS)
def test_putting_back_what_is_given_out_changes_neither_its_tag_nor_a_lists(director: Caller, path: str) -> None:
    before, got = director.get(LISTS[0]).headers["ETag"], director.get(path)
    put = director.send("PUT", path, raw=got.get_data(), headers={"If-Match": got.headers["ETag"]})
    assert (put.status_code, put.headers["ETag"], put.get_data()) == (200, got.headers["ETag"], got.get_data())
    assert director.get(LISTS[0]).headers["ETag"] == before


def test_its_tokens_open_what_they_opened(served: Flask, release: Release) -> None:
    kitchen = Caller(served.test_client(), release.kept["secrets"]["kitchen"])
    assert kitchen.get("/v1/whoami").get_json()["sites"] == ["quay"]
    assert kitchen.get(PRINT).status_code == 200
    assert kitchen.get(LISTS[0]).status_code == 404


def test_a_request_repeated_under_its_key_is_answered_as_then(director: Caller, release: Release) -> None:
    then = release.kept["repeated"]
    answer = director.post(then["path"], then["body"], Idempotency_Key=then["key"])
    assert (answer.status_code, answer.get_json()) == (201, then["answer"])


def test_todays_release_can_be_kept_once(tmp_path: Path) -> None:
    keep(tmp_path)
    release = read(tmp_path, __version__)
    url = f"sqlite:///{tmp_path / 'kitchen.sqlite3'}"
    fill(url, release.statements, lambda _: None)
    app = create_app(release.config(url))
    director = Caller(app.test_client(), release.kept["secrets"]["director"])
    for path in (*THINGS, *OTHERS, PRINT):
        assert answer_of(director, path) == release.kept[path]
    assert {path: to_do(answer_of(director, path)) for path in LISTS} == {path: release.kept[path] for path in LISTS}
    Interior.of(app).engine.dispose()
    with pytest.raises(FileExistsError):
        keep(tmp_path)

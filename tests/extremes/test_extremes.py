"""No route holds a worker for long, whatever the catalogue: in small here, at the limits by python -m tests.extremes."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from service.kitchen.checks.additions import Comparison
from service.kitchen.lists import scaling
from service.kitchen.planning import demand, plan
from service.operations import lists
from service.store import recipes, revisions
from tests.bench.scene import Scene, call
from tests.bench.workload import SIZES, Workload
from tests.extremes.questions import LISTS, TooLong, answers, ended_after, questions
from tests.extremes.shapes import LEAF, SHAPES, SITE, START, diamond

# Ways that go by paths, or by pairs, take ages at these sizes already; a core that many share is slow by a factor, and no more.
SMALL = {"diamond": 4, "deep": 6, "wide": 3, "tiny": 15, "places": 8, "crowded": 8}
ALLOWED = 20.0
SITES = 4


# So many batches could not be made of anything, or too many of the little there is: that is what is answered.
REFUSED = {("tiny", "scale to what there is"), ("crowded", "scale to what there is")}


@contextmanager
def scene_of(place: Path) -> Iterator[Scene]:
    scene = Scene(place / "extreme.sqlite3", Workload(SIZES["tiny"]))
    yield scene
    scene.close()


@pytest.mark.parametrize("shape", SHAPES)
def test_every_route_that_computes_answers_in_time(shape: str, tmp_path: Path) -> None:
    with scene_of(tmp_path) as scene:
        found = list(answers(scene, questions(SHAPES[shape](SMALL[shape])), ALLOWED))
    assert {(shape, each.name) for each in found if each.status not in (200, 201)} == REFUSED & {(shape, each.name) for each in found}


def never_end() -> None:
    while True:
        pass


def test_what_takes_longer_than_it_may_is_ended() -> None:
    with pytest.raises(TooLong), ended_after(0.05):
        never_end()


def test_sites_with_versions_of_their_own_are_not_looked_at_for_what_changes_elsewhere(tmp_path: Path) -> None:
    with scene_of(tmp_path) as scene:
        scene.send("POST", "/v1/imports", SHAPES["places"](SITES))
        with scene.writing() as session:
            row = recipes.versions(session, LEAF)[0]
            for number in range(SITES):
                own = replace(row, number=2 + number, starts_on=START + timedelta(1), sites=(f"s-{number}",))
                recipes.add_version(session, own)
            revisions.bump(session, revisions.CATALOGUE)
        leaf = json.loads(scene.send("GET", f"/v1/recipes/{LEAF}/draft"))
        scene.send("PUT", f"/v1/recipes/{LEAF}/draft", {**leaf, "title": "Another leaf"}, If_Match="*")
        with patch.object(Comparison, "user_gains", autospec=True, side_effect=Comparison.user_gains) as compared:
            scene.send("POST", f"/v1/recipes/{LEAF}/versions", {"from": str(START)})
    # Until tomorrow the new version is in force at every site; from then on at none of those that have their own.
    assert sorted({(call.args[0].site or "", call.args[0].on) for call in compared.call_args_list}) == sorted(
        {("", START), *((f"s-{number}", START) for number in range(SITES))}
    )


@pytest.fixture
def scene(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Scene]:
    """Two kitchens of a diamond, whose list of today has more than half of the needs that one request may plan."""
    body = diamond(3)
    body["sites"] = [body["sites"][0], {**body["sites"][0], "code": "s-1"}]
    with scene_of(tmp_path) as scene:
        scene.send("POST", "/v1/imports", body)
        for site in ("s-0", "s-1"):
            entry = {"site": site, "date": str(START), "period": "p-0", "menu_item": "m-0", "count": 5}
            scene.send("POST", "/v1/forecasts", {"source": "till", "as_of": f"2026-12-02T06:00:0{site[-1]}Z", "entries": [entry]})
        for module in (lists, scaling):
            monkeypatch.setattr(module, "NEEDS_PLANNED", 200)
        yield scene


def refusal(scene: Scene, method: str, path: str, body: Any = None) -> str:
    """The detail of the one fault for which a request is refused."""
    content, status = call(scene.app, scene.request(method, path, body))
    (fault,) = json.loads(content)["errors"]
    assert (status, fault["code"]) == (422, "plan_too_large")
    detail: str = fault["detail"]
    return detail


def test_a_page_of_lists_that_plans_too_much_is_refused_and_names_the_limit(scene: Scene) -> None:
    assert "more than 200,000 needs for a site, or 400,000 at once" in refusal(scene, "GET", f"/v1/prep-lists/{START}")
    # Whether a plan is kept by now makes no difference.
    for site in ("s-0", "s-1"):
        scene.send("GET", f"/v1/sites/{site}/prep-lists/{START}")
    refusal(scene, "GET", f"/v1/prep-lists/{START}")
    scene.send("GET", f"/v1/prep-lists/{START}?limit=1")


def test_a_list_whose_plan_is_too_large_is_refused(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "NEEDS_OF_A_PLAN", 50)
    refusal(scene, "GET", f"{LISTS}/{START}")
    refusal(scene, "GET", f"/v1/sites/{SITE}/order-lists?from={START}&to={START}")
    refusal(scene, "POST", f"{LISTS}/{START}/prints")


def test_a_list_with_too_many_guests_is_refused_before_it_is_planned(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demand, "NEEDS_OF_A_PLAN", 2)
    with patch.object(lists, "plan", side_effect=AssertionError):
        refusal(scene, "GET", f"{LISTS}/{START}")


def test_a_scaling_that_tries_too_much_is_refused(scene: Scene) -> None:
    have = {"item": {"ingredient": "flour"}, "quantity": {"amount": 5, "unit": "kg"}}
    refusal(scene, "POST", "/v1/recipes/r-0-0/scalings", {"to": {"have": have}, "site": SITE})
    scene.send("POST", "/v1/recipes/r-0-0/scalings", {"to": {"quantity": {"amount": 5, "unit": "kg"}}, "site": SITE})

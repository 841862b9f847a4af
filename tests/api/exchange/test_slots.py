"""Planning at once: a slot for whatever plans, 503 where none is free, and none needed by a caller who has the state."""

from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

import pytest

from service.api.exchange.interior import Interior
from service.api.exchange.slots import LONGEST_WAIT, Slots
from service.api.wire.kept import KeptBytes
from service.api.wire.refusals import Busy
from service.app import NOUNS
from service.kitchen.planning import plan
from service.operations import kept_plans
from tests.api.matrix import MATRIX
from tests.api.reaching import LIST, OWN, Kitchens, open_kitchens

VIEWS = {f"{view.method} {view.path}": view for noun in NOUNS for view in noun.views}
UNPRINTED = LIST.replace("-03", "-05")
# Requests that get as far as planning, where those of the matrix are refused before.
PLANNING: dict[str, tuple[str, Any, int]] = {
    "POST /v1/sites/{site}/prep-lists/{date}/prints": (f"{LIST}/prints", None, 201),
    "PUT /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress": (f"{UNPRINTED}/tasks/TASK/progress", {"state": "open"}, 200),
    "GET /sheets/{secret}": ("/sheets/SHEET?date=2026-12-03", None, 200),
}

# What is on a print, or was reported before, is reported without planning.
STORED = {"PUT /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress"}


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        stations = opened.director.get(UNPRINTED).get_json()["stations"]
        opened.tasks[UNPRINTED] = next(task["id"] for station in stations for task in station["tasks"])
        yield opened


@pytest.fixture
def slots(kitchens: Kitchens) -> Slots:
    return Interior.of(kitchens.director.client.application).slots


def send(kitchens: Kitchens, name: str, **headers: str) -> Any:
    path, body, _ = PLANNING[name] if name in PLANNING else (MATRIX[name].path, MATRIX[name].body, 200)
    path = path.replace("TASK", kitchens.tasks[UNPRINTED]).replace("SHEET", kitchens.sheet)
    return kitchens.director.send(name.split(maxsplit=1)[0], path, body, headers=headers)


def test_one_more_than_the_slots_is_refused_at_once_and_taken_again_when_one_is_free() -> None:
    slots = Slots(2, "Two are at it")
    with slots.taken():
        with slots.taken(), pytest.raises(Busy) as refused, slots.taken():
            pass
        with slots.taken():
            pass
    assert 1 <= refused.value.seconds <= LONGEST_WAIT


def test_a_failure_gives_its_slot_back() -> None:
    slots = Slots(1, "One is at it")
    for _ in range(3):
        with pytest.raises(ZeroDivisionError), slots.taken():
            _ = 1 // 0


@pytest.mark.parametrize("name", MATRIX)
def test_whatever_plans_does_so_in_a_slot(kitchens: Kitchens, slots: Slots, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    begin, slotless = plan._Planner.__init__, []

    def watch(*arguments: Any, **named: Any) -> None:
        # Both slots free would mean that this planner runs outside of them.
        if slots.free._value == slots.number:
            slotless.append(name)
        seen.append(name)
        begin(*arguments, **named)

    seen: list[str] = []
    monkeypatch.setattr(plan._Planner, "__init__", watch)
    monkeypatch.setattr(kept_plans.KeptPlans, "get", lambda _, __, ___, compute: compute())
    send(kitchens, name)
    assert slotless == []
    assert bool(seen) == (VIEWS[name].plans is not None) or name in STORED
    assert slots.free._value == slots.number


@pytest.mark.parametrize("name", [name for name, view in VIEWS.items() if view.plans])
def test_without_a_free_slot_planning_is_503_with_a_time_to_come_back(
    kitchens: Kitchens, slots: Slots, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What was sent before is sent again without planning.
    monkeypatch.setattr(Interior.of(kitchens.director.client.application), "kept", KeptBytes())
    with ExitStack() as taken:
        for _ in range(slots.number):
            taken.enter_context(slots.taken())
        refused = send(kitchens, name)
        assert (refused.status_code, refused.get_json()["type"]) == (503, "/problems/busy")
        assert 1 <= int(refused.headers["Retry-After"]) <= LONGEST_WAIT
    assert send(kitchens, name).status_code == PLANNING.get(name, ("", None, 200))[2]


@pytest.mark.parametrize("name", [name for name, view in VIEWS.items() if view.plans == "body"])
def test_a_caller_who_has_the_list_needs_no_slot(kitchens: Kitchens, slots: Slots, name: str) -> None:
    tag = send(kitchens, name).headers["ETag"]
    with ExitStack() as taken:
        for _ in range(slots.number):
            taken.enter_context(slots.taken())
        assert send(kitchens, name, **{"If-None-Match": tag}).status_code == 304


def test_a_report_of_what_was_printed_needs_no_slot(kitchens: Kitchens, slots: Slots) -> None:
    path = f"{LIST}/tasks/{kitchens.tasks[OWN]}/progress"
    with ExitStack() as taken:
        for _ in range(slots.number):
            taken.enter_context(slots.taken())
        assert kitchens.kitchen.put(path, {"state": "doing"}).status_code == 200


def test_what_does_not_plan_is_answered_while_all_slots_are_taken(kitchens: Kitchens, slots: Slots) -> None:
    with ExitStack() as taken:
        for _ in range(slots.number):
            taken.enter_context(slots.taken())
        assert send(kitchens, "POST /v1/forecasts").status_code == 200
        assert send(kitchens, "GET /v1/sites").status_code == 200


def test_a_worker_checks_one_import_at_a_time(kitchens: Kitchens) -> None:
    alone = Interior.of(kitchens.director.client.application).alone
    with alone.taken():
        refused = send(kitchens, "POST /v1/imports")
        assert (refused.status_code, refused.get_json()["type"]) == (503, "/problems/busy")
        assert refused.get_json()["detail"] == "Another import is being checked here; ask again."
        assert 1 <= int(refused.headers["Retry-After"]) <= LONGEST_WAIT
        assert send(kitchens, "POST /v1/forecasts").status_code == 200
    assert send(kitchens, "POST /v1/imports").status_code == 200

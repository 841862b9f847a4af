"""Checks of food safety: what rules H1 and H2 refuse at publishing, where, and that a reason lets it pass."""

from typing import Any

import pytest

from service.kitchen.checks.recipe import version_faults
from tests.kitchen.larder import TUE, ingredient, kitchen, line, recipe, safety, step


def refused(**fields: Any) -> list[tuple[str, str]]:
    """Pointer and code of every fault of a recipe."""
    version = recipe("dish", "1 kg", line("meat", "1 kg"), **fields)
    return [(fault.pointer, fault.code) for fault in version_faults(kitchen(ingredient("meat"), version), version, TUE)]


def test_h1_a_laxer_step_is_refused_at_its_field() -> None:
    steps = [step(), step(safety=safety("cook", "poultry", "60 degC")), step(safety=safety("cool", None, None, "PT8H"))]
    assert refused(steps=steps) == [
        ("/steps/1/safety/temperature", "safety_laxer"),
        ("/steps/2/safety/time", "safety_laxer"),
    ]


def test_h1_a_laxer_step_with_a_recorded_reason_is_published() -> None:
    assert refused(steps=[step(safety=safety("cook", "poultry", "60 degC", "PT45M", "Held 45 min by our approved plan."))]) == []


def test_h1_a_stricter_step_needs_no_reason() -> None:
    assert refused(steps=[step(safety=safety("cook", "poultry", "82 degC", "PT1M"))]) == []


@pytest.mark.parametrize(("keeps", "allowed"), [(None, True), ("P6D", True), ("P7D", False), ("PT144H", True), ("PT145H", False)])
def test_h2_a_cold_ready_to_eat_item_keeps_at_most_seven_days_with_that_of_making(keeps: str | None, allowed: bool) -> None:  # noqa: FBT001 - a column of the table
    found = refused(keeps=keeps, ready_to_eat=True, storage="cold")
    assert found == ([] if allowed else [("/keeps", "safety_laxer")])


def test_h2_a_recorded_reason_lets_it_keep_longer() -> None:
    assert refused(keeps="P30D", ready_to_eat=True, storage="cold", keeps_reason="A vinegar pickle of pH 3.6.") == []


@pytest.mark.parametrize(("ready_to_eat", "storage"), [(False, "cold"), (True, "dry"), (True, "frozen"), (True, None)])
def test_h2_other_items_may_keep_longer(ready_to_eat: bool, storage: str | None) -> None:  # noqa: FBT001 - a column of the table
    assert refused(keeps="P30D", ready_to_eat=ready_to_eat, storage=storage) == []

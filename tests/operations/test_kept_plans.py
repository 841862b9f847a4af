"""Plans are kept: each is made once, for as long as nothing that it was made from has changed."""

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from service.kitchen.planning.plan import Plan
from service.operations.kept_plans import LOAD_BYTES, NEED_BYTES, KeptPlans, bytes_of
from service.operations.kept_schedules import kept_schedule
from tests.kitchen.capacity.doable import scheduled, staffed
from tests.kitchen.larder import TUE, kitchen, recipe, shift
from tests.kitchen.plans import plan_needs, wanted


def planned(needs: int) -> Plan:
    """A plan of so many needs."""
    return plan_needs(kitchen(recipe("soup", "10 L")), [wanted("recipe soup", 1000, TUE, "12:00")] * needs)


class Asked:
    """A plan that counts how often it was made."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.times = plan, 0

    def __call__(self) -> Plan:
        self.times += 1
        return self.plan


def test_a_plan_is_made_once() -> None:
    kept, ask = KeptPlans(), Asked(planned(1))
    assert kept.get("a", 1, ask) is kept.get("a", 1, ask) is ask.plan
    assert ask.times == 1
    kept.get("b", 1, ask)
    assert ask.times == 2


def test_who_asks_meanwhile_waits_for_the_one_computation() -> None:
    kept, plan, begun, go_on = KeptPlans(), planned(1), Event(), Event()

    def slowly() -> Plan:
        begun.set()
        assert go_on.wait(10)
        return plan

    with ThreadPoolExecutor(4) as threads:
        first = threads.submit(kept.get, "a", 1, slowly)
        assert begun.wait(10)
        never = Asked(planned(1))
        others = [threads.submit(kept.get, "a", 1, never) for _ in range(3)]
        go_on.set()
        assert [each.result(10) for each in (first, *others)] == [plan] * 4
    assert never.times == 0


def test_what_fails_is_told_to_all_and_tried_again() -> None:
    kept = KeptPlans()

    def fail() -> Plan:
        raise ZeroDivisionError

    for _ in range(2):
        with pytest.raises(ZeroDivisionError):
            kept.get("a", 1, fail)
    plan = planned(1)
    assert kept.get("a", 1, lambda: plan) is plan


def test_plans_take_no_more_than_there_is_room_for_and_the_one_asked_for_longest_ago_goes_first() -> None:
    kept = KeptPlans(most=5 * NEED_BYTES)
    asked = {name: Asked(planned(2)) for name in "abc"}
    for name in "aba":
        kept.get(name, 1, asked[name])
    kept.get("c", 1, asked["c"])
    for name in "ac":
        kept.get(name, 1, asked[name])
    assert {name: each.times for name, each in asked.items()} == {"a": 1, "b": 1, "c": 1}
    kept.get("b", 1, asked["b"])
    assert asked["b"].times == 2


def test_what_is_scheduled_of_a_plan_takes_room_too() -> None:
    catalogue = kitchen(recipe("soup", "10 L"), staffed(shift("hot-line", "06:00", "14:00", name="Day")))
    plan = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, "12:00")] * 2)
    assert bytes_of(plan) == 2 * NEED_BYTES
    found = scheduled(plan, catalogue)
    kept_schedule(plan, None, lambda: found)
    assert bytes_of(plan) == 2 * NEED_BYTES + LOAD_BYTES
    kept, ask, other = KeptPlans(most=3 * NEED_BYTES), Asked(plan), Asked(planned(1))
    for each in (ask, other, ask):
        kept.get(each, 1, each)
    assert ask.times == 2


def test_a_plan_larger_than_all_room_is_kept_while_it_is_the_newest() -> None:
    kept, large, small = KeptPlans(most=3 * NEED_BYTES), Asked(planned(9)), Asked(planned(1))
    for ask in (large, large, small, large):
        kept.get(ask, 1, ask)
    assert (large.times, small.times) == (2, 1)


def test_a_plan_of_another_state_takes_the_place_of_the_one_before() -> None:
    kept, old, new = KeptPlans(), Asked(planned(1)), Asked(planned(1))
    assert (kept.get("a", 1, old), kept.get("a", 2, new), kept.get("a", 2, new)) == (old.plan, new.plan, new.plan)
    assert (old.times, new.times, len(kept._plans)) == (1, 1, 1)


def test_a_plan_that_fails_leaves_the_newer_one_that_was_made_meanwhile() -> None:
    kept, new = KeptPlans(), Asked(planned(1))

    def fail() -> Plan:
        kept.get("a", 2, new)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        kept.get("a", 1, fail)
    assert kept.get("a", 2, new) is new.plan
    assert new.times == 1

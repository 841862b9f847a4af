"""A plan's schedule is kept beside it: found once for a moment, however many ask."""

import gc
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from threading import Event
from weakref import ref

import pytest

from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.planning.plan import Plan
from service.operations.kept_schedules import MOMENTS_KEPT, kept_schedule
from tests.kitchen.capacity.doable import minutes, scheduled, staffed
from tests.kitchen.larder import TUE, at, kitchen, recipe, shift
from tests.kitchen.plans import RECENT, plan_needs, wanted

CATALOGUE = kitchen(recipe("soup", "10 L"), staffed(shift("hot-line", "06:00", "14:00", name="Day")))


def planned() -> Plan:
    return plan_needs(CATALOGUE, [wanted("recipe soup", 1000, TUE, "12:00")])


class Asked:
    """A schedule that counts how often it was found."""

    def __init__(self, plan: Plan) -> None:
        self.found, self.times = scheduled(plan, CATALOGUE), 0

    def __call__(self) -> Scheduled:
        self.times += 1
        return self.found


def test_a_schedule_is_found_once_for_a_plan_and_a_moment() -> None:
    plan = planned()
    ask = Asked(plan)
    assert kept_schedule(plan, None, ask) is kept_schedule(plan, None, ask) is ask.found
    assert ask.times == 1
    kept_schedule(plan, at(TUE, "09:40"), ask)
    assert ask.times == 2
    kept_schedule(planned(), None, ask)
    assert ask.times == 3


def test_that_there_is_none_is_kept_too() -> None:
    plan, times = planned(), []
    assert kept_schedule(plan, None, lambda: times.append(1)) is None
    assert kept_schedule(plan, None, lambda: times.append(1)) is None
    assert times == [1]


def test_who_asks_meanwhile_waits_for_the_one_answer() -> None:
    plan, begun, go_on = planned(), Event(), Event()
    never = Asked(plan)

    def slowly() -> Scheduled:
        begun.set()
        assert go_on.wait(10)
        return never.found

    with ThreadPoolExecutor(4) as threads:
        first = threads.submit(kept_schedule, plan, None, slowly)
        assert begun.wait(10)
        others = [threads.submit(kept_schedule, plan, None, never) for _ in range(3)]
        go_on.set()
        assert all(each.result(10) is never.found for each in (first, *others))
    assert never.times == 0


def test_what_fails_is_tried_again() -> None:
    plan = planned()

    def fail() -> Scheduled:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        kept_schedule(plan, None, fail)
    ask = Asked(plan)
    assert kept_schedule(plan, None, ask) is ask.found


def test_of_one_plan_the_newest_moments_are_kept() -> None:
    plan = planned()
    ask = Asked(plan)
    moments: list[datetime] = [at(TUE, "09:00") + minutes(number) for number in range(MOMENTS_KEPT + 1)]
    for moment in moments:
        kept_schedule(plan, moment, ask)
    kept_schedule(plan, moments[-1], ask)
    assert ask.times == len(moments)
    kept_schedule(plan, moments[0], ask)
    assert ask.times == len(moments) + 1


def test_a_schedule_goes_with_its_plan() -> None:
    plan = planned()
    kept_schedule(plan, None, Asked(plan))
    gone = ref(plan)
    RECENT.clear()
    del plan
    gc.collect()
    assert gone() is None

"""A schedule keeps every rule that a second reading of them knows, over days by chance (K2, K6 to K10, K14, K15, K17)."""

import random
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import settings
from hypothesis import strategies as st

from service.kitchen.schedule.answer import Cook, Placed, Schedule
from service.kitchen.schedule.problem import Load, Problem
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.days import day
from tests.kitchen.schedule.worked import CASES, problem_of
from tests.laws.breaches import breaches
from tests.laws.law import with_settings
from tests.laws.tight import tight_day
from tests.profiles import examples

SEEDS = st.integers(0, 10**9)


def law(test: object) -> object:
    """A property of days by their seeds, on more examples than the profile has: a small day takes some milliseconds."""
    return with_settings(settings(max_examples=examples(500)), SEEDS)(test)  # type: ignore[arg-type]


@law
def test_a_schedule_of_any_day_breaks_no_rule(seed: int) -> None:
    problem = day(seed)
    assert breaches(problem, schedule(problem)) == []


@law
def test_a_schedule_of_a_tight_day_breaks_no_rule(seed: int) -> None:
    problem = tight_day(seed)
    assert breaches(problem, schedule(problem)) == []


@law
def test_a_schedule_of_a_day_under_way_breaks_no_rule(seed: int) -> None:
    problem = under_way(seed)
    assert breaches(problem, schedule(problem)) == []


def under_way(seed: int) -> Problem:
    """A day of which some has begun, a shift has nobody, and steps and loads are bound besides."""
    dice = random.Random(seed)
    problem = day(seed)
    found = schedule(problem)
    begun = set(dice.sample(sorted(found.place), min(2, len(found.place))))
    return replace(
        problem,
        shifts=tuple(replace(shift, cooks=dice.choice((0, shift.cooks, 2))) for shift in problem.shifts),
        loads=tuple(
            replace(load, begun=found.place[load.id].starts) if load.id in begun else _bound(dice, load, found.place.get(load.id))
            for load in problem.loads
        ),
    )


def _bound(dice: random.Random, load: Load, placed: Placed | None) -> Load:
    """A load that may not be ready as late as it was, with a step that may not begin as late or as early."""
    if placed is None or dice.random() < 0.5:
        return load
    number, start = dice.choice(list(enumerate(placed.starts)))
    moment, first = start + dice.choice((-30, -5, 0, 5)), dice.random() < 0.5
    bound = replace(load.steps[number], not_before=moment if first else None, not_after=None if first else moment)
    steps = tuple(bound if each == number else step for each, step in enumerate(load.steps))
    return replace(load, steps=steps, not_ready_after=dice.choice((None, placed.ready, placed.ready - 20)))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_second_reading_finds_no_breach_in_the_worked_examples(case: dict[str, object]) -> None:
    problem = problem_of(case)
    assert breaches(problem, schedule(problem)) == []


def later(placed: Placed, minutes: int) -> Placed:
    """A load with all that it takes, so many minutes later."""
    hands = tuple(piece._replace(starts=piece.starts + minutes, ends=piece.ends + minutes) for piece in placed.hands)
    stays = tuple(stay._replace(starts=stay.starts + minutes, ends=stay.ends + minutes) for stay in placed.stays)
    starts = tuple(start + minutes for start in placed.starts)
    return replace(placed, starts=starts, ready=placed.ready + minutes, hands=hands, stays=stays)


def with_place(found: Schedule, placed: Placed) -> Schedule:
    return replace(found, placed=tuple(placed if each.load == placed.load else each for each in found.placed))


def test_the_second_reading_names_each_rule_that_a_spoilt_schedule_breaks() -> None:
    named: Counter[str] = Counter()
    for seed in range(60):
        problem, dice = day(seed), random.Random(seed)
        found = schedule(problem)
        for placed in found.placed:
            for spoilt in spoil(placed, dice):
                told = breaches(problem, with_place(found, spoilt))
                assert told, (seed, placed.load)
                named.update({breach.split(":")[0] for breach in told})
        if found.placed:
            named.update(breach.split(":")[0] for breach in breaches(problem, replace(found, placed=found.placed[1:])))
    assert set(named) == {"K2", "K6", "K7", "K8", "K9", "K9 a", "K9 c", "K9 d", "K9 e", "K10", "K14", "K15"}


def spoil(placed: Placed, dice: random.Random) -> list[Placed]:
    """A placed load spoilt in several ways, each of which breaks some rule whatever the day."""
    spoilt = [later(placed, 7), later(placed, -5000), replace(placed, held=placed.held + 1), replace(placed, slack=placed.slack + 1)]
    spoilt.append(replace(placed, due=10**6))
    spoilt.append(replace(placed, starts=(placed.starts[0] - 1000, *placed.starts[1:])))
    if placed.hands:
        piece = dice.choice(placed.hands)
        wrong = piece._replace(cook=Cook("Early", 9))
        spoilt += [
            replace(placed, hands=tuple(wrong if each is piece else each for each in placed.hands)),
            replace(placed, hands=placed.hands[1:]),
        ]
    if placed.stays:
        spoilt.append(replace(placed, stays=(placed.stays[0]._replace(share=1, number=9), *placed.stays[1:])))
    return spoilt

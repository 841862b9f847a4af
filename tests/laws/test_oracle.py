"""What schedules leave out and hold, held against what is possible at all: an oracle that proves (K9, K11, K14).

The figures of DEVELOPERS.md are taken by ``python -m tests.laws.oracle_figures``; here they are kept under stated shares.
"""

import random
from dataclasses import replace
from statistics import median, quantiles

import pytest

from service.kitchen.schedule.answer import Schedule
from service.kitchen.schedule.problem import Problem
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.days import day
from tests.laws.breaches import breaches
from tests.laws.jobshops import INSTANCES, LONGEST, Instance, makespan
from tests.laws.oracle_figures import DAYS, accepted, count_held, count_left_out, within
from tests.laws.test_schedules import later, with_place
from tests.laws.tight import tight_day

WIDE = [day(seed) for seed in range(150)]
TIGHT = [tight_day(seed) for seed in range(150)]


@pytest.mark.parametrize("problems", [WIDE, TIGHT], ids=["wide", "tight"])
def test_the_oracle_accepts_every_schedule(problems: list[Problem]) -> None:
    assert [seed for seed, problem in enumerate(problems) if accepted(problem, schedule(problem)) != "yes"] == []


def test_the_oracle_refuses_moved_work_and_accepts_it_only_where_no_breach_is_found() -> None:
    answers = []
    for seed, problem in enumerate(WIDE):
        moved = one_moved(schedule(problem), random.Random(seed))
        if moved is None:
            continue
        answer = accepted(problem, moved)
        broken = [breach for breach in breaches(problem, moved) if not breach.startswith(("K9 a", "K14", "K15"))]
        answers.append((bool(broken), answer))
        # Another cook or machine may still do what this one cannot.
        assert broken or answer == "yes", (seed, answer)
    assert sum(answer == "no" for _, answer in answers) > 40
    assert sum(answer == "yes" for _, answer in answers) > 20


def one_moved(found: Schedule, dice: random.Random) -> Schedule | None:
    """A schedule with one load moved, by a little or by hours."""
    if not found.placed:
        return None
    return with_place(found, later(dice.choice(found.placed), dice.choice((-240, -60, -20, -5, 5, 15))))


def test_the_oracle_refuses_more_than_a_machine_or_a_cook_can_do() -> None:
    wanting = 0
    for problem in TIGHT[:20]:
        nobody = replace(problem, shifts=tuple(replace(shift, cooks=0) for shift in problem.shifts))
        whole = schedule(problem)
        if whole.placed and any(placed.hands for placed in whole.placed):
            wanting += 1
            assert accepted(nobody, whole) == "no"
    assert wanting == 20


def test_few_loads_are_left_out_that_could_be_placed_with_all_others() -> None:
    left = count_left_out(DAYS)
    assert left.unknown == 0
    assert 0 < left.possible <= 0.015 * left.loads
    assert left.fit <= 0.06 * left.days


def test_things_are_not_held_much_longer_than_they_have_to_be() -> None:
    held = count_held(range(40))
    assert held.proved >= 32
    assert all(found >= least for found, least in zip(held.found, held.least, strict=True))
    assert median(held.ratios) < 1.5
    assert quantiles(held.ratios, n=10)[-1] < 3


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: instance.name)
def test_a_published_instance_is_the_one_that_was_published(instance: Instance) -> None:
    machines = set(range(len(instance.jobs[0])))
    assert all({machine for machine, _ in job} == machines and len(job) == len(machines) for job in instance.jobs)
    assert (within(instance, instance.least), within(instance, instance.least - 1)) == ("yes", "no")


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: instance.name)
def test_a_published_instance_is_done_without_a_breach(instance: Instance) -> None:
    problem = instance.problem(LONGEST)
    assert breaches(problem, schedule(problem)) == []
    assert instance.least <= makespan(instance) < 1.6 * instance.least

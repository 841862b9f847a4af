"""How near schedules come to what is possible on small days: the figures of DEVELOPERS.md.

Responsible for asking both the schedule's room and the oracle about days by seed, and for counting. Refuses to judge the counts.
``python -m tests.laws.oracle_figures`` takes them all, in some minutes.
"""

import sys
from collections.abc import Iterable
from dataclasses import dataclass, field
from statistics import median, quantiles

from service.kitchen.schedule.answer import Schedule
from service.kitchen.schedule.problem import Problem
from service.kitchen.schedule.schedule import schedule
from tests.laws.jobshops import INSTANCES, Instance, makespan
from tests.laws.oracle import Answer, Oracle
from tests.laws.stability import count_moves
from tests.laws.tight import tight_day

DAYS = range(150)


def oracle_of(problem: Problem, found: Schedule, *more: str) -> Oracle:
    """The oracle of a schedule's placed loads, and of more that it left out."""
    moments = {conflict.load: conflict.starts for conflict in found.left_out if conflict.starts is not None}
    return Oracle(problem, {*found.place, *more}, moments)


def accepted(problem: Problem, found: Schedule) -> Answer:
    """Whether the oracle takes every load where the schedule has it."""
    oracle = oracle_of(problem, found)
    for placed in found.placed:
        oracle.take(placed)
    return oracle.fits()


@dataclass
class LeftOut:
    """Loads of some days: left out, and how many of those have a place with all that are placed, as the oracle says.

    ``fit``: days of which something is left out, though all loads fit together.
    """

    days: int = 0
    loads: int = 0
    left_out: int = 0
    possible: int = 0
    unknown: int = 0
    fit: int = 0

    def count(self, problem: Problem, found: Schedule) -> None:
        left = [conflict.load for conflict in found.left_out if _is_asked_for(problem, found, conflict.load)]
        answers = [oracle_of(problem, found, load).fits() for load in left]
        self.days += 1
        self.loads += len(problem.loads)
        self.left_out += len(found.left_out)
        self.possible += answers.count("yes")
        self.unknown += answers.count("unknown")
        self.fit += bool(left) and Oracle(problem, problem.load, {}).fits() == "yes"


def _is_asked_for(problem: Problem, found: Schedule, load: str) -> bool:
    """Whether a load is due at any time: for guests, or for what stands somewhere."""
    standing = {*found.place, *(conflict.load for conflict in found.left_out if conflict.starts is not None)}
    return problem.load[load].due is not None or any(serves.load in standing for serves in problem.load[load].serves)


@dataclass
class Held:
    """Minutes that the placed loads of each day are held, and the least that the oracle found; ``proved`` of how many days."""

    found: list[int] = field(default_factory=list)
    least: list[int] = field(default_factory=list)
    proved: int = 0

    def count(self, problem: Problem, found: Schedule) -> None:
        least, bound = oracle_of(problem, found).least_held(found.placed)
        self.found.append(sum(placed.held for placed in found.placed))
        self.least.append(least)
        self.proved += least == bound

    @property
    def ratios(self) -> list[float]:
        """How many times as long, of each day on which anything has to be held."""
        return [found / least for found, least in zip(self.found, self.least, strict=True) if least]


def count_left_out(seeds: Iterable[int]) -> LeftOut:
    """What is left out of the tight days of some seeds."""
    counted = LeftOut()
    for seed in seeds:
        problem = tight_day(seed)
        counted.count(problem, schedule(problem))
    return counted


def count_held(seeds: Iterable[int]) -> Held:
    """How long things are held on the tight days of some seeds."""
    counted = Held()
    for seed in seeds:
        problem = tight_day(seed)
        counted.count(problem, schedule(problem))
    return counted


def within(instance: Instance, minutes: int) -> Answer:
    """Whether the jobs of an instance can be done in so many minutes."""
    problem = instance.problem(minutes)
    return Oracle(problem, problem.load, {}).fits()


def main() -> None:
    """Print every figure, as it is found."""
    left, held = count_left_out(DAYS), count_held(DAYS)
    ratios = held.ratios
    lines = [
        repr(left),
        f"held: {sum(held.found)} min, least {sum(held.least)} min, proved of {held.proved} of {len(held.found)} days",
        f"held, times the least: median {median(ratios):.2f}, 90th percentile {quantiles(ratios, n=10)[-1]:.2f}, of {len(ratios)} days",
        *(f"{instance.name}: makespan {makespan(instance)}, least {instance.least}" for instance in INSTANCES),
        repr(count_moves(5, every=4)),
    ]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()

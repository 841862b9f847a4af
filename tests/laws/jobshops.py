"""Published job-shop instances, where the rules of capacity reduce to them (K6, K7).

Responsible for their tables and for telling them as loads: each operation a step in its own machine without hands, before each
but the first a rest that may last as long as it likes, all due at one moment. Refuses to know how well they are done.

ft06 and ft10: Fisher and Thompson, Probabilistic learning combinations of local job-shop scheduling rules, in: Muth and
Thompson (eds.), Industrial Scheduling, 1963. la01 and la02: Lawrence, Resource constrained project scheduling, 1984. The tables
are from memory: each job takes each machine once, and that the oracle proves the published makespan least is told by the tests.
"""

from dataclasses import dataclass

from service.kitchen.schedule.problem import Equipment, Load, LoadStep, Problem, Rest
from service.kitchen.schedule.schedule import schedule

DUE = 100_000
LONGEST = 20_000


@dataclass(frozen=True)
class Instance:
    """Jobs of a shop, each a row of machines and minutes by turns, and the least makespan that is published."""

    name: str
    least: int
    table: str

    @property
    def jobs(self) -> list[list[tuple[int, int]]]:
        """The machine and the minutes of each operation."""
        rows = [[int(word) for word in row.split()] for row in self.table.strip().splitlines()]
        return [list(zip(row[::2], row[1::2], strict=True)) for row in rows]

    def problem(self, makespan: int) -> Problem:
        """All jobs within so many minutes of the moment when they are due."""
        machines = sorted({machine for job in self.jobs for machine, _ in job})
        return Problem(
            release=DUE - makespan,
            day_starts=(0, 2 * DUE),
            equipment=tuple(Equipment(f"machine {machine}", 1) for machine in machines),
            shifts=(),
            loads=tuple(_load(number, job, makespan) for number, job in enumerate(self.jobs)),
        )


def _load(number: int, job: list[tuple[int, int]], longest: int) -> Load:
    waits = LoadStep(active=0, rest=Rest(0, 0, longest), station="anywhere")
    steps = [
        step
        for machine, minutes in job
        for step in (waits, LoadStep(active=0, rest=Rest(minutes, minutes, minutes), station="anywhere", equipment=f"machine {machine}"))
    ]
    return Load(id=f"job {number}", service=0, order=(number,), steps=tuple(steps[1:]), due=DUE)


FT06 = Instance(
    "ft06",
    55,
    """
    2 1  0 3  1 6  3 7  5 3  4 6
    1 8  2 5  4 10  5 10  0 10  3 4
    2 5  3 4  5 8  0 9  1 1  4 7
    1 5  0 5  2 5  3 3  4 8  5 9
    2 9  1 3  4 5  5 4  0 3  3 1
    1 3  3 3  5 9  0 10  4 4  2 1
    """,
)
FT10 = Instance(
    "ft10",
    930,
    """
    0 29  1 78  2 9  3 36  4 49  5 11  6 62  7 56  8 44  9 21
    0 43  2 90  4 75  9 11  3 69  1 28  6 46  5 46  7 72  8 30
    1 91  0 85  3 39  2 74  8 90  5 10  7 12  6 89  9 45  4 33
    1 81  2 95  0 71  4 99  6 9  8 52  7 85  3 98  9 22  5 43
    2 14  0 6  1 22  5 61  3 26  4 69  8 21  7 49  9 72  6 53
    2 84  1 2  5 52  3 95  8 48  9 72  0 47  6 65  4 6  7 25
    1 46  0 37  3 61  2 13  6 32  5 21  9 32  8 89  7 30  4 55
    2 31  0 86  1 46  5 74  4 32  6 88  8 19  9 48  7 36  3 79
    0 76  1 69  3 76  5 51  2 85  9 11  6 40  7 89  4 26  8 74
    1 85  0 13  2 61  6 7  8 64  9 76  5 47  3 52  4 90  7 45
    """,
)
LA01 = Instance(
    "la01",
    666,
    """
    1 21  0 53  4 95  3 55  2 34
    0 21  3 52  4 16  2 26  1 71
    3 39  4 98  1 42  2 31  0 12
    1 77  0 55  4 79  2 66  3 77
    0 83  3 34  2 64  1 19  4 37
    1 54  2 43  4 79  0 92  3 62
    3 69  4 77  1 87  2 87  0 93
    2 38  0 60  1 41  3 24  4 83
    3 17  1 49  4 25  0 44  2 98
    4 77  3 79  2 43  1 75  0 96
    """,
)
LA02 = Instance(
    "la02",
    655,
    """
    0 20  3 87  1 31  4 76  2 17
    4 25  2 32  0 24  1 18  3 81
    1 72  2 23  4 28  0 58  3 99
    2 86  1 76  4 97  0 45  3 90
    4 27  0 42  3 48  2 17  1 46
    1 67  0 98  4 48  3 27  2 62
    4 28  1 12  3 19  0 80  2 50
    1 63  0 94  2 98  3 50  4 80
    4 14  0 75  2 50  1 41  3 55
    4 72  2 18  1 37  3 79  0 61
    """,
)


def makespan(instance: Instance) -> int:
    """The minutes from the first start to the moment when all jobs are due, in the schedule of an instance."""
    found = schedule(instance.problem(LONGEST))
    if found.left_out:
        raise ValueError(f"{instance.name} has no place in {LONGEST} minutes")
    return DUE - min(placed.starts[0] for placed in found.placed)


INSTANCES = (FT06, FT10, LA01, LA02)

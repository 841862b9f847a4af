"""Small days by chance: loads that draw on one another, rests with windows, shared equipment, several service dates.

Responsible for days that are tight, so that much of what a schedule must keep to is in the way. Refuses to know what comes out.
"""

import random

from service.kitchen.schedule.problem import Equipment, Keeps, Load, LoadStep, Problem, Rest, Serves, Shift

DAY = 24 * 60
STATIONS = ("hot-line", "bakery", "veg", "unstaffed")


def day(seed: int, *, most: int = 14) -> Problem:
    """The day of a seed, of at most so many loads."""
    dice = random.Random(seed)
    equipment = (
        Equipment("oven", dice.choice([1, 1, 2]), dice.choice([0, 10])),
        Equipment("mixer", 1, 5),
        Equipment("prover", 1, 0, shared=True),
    )
    loads: list[Load] = []
    for run in range(dice.randint(3, 6)):
        loads += _run(dice, run, loads)
    return Problem(
        release=dice.choice([-DAY, 0, 300]),
        day_starts=tuple(240 + DAY * day for day in range(-4, 5)),
        equipment=equipment,
        shifts=tuple(_shift(dice, name) for name in ("Early", "Late")),
        loads=tuple(loads[:most]),
    )


def _shift(dice: random.Random, name: str) -> Shift:
    begins = {"Early": 300, "Late": 660}[name]
    lasting = dice.choice([240, 420])
    hours = tuple((begins + DAY * day, begins + lasting + DAY * day) for day in range(-4, 4))
    return Shift(name, tuple(dice.sample(STATIONS[:3], dice.randint(1, 3))), dice.choice([1, 1, 2]), hours)


def _run(dice: random.Random, run: int, before: list[Load]) -> list[Load]:
    """The loads of one run, for guests, for what stands already, or for both."""
    service = dice.choice([0, 0, 1])
    due = service * DAY + dice.choice([600, 720, 735, 1020])
    steps = tuple(_step(dice) for _ in range(dice.randint(1, 4)))
    users = [load for load in before if load.service >= service]
    keeps = dice.choice([None, Keeps("h", 90), Keeps("h", 400), Keeps("d", 0), Keeps("d", 1)])
    drawing = dice.sample(users, min(len(users), dice.choice([0, 1, 2])))
    serves = tuple(Serves(load.id, dice.randrange(len(load.steps)), keeps) for load in drawing)
    own = not serves or dice.random() < 0.2
    return [
        Load(
            id=f"{run}.{number}",
            run=run,
            service=min([service, *(load.service for load in drawing)]),
            order=(f"item {dice.randint(0, 3)}", run, -number),
            steps=steps,
            due=due if own else None,
            not_ready_before=due - 240 if own and dice.random() < 0.3 else None,
            serves=serves,
        )
        for number in range(dice.randint(1, 3))
    ]


def _step(dice: random.Random) -> LoadStep:
    least = dice.choice([0, 0, 20, 60])
    target = least + dice.choice([0, 0, 30])
    return LoadStep(
        active=dice.choice([0, 5, 20, 45]),
        rest=Rest(least, target, target + dice.choice([0, 0, 0, 120, 600])),
        station=dice.choice(STATIONS),
        equipment=dice.choice([None, None, "oven", "mixer", "prover", "unlisted"]),
        share=dice.choice([400_000, 500_000, 1_000_000]),
    )

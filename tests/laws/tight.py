"""Small days such as a plan asks for, hardly to be done: dishes of some loads, and what is prepared for them.

Responsible for days on which a good order of work decides whether all fits: what keeps, keeps long enough for all that draw on it,
and every station has its hours. Refuses to know what comes out.
"""

import random
from dataclasses import dataclass

from service.kitchen.schedule.problem import NO_REST, Equipment, Keeps, Load, LoadStep, Problem, Rest, Serves, Shift

DAY = 24 * 60
KINDS = (Equipment("oven", 1, 10), Equipment("kettle", 1, 15), Equipment("mixer", 1, 5), Equipment("prover", 1, 0, shared=True))
STATIONS = ("hot-line", "veg", "bakery")
LUNCH, DINNER = 735, 1050


@dataclass
class Growing:
    """A day while it is made, with the dice of its seed."""

    dice: random.Random
    loads: list[Load]

    def add(self, name: str, steps: tuple[LoadStep, ...], number: int, due: int | None, service: int, *serves: Serves) -> None:
        """One more load of the run ``name``."""
        load = Load(
            id=f"{name}.{number}", run=name, service=service, order=(name, -number), steps=steps, due=due, serves=serves,
        )  # fmt: skip
        self.loads.append(load)

    def dish(self, number: int) -> None:
        """A dish for guests: one to three loads, of two or three steps."""
        dice = self.dice
        service = dice.choice((0, 0, 0, 1))
        due = service * DAY + dice.choice((LUNCH, LUNCH, DINNER))
        steps = [self.worked(), self.cooked(), *([self.finished()] if dice.random() < 0.4 else [])]
        for each in range(dice.choice((1, 2, 2, 3))):
            self.add(f"dish {number}", tuple(steps), each, due, service)

    def prepared(self, number: int, dishes: list[Load]) -> None:
        """Something for the first step of one or two dishes, in a load for each or in one for both."""
        dice = self.dice
        names = dice.sample(sorted({str(load.run) for load in dishes}), dice.choice((1, 1, 2)))
        users = [load for load in dishes if load.run in names]
        service = min(load.service for load in users)
        later = max(load.service for load in users) - service
        keeps = dice.choice((Keeps("d", later + 1), Keeps("d", later), Keeps("h", 600))) if not later else Keeps("d", later + 1)
        steps = (self.worked(), *([self.cooked()] if dice.random() < 0.5 else []))
        cut = dice.choice((len(users), (len(users) + 1) // 2)) or 1
        for place, first in enumerate(range(0, len(users), cut)):
            serves = tuple(Serves(load.id, 0, keeps) for load in users[first : first + cut])
            self.add(f"prep {number}", steps, place, None, service, *serves)

    def worked(self) -> LoadStep:
        """Hands, in a mixer at times."""
        dice = self.dice
        return LoadStep(active=dice.choice((15, 30, 45, 60)), station=dice.choice(STATIONS), equipment=dice.choice((None, None, "mixer")))

    def cooked(self) -> LoadStep:
        """Some hands and a rest, mostly in equipment, at times with a window."""
        dice = self.dice
        least = dice.choice((30, 50, 70))
        rest = dice.choice((Rest(least, least, least), Rest(least, least, least), Rest(least, least + 20, least + dice.choice((60, 600)))))
        kind = dice.choice((None, "oven", "oven", "kettle", "prover"))
        share = dice.choice((400_000, 600_000))
        return LoadStep(active=dice.choice((0, 5, 10)), rest=rest, station=dice.choice(STATIONS), equipment=kind, share=share)

    def finished(self) -> LoadStep:
        """A last touch."""
        return LoadStep(active=self.dice.choice((5, 15)), rest=NO_REST, station=self.dice.choice(STATIONS))


def tight_day(seed: int) -> Problem:
    """The day of a seed: six to eighteen loads."""
    day = Growing(random.Random(seed), [])
    for number in range(day.dice.choice((3, 4, 4))):
        day.dish(number)
    dishes = list(day.loads)
    for number in range(day.dice.choice((2, 3))):
        day.prepared(number, dishes)
    early, late = day.dice.choice((300, 360)), day.dice.choice((600, 660))
    stations = day.dice.choice((STATIONS, STATIONS, ("hot-line", "veg")))
    shifts = (
        _shift("Early", stations, day.dice.choice((1, 1, 1, 2)), early, early + 480),
        _shift("Late", STATIONS, 1, late, late + 480),
        *([] if "bakery" in stations else [_shift("Bakers", ("bakery",), 1, 180, 600)]),
    )
    starts = tuple(240 + DAY * date for date in range(-3, 4))
    return Problem(release=day.dice.choice((240, 240 - DAY)), day_starts=starts, equipment=KINDS, shifts=shifts, loads=tuple(day.loads))


def _shift(name: str, stations: tuple[str, ...], cooks: int, begins: int, ends: int) -> Shift:
    return Shift(name, stations, cooks, tuple((begins + DAY * date, ends + DAY * date) for date in range(-3, 4)))

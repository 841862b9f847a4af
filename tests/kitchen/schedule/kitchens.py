"""Small kitchens by hand, for tests of one rule each: a day from minute 0, one date unless a test asks for more."""

from typing import Any

from service.kitchen.schedule.problem import Equipment, Load, LoadStep, Problem, Rest, Shift

DAY = 24 * 60


def problem(*loads: Load, shifts: tuple[Shift, ...] = (), equipment: tuple[Equipment, ...] = (), release: int = -10 * DAY) -> Problem:
    starts = tuple(DAY * day for day in range(-20, 20))
    return Problem(release=release, day_starts=starts, equipment=equipment, shifts=shifts, loads=loads)


def hands(active: int, station: str = "veg", **more: Any) -> LoadStep:
    return LoadStep(active=active, station=station, **more)


def resting(minutes: int, equipment: str | None = None, **more: Any) -> LoadStep:
    return LoadStep(active=0, rest=Rest(minutes, minutes, minutes), station="anywhere", equipment=equipment, **more)


def load(name: str, *steps: LoadStep, due: int | None = None, service: int = 0, **more: Any) -> Load:
    return Load(id=name, service=service, order=(name,), steps=steps, due=due, **more)


def shift(name: str, begins: int, ends: int, *, stations: tuple[str, ...] = ("veg",), cooks: int = 1, days: range = range(1)) -> Shift:
    return Shift(name, stations, cooks, tuple((begins + DAY * day, ends + DAY * day) for day in days))

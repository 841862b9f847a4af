"""The latest place of a load, against every place that there is, counted out minute by minute (K6, K9)."""

import random
from collections.abc import Iterator, Sequence
from itertools import pairwise

import pytest

from service.kitchen.schedule.chain import Chain, chain_of
from service.kitchen.schedule.gaps import PAST, Gaps
from service.kitchen.schedule.place import Bounds, Times, latest_place
from service.kitchen.schedule.problem import LoadStep, Rest

LAST = 45
Row = list[tuple[int, int]]


class Rows:
    """Free rows by hand: of one station, of who is on shift there, and of one equipment."""

    def __init__(
        self, cooks: list[list[tuple[int, int]]], shifts: list[list[tuple[int, int]]], machines: list[list[tuple[int, int]]]
    ) -> None:
        self.free, self.open, self.machines = cooks, shifts, machines

    def hands(self, station: str) -> list[Gaps] | None:
        return [Gaps(row) for row in self.free] if station == "veg" else None

    def on_shift(self, station: str) -> list[Gaps] | None:
        return [Gaps(row) for row in self.open] if station == "veg" else None

    def room(self, equipment: str, share: int) -> list[Gaps] | None:
        return [Gaps(row) for row in self.machines]


def rests(steps: Sequence[LoadStep], start: int, due: int) -> Iterator[Times]:
    """Every way in which steps follow one another from a start and are ready by ``due``."""
    if not steps:
        yield Times((), start)
        return
    for rest in range(steps[0].rest.least, steps[0].rest.most + 1):
        if start + steps[0].active + rest <= due:
            for times in rests(steps[1:], start + steps[0].active + rest, due):
                yield Times((start, *times.starts), times.ready)


def lies(rows: list[Row], start: int, end: int) -> bool:
    return any(begins <= start and end <= ends for row in rows for begins, ends in row)


def allowed(steps: Sequence[LoadStep], times: Times, rows: Rows, bounds: Bounds) -> bool:
    within = times.ready >= bounds.ready and times.starts[0] >= bounds.release
    placed = list(zip(steps, times.starts, strict=True))
    manned = all(step.station != "veg" or not step.active or lies(rows.free, start, start + step.active) for step, start in placed)
    kept = all(
        (step.not_before is None or start >= step.not_before) and (step.not_after is None or start <= step.not_after)
        for step, start in placed
    )
    return within and manned and kept and all(stay_allowed(station, begins, ends, rows) for station, begins, ends in stays(steps, times))


def stays(steps: Sequence[LoadStep], times: Times) -> Iterator[tuple[str, int, int]]:
    """Each stay in the one equipment: the station that puts it in, and from when to when."""
    moments = [*times.starts, times.ready]
    for number, step in enumerate(steps):
        if step.equipment and (number == 0 or not steps[number - 1].equipment):
            out = next((later for later in range(number, len(steps)) if not steps[later].equipment), len(steps))
            if any(each.active or each.rest.most for each in steps[number:out]):
                yield step.station, moments[number], moments[out]


def stay_allowed(station: str, begins: int, ends: int, rows: Rows) -> bool:
    handled = station != "veg" or (lies(rows.open, begins, begins) and lies(rows.open, ends, ends))
    return handled and lies(rows.machines, begins, ends)


def rank(steps: Sequence[LoadStep], times: Times) -> list[tuple[int, int]]:
    """How good a place is: the last segment as late as can be, then each rest before it nearest its target, the longer first."""
    lasting = [end - start - step.active for step, (start, end) in zip(steps, pairwise((*times.starts, times.ready)), strict=True)]
    told = [(abs(rest - step.rest.target), -rest) for step, rest in zip(steps, lasting, strict=True) if step.rest.varies]
    return [(-times.ready, 0), *reversed(told)]


def stretches(dice: random.Random) -> Row:
    edges = sorted(dice.sample(range(LAST), dice.choice([2, 4, 6])))
    return list(zip(edges[::2], edges[1::2], strict=True))


def some_steps(dice: random.Random) -> list[LoadStep]:
    steps = []
    for _ in range(dice.randint(1, 4)):
        least, more, most = dice.randint(0, 6), dice.choice([0, 0, 3]), dice.choice([0, 0, 5])
        steps.append(
            LoadStep(
                active=dice.choice([0, 0, 1, 3]),
                rest=Rest(least, least + more, least + more + most),
                station=dice.choice(["veg", "veg", "anywhere"]),
                equipment=dice.choice([None, "oven"]),
                not_before=dice.choice([None] * 9 + [dice.randint(0, LAST)]),
                not_after=dice.choice([None] * 9 + [dice.randint(0, LAST)]),
            )
        )
    return steps


def within(chain: Chain, due: int, ready: int, release: int) -> Bounds:
    return Bounds(due, ready, release, chain.earliest, chain.latest)


@pytest.mark.parametrize("seed", range(400))
def test_the_place_found_is_the_latest_there_is(seed: int) -> None:
    dice = random.Random(seed)
    steps = some_steps(dice)
    on_shift = [stretches(dice) for _ in range(2)]
    rows = Rows([stretches(dice) for _ in range(2)], on_shift, [stretches(dice) for _ in range(2)])
    chain = chain_of(steps)
    bounds = within(chain, dice.randint(25, LAST), dice.choice([PAST, 20]), dice.choice([0, 8]))
    every = [times for start in range(bounds.release, bounds.due + 1) for times in rests(steps, start, bounds.due)]
    places = [times for times in every if allowed(steps, times, rows, bounds)]
    best = min(places, key=lambda times: rank(steps, times), default=None)
    assert latest_place(chain, rows, bounds) == best


def test_some_of_the_loads_so_tried_find_a_place_and_some_find_none() -> None:
    found = 0
    for seed in range(400):
        dice = random.Random(seed)
        steps = some_steps(dice)
        rows = Rows([stretches(dice) for _ in range(2)], [stretches(dice) for _ in range(2)], [stretches(dice) for _ in range(2)])
        chain = chain_of(steps)
        found += latest_place(chain, rows, within(chain, LAST, PAST, 0)) is not None
    assert 100 < found < 350

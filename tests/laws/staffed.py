"""Kitchens that state hours: shifts, days that are different, and equipment that is put in and taken out by somebody.

Responsible for what a generated kitchen is given for that. Refuses to know what follows from it.
"""

from dataclasses import replace
from datetime import time, timedelta

from hypothesis import strategies as st

from service.kitchen.book.capacity import Capacity, Machines, Shift
from service.kitchen.book.recipe import Version
from service.kitchen.measures.calendar import ZERO
from tests.laws.dice import Dice
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.larder import STATIONS
from tests.laws.trade import SITE

OVEN = Machines(equipment="oven", count=1, loads=(), turn_round=ZERO, shared=False)


@st.composite
def staffed_kitchens(draw: st.DrawFn) -> Kitchen:
    """Kitchens in whose shifts some stations are staffed, day by day, at night, or hardly ever."""
    kitchen: Kitchen = draw(kitchens())
    dice = Dice(draw)
    shifts = tuple(_shift(dice, number) for number in range(dice.number(1, 4)))
    different = {
        kitchen.first + timedelta(days=dice.number(-3, 14)): Capacity(shifts=(_shift(dice, 9),) if dice.chance(40) else ())
        for _ in range(dice.number(0, 3))
    }
    equipment = {"oven": OVEN} if dice.chance(60) else {}
    site = replace(kitchen.site, shifts=shifts, equipment=equipment, equipment_map={"stove": "oven"})
    versions = {code: tuple(_equipped(dice, each) for each in found) for code, found in kitchen.catalogue.versions.items()}
    catalogue = replace(kitchen.catalogue, versions=versions, sites={**kitchen.catalogue.sites, SITE: site})
    return replace(kitchen, catalogue=catalogue, different=different)


def _shift(dice: Dice, number: int) -> Shift:
    starts, until = dice.pick(("06:00", "14:00"), ("05:00", "22:00"), ("13:00", "21:30"), ("20:00", "04:30"), ("08:15", "09:00"))
    return Shift(
        name=f"Shift {number}",
        stations=tuple(dice.some(STATIONS, 1, len(STATIONS))),
        starts=time.fromisoformat(starts),
        until=time.fromisoformat(until),
        cooks=dice.pick(1, 2, 1, 0),
        weekdays=frozenset(range(1, 8)) if dice.chance(60) else frozenset(dice.some(range(1, 8), 1, 6)),
    )


def _equipped(dice: Dice, version: Version) -> Version:
    steps = tuple(replace(step, equipment=dice.pick(None, "oven", "stove", "kettle")) for step in version.steps)
    return replace(version, steps=steps)

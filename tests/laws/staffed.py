"""Kitchens that state hours: shifts, days that are different, and equipment that is put in and taken out by somebody.

Responsible for what a generated kitchen is given for that. Refuses to know what follows from it.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import time, timedelta

from hypothesis import strategies as st

from service.kitchen.book.capacity import EVERY_DAY, Capacity, Machines, Shift
from service.kitchen.book.recipe import Version
from service.kitchen.book.step import Passive
from service.kitchen.measures.calendar import ZERO
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.guests import Forecast
from tests.kitchen.larder import Document, ingredient, kitchen, line, menu_item, quantity, recipe, site, step
from tests.laws.dice import Dice
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.larder import STATIONS
from tests.laws.trade import PLACES, SITE

HOURS = (("14:00", "22:00"), ("06:00", "14:00"), ("18:30", "23:00"), ("05:00", "22:00"), ("20:00", "04:30"), ("08:15", "10:00"))
OVEN = Machines(equipment="oven", count=1, loads=(), turn_round=ZERO, shared=False)


@st.composite
def staffed_kitchens(draw: st.DrawFn) -> Kitchen:
    """Kitchens in whose shifts some stations are staffed, day by day, at night, or hardly ever."""
    kitchen: Kitchen = draw(kitchens())
    dice = Dice(draw)
    everywhere = (_shift(dice, STATIONS),) if dice.chance(70) else ()
    shifts = (*everywhere, *(_shift(dice) for _ in range(dice.number(0 if everywhere else 1, 3))))
    different = {
        kitchen.first + timedelta(days=dice.number(-3, 14)): Capacity(shifts=(_shift(dice),) if dice.chance(40) else ())
        for _ in range(dice.number(0, 3))
    }
    equipment = {"oven": OVEN} if dice.chance(60) else {}
    site = replace(kitchen.site, shifts=shifts, equipment=equipment, equipment_map={"stove": "oven"})
    # Work that takes no longer than a day begins a day before only where hours make it.
    hurry = dice.pick(12, 1, 6)
    versions = {code: tuple(_equipped(dice, each, hurry) for each in found) for code, found in kitchen.catalogue.versions.items()}
    catalogue = replace(kitchen.catalogue, versions=versions, sites={**kitchen.catalogue.sites, SITE: site})
    return replace(kitchen, catalogue=catalogue, different=different)


@st.composite
def staffed_pots(draw: st.DrawFn) -> Kitchen:
    """Soup, its stock and what that gives, nothing else, for guests of every date: whatever such a list lacks is seen at once."""
    dice = Dice(draw)
    zone, saturday = dice.pick(*PLACES)
    first = saturday - timedelta(days=dice.number(0, 3))
    cooked = [_recipe(dice, "soup", line("recipe stock", "5 L", 1), line("onion", "1 kg")), _recipe(dice, "stock", line("bone", "2 kg", 1))]
    giving = replace(cooked[1], by_products=(("fat", Quantity.read(quantity("1 kg"))),)) if dice.chance(50) else cooked[1]
    things = (cooked[0], giving, ingredient("onion", thaw=dice.pick(None, "PT9H")), ingredient("bone"), ingredient("fat", keeps="P1D"))
    # Where somebody is there to pull at all hours, only cooking waits.
    night_and_day = (replace(_shift(dice, ["veg"]), starts=time(6), until=time(6), weekdays=EVERY_DAY),) if dice.chance(60) else ()
    shifts = (*night_and_day, *(_shift(dice, ["hot-line"]) for _ in range(dice.number(1, 2))))
    where = replace(site(SITE, time_zone=zone), shifts=shifts, equipment={"oven": OVEN})
    different = {first + timedelta(days=dice.number(0, 9)): Capacity(shifts=()) for _ in range(dice.number(0, 2))}
    forecasts = [
        Forecast(date=first + timedelta(days=days), period=period, count=dice.number(0, 90), source="till", menu_item="bowl", event=None)
        for days in range(25)
        for period in dice.some(("lunch", "dinner"), 1, 2)
    ]
    catalogue = kitchen(*things, menu_item("bowl", ("soup", "250 mL")), where)
    return Kitchen({}, {}, first, tuple(forecasts), {}, (), catalogue, different)


def _recipe(dice: Dice, code: str, *lines: Document) -> Version:
    """A recipe that takes little of a day, so that it begins on another one only where hours make it."""
    window = {"min": "PT1H", "target": "PT3H", "max": "PT12H"}
    kinds = [(dice.pick("PT30M", "PT1H30M", None), dice.pick(None, "PT1H", "PT3H", window)) for _ in range(dice.number(1, 3))]
    steps = [step(active, passive, equipment=dice.pick(None, None, "oven")) for active, passive in kinds]
    rule = {"multiple": dice.pick("10 L", "1 L")}
    makes_for = dice.pick(1, 1, 1, 2)
    return recipe(code, "10 L", *lines, steps=steps, keeps=dice.pick("P1D", "P3D", "PT20H"), makes_for=makes_for, batch=rule)


def _shift(dice: Dice, stations: Sequence[str] = ()) -> Shift:
    """A shift at some stations, at random ones if none are named."""
    # Who is there in the evening alone cooks for the next day.
    starts, until = dice.pick(
        ("14:00", "22:00"), ("06:00", "14:00"), ("18:30", "23:00"), ("05:00", "22:00"), ("20:00", "04:30"), ("08:15", "10:00")
    )
    return Shift(
        name="Shift",
        stations=tuple(stations or dice.some(STATIONS, 1, len(STATIONS))),
        starts=time.fromisoformat(starts),
        until=time.fromisoformat(until),
        cooks=1 if stations else dice.pick(1, 2, 1, 0),
        weekdays=EVERY_DAY if dice.chance(75) else frozenset(dice.some(range(1, 8), 3, 6)),
    )


def _equipped(dice: Dice, version: Version, hurry: int) -> Version:
    """A version with some of its steps in equipment, rests so many times shorter."""
    used = (dice.pick(None, "oven", None, "stove", "kettle") for _ in version.steps)
    steps = (replace(step, equipment=each, passive=_hurried(step.passive, hurry)) for step, each in zip(version.steps, used, strict=True))
    return replace(version, steps=tuple(steps))


def _hurried(passive: Passive, hurry: int) -> Passive:
    least, most = (None if each is None else each / hurry for each in (passive.least, passive.most))
    return Passive(passive.target / hurry, least, most)

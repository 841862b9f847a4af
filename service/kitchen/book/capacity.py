"""Capacity: the machines of a site, its shifts, and what of them is different on one date.

Responsible for reading what is stated of them (domain K1, K2, K4, K7), and for the hours of a shift. Refuses to know what is cooked,
and what fits.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Final

from service.errors import KitchenError
from service.kitchen.book.handson import read_time
from service.kitchen.book.json import Document
from service.kitchen.measures.calendar import ONE_DAY, Calendar
from service.kitchen.measures.equivalents import Conversions
from service.kitchen.measures.units import Quantity

EVERY_DAY: Final = frozenset(range(1, 8))


@dataclass(frozen=True, slots=True)
class Equipment:
    """A kind of machine or place that a step needs, shown in order of ``position``."""

    code: str
    name: str
    position: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Machines:
    """The machines of one equipment at a site: how many, what one takes at once, and the time that it needs between two loads."""

    equipment: str
    count: int
    loads: tuple[Quantity, ...]
    turn_round: timedelta
    shared: bool

    def load(self, conversions: Conversions) -> Fraction | None:
        """What one machine takes at once of what the conversions are of, in its stock kind: the first load that converts (K4).

        None: one batch at a time.
        """
        for quantity in self.loads:
            try:
                return conversions.to_stock(quantity)
            except KitchenError:
                # A load is stated for all that is cooked in it, and some of that has no trays.
                continue
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """So many cooks at some stations of the site from one time to another, on some weekdays of the business date (Monday is 1)."""

    name: str
    stations: tuple[str, ...]
    starts: time
    until: time
    cooks: int
    weekdays: frozenset[int] = EVERY_DAY

    def hours(self, calendar: Calendar, on: date) -> tuple[datetime, datetime]:
        """From when to when it lasts on a business date: by T4, and to the next business date where it would end before it began (K2)."""
        starts, ends = calendar.moment(on, self.starts), calendar.moment(on, self.until)
        return starts, ends if ends > starts else calendar.moment(on + ONE_DAY, self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """What is different at a site on one date: its shifts, the machines that can be used of some equipment; None: as usual."""

    shifts: tuple[Shift, ...] | None = None
    counts: Mapping[str, int] | None = None
    note: str = ""


def read_equipment(code: str, document: Document) -> Equipment:
    """An equipment from its document."""
    return Equipment(code, document["name"], int(document["position"]))


def read_machines(document: Document) -> Machines:
    """A site's machines of one equipment from their document."""
    return Machines(
        equipment=document["equipment"],
        count=int(document["count"]),
        loads=tuple(Quantity.read(each) for each in document["load"]),
        turn_round=read_time(document["turn_round"]),
        shared=document["shared"],
    )


def read_shift(document: Document) -> Shift:
    """A shift from its document; one of a single date has no weekdays."""
    return Shift(
        name=document["name"],
        stations=tuple(document["stations"]),
        starts=time.fromisoformat(document["from"]),
        until=time.fromisoformat(document["until"]),
        cooks=int(document["cooks"]),
        weekdays=frozenset(document.get("weekdays", EVERY_DAY)),
    )


def read_capacity(document: Document) -> Capacity:
    """What is different on a date, from its document."""
    shifts, equipment = document["shifts"], document["equipment"]
    return Capacity(
        shifts=None if shifts is None else tuple(read_shift(each) for each in shifts),
        counts=None if equipment is None else {each["equipment"]: int(each["count"]) for each in equipment},
        note=document["note"],
    )

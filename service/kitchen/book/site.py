"""Sites, stations and menu items: who cooks, where in the kitchen, and what is sold.

Responsible for reading these values from their documents. Refuses to know recipes and forecasts.
"""

from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from fractions import Fraction

from service.kitchen.book.capacity import Capacity, Machines, Shift, read_machines, read_shift
from service.kitchen.book.ingredient import exact
from service.kitchen.book.item import Item
from service.kitchen.book.json import Document
from service.kitchen.measures.calendar import Calendar
from service.kitchen.measures.money import Money, read_money
from service.kitchen.measures.units import Quantity


@dataclass(frozen=True, slots=True)
class Station:
    """A work area of the kitchens, shown in order of ``position``."""

    code: str
    name: str
    position: int


@dataclass(frozen=True, slots=True)
class Component:
    """What one guest gets of one recipe, and the share of guests who get it."""

    recipe: str
    quantity: Quantity
    uptake: Fraction


@dataclass(frozen=True, slots=True)
class TillCode:
    """What a point-of-sale source calls a menu item."""

    source: str
    till_code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MenuItem:
    """What is sold: components, a buffer and a price where it has them, and the first and last date of its sale (None: no end)."""

    code: str
    name: str
    buffer: Fraction | None
    components: tuple[Component, ...]
    codes: tuple[TillCode, ...]
    price: Money | None = None
    sold_from: date | None = None
    sold_until: date | None = None

    def sold_on(self, on: date) -> bool:
        """Whether it is on the menu on a date (P1)."""
        return (self.sold_from or date.min) <= on <= (self.sold_until or date.max)


@dataclass(frozen=True, slots=True)
class Period:
    """A meal period of a site's day, the time by which its food must be ready, and when it is over (None: with its date)."""

    code: str
    name: str
    ready_by: time
    ends: time | None = None

    def ended_at(self, calendar: Calendar, on: date) -> datetime:
        """When the period of a business date is over: what is said later changes nothing that was cooked for it (P1)."""
        return calendar.end(on) if self.ends is None else calendar.moment(on, self.ends)


@dataclass(frozen=True, slots=True)
class Par:
    """A level of a recipe or form that must stand ready by a time on some weekdays (P16)."""

    item: Item
    level: Quantity
    weekdays: frozenset[int]
    by: time


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """One kitchen: its clock, units, periods, stations, vessels and pars, its machines by their equipment, and its shifts."""

    code: str
    name: str
    time_zone: str
    units: str
    day_starts: time
    buffer: Fraction
    periods: tuple[Period, ...]
    station_map: dict[str, str]
    vessels: dict[str, Quantity]
    pars: tuple[Par, ...]
    equipment: dict[str, Machines] = field(default_factory=dict)
    equipment_map: dict[str, str] = field(default_factory=dict)
    shifts: tuple[Shift, ...] = ()

    def calendar(self) -> Calendar:
        """The site's dates and clock."""
        return Calendar.of(self.time_zone, self.day_starts)

    def period(self, code: str) -> Period | None:
        """The meal period of that code, if the site has it."""
        return next((period for period in self.periods if period.code == code), None)

    def station(self, code: str) -> str:
        """Where the site does the work of a station."""
        return self.station_map.get(code, code)

    def machines(self, code: str, different: Capacity | None = None) -> Machines | None:
        """The machines in which the site does what a step asks of an equipment, on a date of some capacity; None: no limit (K1).

        Of an equipment that it has not, those of the equipment that its map names instead.
        """
        used = code if code in self.equipment else self.equipment_map.get(code, code)
        machines = self.equipment.get(used)
        if machines is None or different is None or different.counts is None or used not in different.counts:
            return machines
        return replace(machines, count=different.counts[used])

    @property
    def staffed(self) -> frozenset[str]:
        """The stations that some shift of the site names: only they have hours, and none where nobody is on shift (K1)."""
        return frozenset(station for shift in self.shifts for station in shift.stations)

    def shifts_on(self, on: date, different: Capacity | None = None) -> tuple[Shift, ...]:
        """The shifts of a business date, as stated for its weekday, or as the capacity of the date has them instead (K2)."""
        if different is not None and different.shifts is not None:
            return different.shifts
        return tuple(shift for shift in self.shifts if on.isoweekday() in shift.weekdays)


def read_station(code: str, document: Document) -> Station:
    """A station from its document."""
    return Station(code, document["name"], int(document["position"]))


def read_menu_item(code: str, document: Document) -> MenuItem:
    """A menu item from its document."""
    return MenuItem(
        code=code,
        name=document["name"],
        buffer=None if document["buffer"] is None else exact(document["buffer"]),
        components=tuple(
            Component(each["recipe"], Quantity.read(each["quantity"]), exact(each["uptake"])) for each in document["components"]
        ),
        codes=tuple(TillCode(each["source"], each["till_code"]) for each in document["codes"]),
        price=read_money(document["price"]),
        sold_from=_maybe_date(document["sold_from"]),
        sold_until=_maybe_date(document["sold_until"]),
    )


def _maybe_date(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _read_period(document: Document) -> Period:
    ends = document["ends"]
    ready_by = time.fromisoformat(document["ready_by"])
    return Period(document["code"], document["name"], ready_by, None if ends is None else time.fromisoformat(ends))


def read_site(code: str, document: Document) -> Site:
    """A site from its document."""
    return Site(
        code=code,
        name=document["name"],
        time_zone=document["time_zone"],
        units=document["units"],
        day_starts=time.fromisoformat(document["day_starts"]),
        buffer=exact(document["buffer"]),
        periods=tuple(_read_period(each) for each in document["periods"]),
        station_map=dict(document["station_map"]),
        vessels={each["recipe"]: Quantity.read(each["largest"]) for each in document["vessels"]},
        pars=tuple(
            Par(Item.read(each["item"]), Quantity.read(each["level"]), frozenset(each["weekdays"]), time.fromisoformat(each["by"]))
            for each in document["pars"]
        ),
        equipment={each["equipment"]: read_machines(each) for each in document["equipment"]},
        equipment_map=dict(document["equipment_map"]),
        shifts=tuple(read_shift(each) for each in document["shifts"]),
    )

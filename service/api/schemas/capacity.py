"""Capacity: the machines and shifts of a site, and what is different on one date."""

from datetime import timedelta

from service.api.fields import CivilDate, Code, Document, Duration, Flag, Many, Object, QuantityField, Text, TimeOfDay, WholeNumber
from service.api.schemas.queries import Cursor, DateRange, NumberText
from service.limits import (
    COOKS,
    DATE_SHIFTS,
    LOADS,
    MACHINES,
    NOTE_LENGTH,
    PAGE,
    PAGE_DEFAULT,
    SHIFT_STATIONS,
    SHIFTS,
    SITE_EQUIPMENT,
    TURN_ROUND_HOURS,
    WEEKDAY,
)


class Machines(Document):
    """The machines of one equipment at a site; of load the first quantity that converts for a recipe counts, without any each batch."""

    equipment = Code(required=True)
    count = WholeNumber(MACHINES, required=True)
    takes = Many(QuantityField(), attribute="load", data_key="load", most=LOADS, load_default=list)
    turn_round = Duration(most=timedelta(hours=TURN_ROUND_HOURS), load_default="PT0S")
    shared = Flag(load_default=False)


class DateShift(Document):
    """So many cooks at some stations from one clock time to another; until at or before from is on the next business date."""

    name = Text(required=True)
    stations = Many(Code(), most=SHIFT_STATIONS, least=1, unique=(), required=True)
    begins = TimeOfDay(attribute="from", data_key="from", required=True)
    until = TimeOfDay(required=True)
    cooks = WholeNumber(COOKS, required=True)


class Shift(DateShift):
    """A shift on some weekdays of the business date (Monday is 1)."""

    weekdays = Many(WholeNumber(WEEKDAY), most=7, least=1, unique=(), required=True)


class Usable(Document):
    """How many machines of an equipment can be used."""

    equipment = Code(required=True)
    count = WholeNumber(MACHINES, required=True)


class CapacityBody(Document):
    """What is different on one date: its shifts, none at all on a closing day, and machines that can be used; null: as usual."""

    shifts = Many(Object(DateShift), most=DATE_SHIFTS, load_default=None)
    equipment = Many(Object(Usable), most=SITE_EQUIPMENT, unique=("equipment",), load_default=None)
    note = Text(NOTE_LENGTH, lines=True, blank=True, load_default="")


class Capacity(CapacityBody):
    """What is different at a site on one date, with its key."""

    site = Code(required=True)
    date = CivilDate(required=True)


class CapacityQuery(DateRange):
    """The dates."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", load_default=None)


class DateCapacity(Document):
    """The shifts and machines that hold at a site on one date; usual where nothing is stated for the date."""

    date = CivilDate(required=True)
    usual = Flag(required=True)
    shifts = Many(Object(DateShift), most=SHIFTS, required=True)
    equipment = Many(Object(Usable), most=SITE_EQUIPMENT, required=True)
    note = Text(NOTE_LENGTH, lines=True, blank=True, required=True)

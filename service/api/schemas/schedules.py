"""Schedules: who does what when on a date, what finds no place, and what would help."""

from service.api.fields import Choice, CivilDate, Code, Document, Duration, Flag, Many, Moment, Object, Text, WholeNumber
from service.api.schemas.computed import MANY, NUMBERED
from service.api.schemas.loads import AtRisk, CookDay, LoadMoments, MachineDay
from service.api.schemas.prep_lists import ListWarning
from service.limits import COUNT, NAME_LENGTH, NOTE_LENGTH, UNIT_SYSTEMS

REASONS = ("due", "equipment", "station", "hours", "step", "begun")
HELPS = ("begins_earlier", "needed_later", "one_more_cook", "one_more_machine")


class LoadName(Document):
    """A load by the task that it begins with, and its number."""

    task = Text(required=True)
    number = WholeNumber(NUMBERED, required=True)


class Because(Document):
    """What keeps a load from being a minute later."""

    code = Choice(REASONS, required=True)
    equipment = Code(allow_none=True, required=True)
    station = Code(allow_none=True, required=True)
    all_loads = Many(Object(LoadName), most=MANY, data_key="loads", required=True)
    detail = Text(NOTE_LENGTH, required=True)


class ScheduledLoad(LoadName, LoadMoments):
    """A load that begins on the date."""

    of = WholeNumber(NUMBERED, required=True)
    title = Text(required=True)
    station = Code(required=True)
    because = Object(Because, allow_none=True, required=True)


class EarlyLoad(LoadName):
    """A load for the date that begins on an earlier one."""

    starts = Moment(required=True)


class Lack(Document):
    """One thing without whose limit a load would find a place: an equipment, the cooks of a station, or its hours."""

    equipment = Code()
    station = Code()
    hours = Code()


class Conflict(Document):
    """A load that finds no place: what it lacks, from when until when, by how much it is short, and who has what it lacks then."""

    task = Text(required=True)
    load_number = WholeNumber(NUMBERED, data_key="load", required=True)
    lacks = Many(Object(Lack), most=MANY, required=True)
    first = Moment(data_key="from", allow_none=True, required=True)
    until = Moment(allow_none=True, required=True)
    short = Duration(allow_none=True, required=True)
    taken_by = Many(Object(LoadName), most=MANY, required=True)
    at_risk = Many(Object(AtRisk), most=MANY, required=True)
    detail = Text(NOTE_LENGTH, required=True)


class Help(Document):
    """A single change that was tried, and how many loads find no place with it."""

    code = Choice(HELPS, required=True)
    shift = Text(NAME_LENGTH)
    equipment = Code()
    by = Duration()
    left_out = WholeNumber(COUNT, required=True)
    detail = Text(NOTE_LENGTH, required=True)


class Schedule(Document):
    """Who does what when on a date, in which machine, and why; what finds no place, and what would help."""

    site = Code(required=True)
    date = CivilDate(required=True)
    first = CivilDate(data_key="from", required=True)
    at = Moment(allow_none=True, required=True)
    units = Choice(UNIT_SYSTEMS, required=True)
    print_number = WholeNumber(NUMBERED, data_key="print", allow_none=True, required=True)
    fits = Flag(required=True)
    reserve = Duration(allow_none=True, required=True)
    cooks = Many(Object(CookDay), most=MANY, required=True)
    equipment = Many(Object(MachineDay), most=MANY, required=True)
    all_loads = Many(Object(ScheduledLoad), most=MANY, data_key="loads", required=True)
    evening_before = Many(Object(EarlyLoad), most=MANY, required=True)
    conflicts = Many(Object(Conflict), most=MANY, required=True)
    helps = Many(Object(Help), most=MANY)
    warnings = Many(Object(ListWarning), most=MANY, required=True)
    cautions = Many(Text(NOTE_LENGTH), most=MANY, required=True)

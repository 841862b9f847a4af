"""Loads: what goes through steps together, cooks and machines of a date, as lists and schedules tell them."""

from service.api.fields import CivilDate, Code, Document, Duration, Flag, Many, Moment, Number, Object, Text, WholeNumber
from service.api.schemas.computed import MANY, NUMBERED, ComputedQuantity
from service.limits import COUNT, NAME_LENGTH, Span

PART = Span(0, 1)


class AtRisk(Document):
    """The portions that hang on something."""

    menu_item = Code(allow_none=True)
    date = CivilDate(allow_none=True)
    period = Code(allow_none=True)
    event = Code(allow_none=True)
    portions = Number(COUNT)


class Cook(Document):
    """One of the cooks of a shift."""

    shift = Text(NAME_LENGTH, required=True)
    number = WholeNumber(NUMBERED, required=True)


class Machine(Document):
    """One of the machines of an equipment; of shared ones none by number."""

    equipment = Code(required=True)
    number = WholeNumber(NUMBERED, allow_none=True, required=True)


class LoadStep(Document):
    """When a step of a load starts, rests and ends, and who and what has it then; null where nothing limits that."""

    number = WholeNumber(NUMBERED, required=True)
    starts = Moment(required=True)
    rests = Moment(required=True)
    ends = Moment(required=True)
    cook = Object(Cook, allow_none=True, required=True)
    equipment = Object(Machine, allow_none=True, required=True)


class LoadMoments(Document):
    """A load from its first step to its last: when it starts, is ready and is due, and how it lies to others."""

    starts = Moment(required=True)
    ready = Moment(required=True)
    due = Moment(allow_none=True, required=True)
    held = Duration(required=True)
    slack = Duration(allow_none=True, required=True)
    fits = Flag(required=True)


class Load(LoadMoments):
    """A load of a run, from its first step to its last, with the steps of the task that shows it."""

    number = WholeNumber(NUMBERED, required=True)
    of = WholeNumber(NUMBERED, required=True)
    quantity = Object(ComputedQuantity, required=True)
    steps = Many(Object(LoadStep), most=MANY, required=True)


class CookShift(Cook):
    """A cook in a shift, and how long the hands are busy."""

    first = Moment(data_key="from", required=True)
    until = Moment(required=True)
    active = Duration(required=True)


class CookWork(Document):
    """A hands-on piece of a cook."""

    task = Text(required=True)
    load_number = WholeNumber(NUMBERED, data_key="load", required=True)
    step = WholeNumber(NUMBERED, required=True)
    title = Text(required=True)
    starts = Moment(required=True)
    ends = Moment(required=True)


class CookDay(CookShift):
    """A cook's shift with all that is to be done in it."""

    stations = Many(Code(), most=MANY, required=True)
    work = Many(Object(CookWork), most=MANY, required=True)


class MachineStay(Document):
    """What is in a machine, and when the next load may go in; without a task it is out of order."""

    task = Text(allow_none=True, required=True)
    load_number = WholeNumber(NUMBERED, data_key="load", allow_none=True, required=True)
    title = Text(required=True)
    quantity = Object(ComputedQuantity, allow_none=True, required=True)
    share = Number(PART, allow_none=True, required=True)
    starts = Moment(required=True)
    ends = Moment(required=True)
    free_again = Moment(required=True)


class MachineDay(Machine):
    """A machine with what is in it on a date; of shared ones all together, without a number."""

    name = Text(required=True)
    shared = Flag(required=True)
    count = WholeNumber(COUNT, required=True)
    work = Many(Object(MachineStay), most=MANY, required=True)


class ListCapacity(Document):
    """Whether a date's loads fit, the smallest slack of those that do, how many do not; all cooks and machines, and the schedule."""

    fits = Flag(required=True)
    reserve = Duration(allow_none=True, required=True)
    left_out = WholeNumber(COUNT, required=True)
    schedule = Text()
    cooks = Many(Object(CookDay), most=MANY, required=True)
    equipment = Many(Object(MachineDay), most=MANY, required=True)

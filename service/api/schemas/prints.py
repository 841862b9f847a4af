"""Prints of lists, what changed since, and reports of progress."""

from service.api.fields import (
    Choice,
    CivilDate,
    Code,
    Document,
    Duration,
    Many,
    Moment,
    Number,
    Object,
    QuantityField,
    Text,
    WholeNumber,
)
from service.api.schemas.computed import EVERYTHING, MANY, NUMBERED
from service.api.schemas.prep_lists import MakeTask
from service.api.schemas.queries import DateText, NumberText
from service.limits import NOTE_LENGTH, PROGRESS_STATES, STORAGE, TASK_KINDS, UNIT_SYSTEMS


class PrintQuery(Document):
    """How the printed list is planned and in which units it is shown."""

    first = DateText(data_key="from", load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)


class PrintHead(Document):
    """When a print was made."""

    print_number = WholeNumber(NUMBERED, data_key="print", required=True)
    date = CivilDate(required=True)
    first = CivilDate(data_key="from", required=True)
    units = Choice(UNIT_SYSTEMS, required=True)
    printed_at = Moment(required=True)


class ChangesQuery(Document):
    """Since which print, and from which date the list of now is planned."""

    since = NumberText(NUMBERED, required=True)
    first = DateText(data_key="from", load_default=None)


class ListedEntry(MakeTask):
    """A task with its station, or a pull."""

    kind = Choice(TASK_KINDS)
    station = Code()
    need_by = Moment()
    thaw = Duration(allow_none=True)
    storage = Choice(STORAGE, allow_none=True)
    stations = Many(Code(), most=MANY)
    pieces = WholeNumber(NUMBERED, allow_none=True)


class ChangedEntry(Document):
    """A task or pull that asks for something else than the print did."""

    id = Text(required=True)
    old = Object(ListedEntry, required=True)
    new = Object(ListedEntry, required=True)


class ListChanges(Document):
    """What the list of now asks for that a print did not, no longer asks for, or asks for otherwise."""

    since = WholeNumber(NUMBERED, required=True)
    added = Many(Object(ListedEntry), most=MANY, required=True)
    dropped = Many(Object(ListedEntry), most=MANY, required=True)
    changed = Many(Object(ChangedEntry), most=MANY, required=True)


class ReportBody(Document):
    """What the kitchen says of a task or pull: its state, what was begun, made and drawn where that differs from the plan, and when."""

    state = Choice(PROGRESS_STATES, required=True)
    made = QuantityField(told=True, load_default=None)
    begun = QuantityField(told=True, load_default=None)
    drawn = QuantityField(told=True, load_default=None)
    at = Moment(load_default=None)
    note = Text(NOTE_LENGTH, lines=True, blank=True, load_default="")


class StockAmount(Document):
    """An amount in the stock kind of its item."""

    amount = Number(EVERYTHING, required=True)
    unit = Text(required=True)


class Reported(Document):
    """A report as it was recorded; amounts in the stock kind."""

    id = Text(required=True)
    date = CivilDate(required=True)
    state = Choice(PROGRESS_STATES, required=True)
    made = Object(StockAmount, allow_none=True, required=True)
    begun = Object(StockAmount, allow_none=True, required=True)
    drawn = Object(StockAmount, allow_none=True, required=True)
    at = Moment(required=True)
    note = Text(NOTE_LENGTH, lines=True, blank=True, required=True)

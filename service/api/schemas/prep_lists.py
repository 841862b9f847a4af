"""Prep lists: what the stations of one site must do on one date."""

from service.api.fields import (
    AllergenName,
    Choice,
    CivilDate,
    Code,
    Document,
    Duration,
    Flag,
    Kinds,
    Many,
    Moment,
    Number,
    Object,
    Text,
    WholeNumber,
)
from service.api.schemas.computed import MANY, NUMBERED, ComputedQuantity, ItemWithTitle
from service.api.schemas.loads import AtRisk, CookShift, ListCapacity, Load
from service.api.schemas.safety import ShownTemperature, StepSafety
from service.api.schemas.versions import Warned
from service.limits import COUNT, EXPECTED_FROM, NOTE_LENGTH, PROGRESS_STATES, STORAGE, TASK_KINDS, UNIT_SYSTEMS, Span


class Portion(Document):
    """An item and how much of it."""

    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)


class Stage(Document):
    """Which part of its run a task is."""

    number = WholeNumber(NUMBERED, required=True)
    of = WholeNumber(NUMBERED, required=True)


class Share(Document):
    """The part of a task's quantity that one demand caused; surplus is a row of nulls."""

    menu_item = Code(allow_none=True)
    date = CivilDate(allow_none=True)
    period = Code(allow_none=True)
    event = Code(allow_none=True)
    quantity = Object(ComputedQuantity, required=True)


class BatchLine(Document):
    """One line of one batch."""

    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)
    step = WholeNumber(Span(1, 100), allow_none=True)
    critical = Flag(required=True)
    note = Text(NOTE_LENGTH, lines=True, blank=True, required=True)


class TaskBatch(Document):
    """Batches of one size, with the lines of one of them."""

    count = WholeNumber(NUMBERED, required=True)
    quantity = Object(ComputedQuantity, required=True)
    factor = Number(Span(0, 10**12), required=True)
    lines = Many(Object(BatchLine), most=MANY, required=True)


class WindowMoments(Document):
    """A window as moments."""

    least = Moment(data_key="min")
    target = Moment()
    most = Moment(data_key="max")


class TaskStep(Document):
    """One step of a stage, with the moment it starts."""

    number = WholeNumber(NUMBERED, required=True)
    text = Text(NOTE_LENGTH, lines=True, required=True)
    why = Text(NOTE_LENGTH, lines=True, blank=True, allow_none=True)
    starts = Moment(allow_none=True)
    active = Duration(allow_none=True)
    passive = Duration(allow_none=True)
    window = Object(WindowMoments, allow_none=True)
    safety = Object(StepSafety, allow_none=True)
    set_to = Object(ShownTemperature, allow_none=True)


class Given(Portion):
    """What a cut's run gives of one form or by-product."""

    need = Object(ComputedQuantity)
    have = Object(ComputedQuantity)
    surplus = Object(ComputedQuantity)
    feeds = Many(Object(Portion), most=MANY)
    shares = Many(Object(Share), most=MANY)


class Progress(Document):
    """What the kitchen reported about a task."""

    state = Choice(PROGRESS_STATES, required=True)
    made = Object(ComputedQuantity, allow_none=True, required=True)
    begun = Object(ComputedQuantity, allow_none=True)
    drawn = Object(ComputedQuantity, allow_none=True, required=True)
    at = Moment(required=True)
    note = Text(NOTE_LENGTH, lines=True, blank=True, required=True)


class Allergens(Document):
    """What an item contains and may contain."""

    contains = Many(AllergenName(), most=MANY)
    may_contain = Many(AllergenName(), most=MANY)


class Work(Document):
    """What every task tells."""

    id = Text(required=True)
    kind = Choice(TASK_KINDS, required=True)
    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)
    version = WholeNumber(NUMBERED, allow_none=True)
    start_by = Moment(allow_none=True)
    ready_by = Moment(allow_none=True)
    use_by = Moment(allow_none=True)
    use_by_date = CivilDate(allow_none=True)
    active = Duration(allow_none=True)
    late = Flag()
    overdue = Flag()
    last_start = Moment()
    at_risk = Many(Object(AtRisk), most=MANY)
    needed_for = Many(Text(1_000), most=MANY, data_key="for")
    feeds = Many(Object(Portion), most=MANY)
    shares = Many(Object(Share), most=MANY)
    allergens = Object(Allergens, allow_none=True)
    progress = Object(Progress, allow_none=True, required=True)


class UseTask(Work):
    """A lot to use before it spoils."""

    kind = Choice(("use",), required=True)


class PrepTask(Work):
    """A form of an ingredient to make ready."""

    kind = Choice(("prep",), required=True)
    stage = Object(Stage, allow_none=True)
    need = Object(ComputedQuantity, allow_none=True)
    have = Object(ComputedQuantity, allow_none=True)
    surplus = Object(ComputedQuantity, allow_none=True)
    draw = Many(Object(Portion), most=MANY)
    gives = Many(Object(Given), most=MANY)
    fits = Flag()
    slack = Duration(allow_none=True)
    all_loads = Many(Object(Load), most=MANY, data_key="loads")


class MakeTask(PrepTask):
    """A stage of a run to cook, in batches, step by step."""

    kind = Choice(("make",), required=True)
    batches = Many(Object(TaskBatch), most=MANY)
    steps = Many(Object(TaskStep), most=MANY)


KINDS = {"prep": PrepTask, "make": MakeTask, "use": UseTask}
TASK = Kinds("Task", "One thing to do: a form to make ready, a stage of a run to cook, or a lot to use.", "kind", KINDS)


class StationTasks(Document):
    """The tasks of one station, its hands-on time, and its cooks where the site states shifts."""

    code = Code(required=True)
    name = Text(required=True)
    active = Duration(required=True)
    cooks = Many(Object(CookShift), most=MANY)
    tasks = Many(TASK, most=MANY, required=True)


class Pull(Document):
    """Taking an ingredient from store, early where it must thaw."""

    id = Text(required=True)
    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)
    need_by = Moment(required=True)
    start_by = Moment(required=True)
    thaw = Duration(allow_none=True)
    storage = Choice(STORAGE, allow_none=True)
    stations = Many(Code(), most=MANY)
    pieces = WholeNumber(NUMBERED, allow_none=True)
    late = Flag()
    overdue = Flag()
    last_start = Moment()
    at_risk = Many(Object(AtRisk), most=MANY)
    needed_for = Many(Text(1_000), most=MANY, data_key="for")
    shares = Many(Object(Share), most=MANY)
    progress = Object(Progress, allow_none=True, required=True)


class LeftOver(Document):
    """What is left of a lot."""

    item = Object(ItemWithTitle, required=True)
    quantity = Object(ComputedQuantity, required=True)
    use_by = Moment(allow_none=True)
    use_by_date = CivilDate(allow_none=True)


class Discarded(LeftOver):
    """What a count found that may be used no more, and why: when it was made and counted, and until when it was to be used."""

    why = Text(NOTE_LENGTH, required=True)


class Expected(Document):
    """How many of a menu item are expected in a period, buffers included, and whether the site had a word in that."""

    period = Code(required=True)
    event = Code(allow_none=True, required=True)
    at = Moment(required=True)
    menu_item = Code(required=True)
    name = Text(required=True)
    count = Number(COUNT, required=True)
    counted_from = Choice(EXPECTED_FROM, data_key="from", required=True)
    sources = Many(Code(), most=1_000, required=True)


class WorkDay(Document):
    """What stands on the list of one business date for some guests."""

    date = CivilDate(required=True)
    stations = Many(Object(StationTasks), most=MANY, required=True)
    pulls = Many(Object(Pull), most=MANY, required=True)


class ListWarning(Warned):
    """A warning of a list; where it is about one task, item or period, that one, and where it is about several things, how many."""

    task = Text()
    item = Object(ItemWithTitle)
    period = Code()
    count = WholeNumber(COUNT)


class PrepList(Document):
    """What the stations of one site must do on one date."""

    site = Code(required=True)
    date = CivilDate(required=True)
    first = CivilDate(data_key="from", required=True)
    units = Choice(UNIT_SYSTEMS, required=True)
    print_number = WholeNumber(NUMBERED, data_key="print", allow_none=True, required=True)
    capacity = Object(ListCapacity)
    expected = Many(Object(Expected), most=MANY)
    stations = Many(Object(StationTasks), most=MANY, required=True)
    pulls = Many(Object(Pull), most=MANY, required=True)
    left_over = Many(Object(LeftOver), most=MANY, required=True)
    discard = Many(Object(Discarded), most=MANY)
    warnings = Many(Object(ListWarning), most=MANY, required=True)
    cautions = Many(Text(NOTE_LENGTH), most=MANY, required=True)


class WorkFor(Document):
    """What the guests of a date, or of one event, hang on, by business date; dates without such work are left out."""

    site = Code(required=True)
    date = CivilDate(required=True)
    event = Code(required=True, allow_none=True)
    first = CivilDate(data_key="from", required=True)
    units = Choice(UNIT_SYSTEMS, required=True)
    days = Many(Object(WorkDay), most=MANY, required=True)
    warnings = Many(Object(ListWarning), most=MANY, required=True)
    cautions = Many(Text(NOTE_LENGTH), most=MANY, required=True)

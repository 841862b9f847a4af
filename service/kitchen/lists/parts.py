"""Parts: what the documents of lists and schedules are made of, key by key.

Responsible for the names and types of what several documents share, and of what is told of loads, cooks and machines. Refuses to know
the documents themselves.
"""

from decimal import Decimal
from typing import NotRequired, TypedDict

from service.kitchen.book.item import ItemWithTitle

# "from" is a word of the language, so that this key can be told in no class.
PlannedFrom = TypedDict("PlannedFrom", {"from": str})


class ComputedQuantity(TypedDict):
    """A computed quantity: exact in g, mL or each, and as the cook reads it."""

    amount: float | Decimal
    unit: str
    display: str


class Portion(TypedDict):
    """An item and how much of it."""

    item: ItemWithTitle
    quantity: ComputedQuantity


class WarningRow(TypedDict):
    """What the reader must know: a code and a sentence; and what it is about, where that is one thing, or how many."""

    code: str
    detail: str
    task: NotRequired[str]
    item: NotRequired[ItemWithTitle]
    period: NotRequired[str]
    count: NotRequired[int]


class OutletRow(TypedDict):
    """Where food goes in the end."""

    menu_item: str
    date: str
    period: str
    event: str | None


class AtRisk(OutletRow):
    """How many portions of an outlet hang on something that is late."""

    portions: int


class ShareRow(TypedDict):
    """The part of a quantity that one outlet caused; what is for nobody has None for the outlet."""

    menu_item: str | None
    date: str | None
    period: str | None
    event: str | None
    quantity: ComputedQuantity


class CookRow(TypedDict):
    """One of the cooks of a shift."""

    shift: str
    number: int


class MachineRow(TypedDict):
    """One of the machines of an equipment; of shared ones none by number."""

    equipment: str
    number: int | None


class LoadStepRow(TypedDict):
    """When a step of a load starts, rests and ends, and who and what has it then; None where nothing limits that."""

    number: int
    starts: str
    rests: str
    ends: str
    cook: CookRow | None
    equipment: MachineRow | None


class LoadMoments(TypedDict):
    """A load from its first step to its last: when it starts, is ready and is due, and how it lies to others (K8, K14, K15)."""

    starts: str
    ready: str
    due: str | None
    held: str
    slack: str | None
    fits: bool


class LoadRow(LoadMoments):
    """A load of a run, with the steps of the task that shows it (K4)."""

    number: int
    of: int
    quantity: ComputedQuantity
    steps: list[LoadStepRow]


class Scheduling(TypedDict, total=False):
    """What a task tells of its schedule, where its site states a capacity (K1)."""

    fits: bool
    slack: str | None
    loads: list[LoadRow]


class CookShift(CookRow, PlannedFrom):
    """A cook in a shift, and how long the hands are busy; ``from`` and ``until`` are moments."""

    until: str
    active: str


class CookWork(TypedDict):
    """A hands-on piece of a cook."""

    task: str
    load: int
    step: int
    title: str
    starts: str
    ends: str


class CookDay(CookShift):
    """A cook's shift with all that he does in it."""

    stations: list[str]
    work: list[CookWork]


class StayMoments(TypedDict):
    """From when to when something is in a machine, and when the next load may go in."""

    starts: str
    ends: str
    free_again: str


class MachineStay(StayMoments):
    """What is in a machine; ``share`` of one machine where they are shared."""

    task: str | None
    load: int | None
    title: str
    quantity: ComputedQuantity | None
    share: float | None


class MachineDay(TypedDict):
    """A machine with what is in it on a date; of shared ones all together, without a number."""

    equipment: str
    name: str
    number: int | None
    shared: bool
    count: int
    work: list[MachineStay]


class CapacityRow(TypedDict):
    """Whether a date's loads fit, the smallest slack of those that do, how many do not; cooks, machines, and where the schedule is."""

    fits: bool
    reserve: str | None
    left_out: int
    schedule: NotRequired[str]
    cooks: list[CookDay]
    equipment: list[MachineDay]

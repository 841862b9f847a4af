"""Documents: the lists that the service answers, key by key.

Responsible for the names and types of their parts, so that whoever writes or reads one by its keys is checked. Refuses to know how
they are filled: the schemas of the interface are the published truth of their shape, and a test holds these types to them.

A print is read back as it was stored: its numbers with a point are Decimals then, and it lacks what its release did not tell.
"""

from decimal import Decimal
from typing import Literal, NotRequired, TypedDict, final

from service.kitchen.book.item import ItemWithTitle
from service.kitchen.lists.parts import (
    AtRisk,
    CapacityRow,
    ComputedQuantity,
    CookShift,
    PlannedFrom,
    Portion,
    Scheduling,
    ShareRow,
    WarningRow,
)
from service.kitchen.measures.temperature import ShownTemperature
from service.kitchen.safety.allergens import AllergenNames
from service.kitchen.safety.safety import StepSafety


class BatchLine(Portion):
    """One line of one batch."""

    step: int | None
    critical: bool
    note: str


class BatchCard(TypedDict):
    """Batches of one size, with the lines of one of them."""

    count: int
    quantity: ComputedQuantity
    factor: float | Decimal
    lines: list[BatchLine]


class WindowMoments(TypedDict):
    """When a passive stretch may end at the earliest, should end, and must end."""

    min: str
    target: str
    max: str


class StepRow(TypedDict):
    """One step of a stage, with the moment it starts."""

    number: int
    text: str
    why: str | None
    starts: str
    active: str
    passive: str
    window: WindowMoments | None
    safety: StepSafety | None
    set_to: NotRequired[ShownTemperature | None]


class Balance(TypedDict):
    """Need = have + quantity − surplus (P9)."""

    need: ComputedQuantity
    have: ComputedQuantity
    quantity: ComputedQuantity
    surplus: ComputedQuantity


class Shared(TypedDict, total=False):
    """For whom a quantity is, where that is asked for (P11)."""

    shares: list[ShareRow]


class Trace(Shared, total=False):
    """Which runs take from a quantity besides, where that is asked for (P11)."""

    feeds: list[Portion]


class GivenRow(Portion, Trace):
    """What a run gives of one form of its cut, with its balance, or of one by-product."""

    need: NotRequired[ComputedQuantity]
    have: NotRequired[ComputedQuantity]
    surplus: NotRequired[ComputedQuantity]


class StageNumber(TypedDict):
    """Which of the stages of its run a task is."""

    number: int
    of: int


class ProgressRow(TypedDict):
    """What was reported of a task or pull; release 0.1.0 did not tell what was begun."""

    state: str
    made: ComputedQuantity | None
    begun: NotRequired[ComputedQuantity | None]
    drawn: ComputedQuantity | None
    at: str
    note: str


class Standing(TypedDict):
    """Whether something should have begun, by the plan's first date or by now, until when it still can, and what is at risk (P7).

    Release 0.1.0 told neither what is overdue nor the last start.
    """

    late: bool
    overdue: NotRequired[bool]
    last_start: NotRequired[str]
    at_risk: list[AtRisk]


# "for" and "from" are words of the language, so that these keys can be told in no class.
Purposes = TypedDict("Purposes", {"for": list[str]})
CountedFrom = TypedDict("CountedFrom", {"from": Literal["forecast", "override"]})


class ExpectedRow(CountedFrom):
    """How many of a menu item a list is for, buffers included, and whose word that is."""

    period: str
    event: str | None
    at: str
    menu_item: str
    name: str
    count: float | Decimal
    sources: list[str]


class Kept(TypedDict):
    """Until when something may be used; ``use_by_date`` of what keeps whole days, which is to the end of that business date (T6)."""

    use_by: str | None
    use_by_date: NotRequired[str | None]


class Work(Balance, Standing, Kept, Purposes):
    """What a prep and a make task tell of what is to be done, up to how it is done."""

    item: ItemWithTitle
    version: int | None
    stage: StageNumber
    draw: list[Portion]
    gives: list[GivenRow]
    start_by: str
    ready_by: str
    active: str


class Said(Trace):
    """What every task tells at its end."""

    allergens: AllergenNames
    progress: ProgressRow | None


@final
class PrepTask(Work, Scheduling, Said):
    """A form to make ready."""

    id: str
    kind: Literal["prep"]


@final
class MakeTask(Work, Scheduling, Said):
    """A stage of a run to cook."""

    id: str
    kind: Literal["make"]
    batches: list[BatchCard]
    steps: list[StepRow]


@final
class UseTask(Portion, Standing, Kept, Purposes, Said):
    """What lots of one use-by give."""

    id: str
    kind: Literal["use"]
    version: int | None
    start_by: str
    ready_by: str
    active: str


TaskEntry = PrepTask | MakeTask | UseTask


@final
class PullEntry(Portion, Standing, Purposes, Shared):
    """What must leave store, early where it must thaw."""

    id: str
    need_by: str
    start_by: str
    thaw: str | None
    storage: str | None
    stations: NotRequired[list[str]]
    pieces: NotRequired[int | None]
    progress: ProgressRow | None


@final
class LeftOver(Portion, Kept):
    """What is left of a lot at the end of the date."""


@final
class Discarded(Portion, Kept):
    """What a count found that may be used no more, and why."""

    why: str


ListEntry = PrepTask | MakeTask | UseTask | PullEntry | LeftOver


class StationTasks(TypedDict):
    """The tasks of one station, its hands-on time, and its cooks where shifts name it."""

    code: str
    name: str
    active: str
    cooks: NotRequired[list[CookShift]]
    tasks: list[TaskEntry]


class PrepList(PlannedFrom):
    """What the stations of a site must do on a date; ``print`` is its number where it was printed."""

    site: str
    date: str
    units: str
    print: int | None
    capacity: NotRequired[CapacityRow]
    expected: NotRequired[list[ExpectedRow]]
    stations: list[StationTasks]
    pulls: list[PullEntry]
    left_over: list[LeftOver]
    discard: NotRequired[list[Discarded]]
    warnings: list[WarningRow]
    cautions: list[str]

"""Schedule documents: the schedule of a date, key by key.

Responsible for the names and types of its parts. Refuses to know how they are filled: the schemas of the interface are the published
truth of their shape, and a test holds these types to them.
"""

from typing import NotRequired, TypedDict

from service.kitchen.lists.parts import AtRisk, CookDay, LoadMoments, MachineDay, PlannedFrom, WarningRow


class LoadName(TypedDict):
    """A load by the task that it begins with, and its number."""

    task: str
    number: int


class BecauseRow(TypedDict):
    """What keeps a load from being a minute later (K16)."""

    code: str
    equipment: str | None
    station: str | None
    loads: list[LoadName]
    detail: str


class ScheduleLoad(LoadName, LoadMoments):
    """A load that begins on the date."""

    of: int
    title: str
    station: str
    because: BecauseRow | None


class EarlyLoad(LoadName):
    """A load for the date that begins on an earlier one."""

    starts: str


class LackRow(TypedDict):
    """One thing without whose limit a load would find a place."""

    equipment: NotRequired[str]
    station: NotRequired[str]
    hours: NotRequired[str]


# "from" is a word of the language, so that this key can be told in no class.
ConflictFrom = TypedDict("ConflictFrom", {"from": str | None})


class ConflictRow(ConflictFrom):
    """A load that finds no place (K12)."""

    task: str
    load: int
    lacks: list[LackRow]
    until: str | None
    short: str | None
    taken_by: list[LoadName]
    at_risk: list[AtRisk]
    detail: str


class HelpRow(TypedDict):
    """A single change that was tried, and how many loads it leaves out (K13)."""

    code: str
    shift: NotRequired[str]
    equipment: NotRequired[str]
    by: NotRequired[str]
    left_out: int
    detail: str


class Schedule(PlannedFrom):
    """The schedule of a date; ``at`` is the moment before which nothing unreported begins, where one was given."""

    site: str
    date: str
    at: str | None
    units: str
    print: int | None
    fits: bool
    reserve: str | None
    cooks: list[CookDay]
    equipment: list[MachineDay]
    loads: list[ScheduleLoad]
    evening_before: list[EarlyLoad]
    conflicts: list[ConflictRow]
    helps: NotRequired[list[HelpRow]]
    warnings: list[WarningRow]
    cautions: list[str]

"""Safety: what a step must keep to, where it states less than the food code, and how a cook reads it.

Responsible for domain H1 on one step: defaults, what is stricter and what is laxer, and the document of
the effective safety. Refuses to know the figures, which stand with the food code, and publishing.
"""

from collections.abc import Iterator
from datetime import timedelta
from typing import NamedTuple, NotRequired, TypedDict

from service.kitchen.book.json import Document
from service.kitchen.measures.calendar import parse_duration, spoken, write_duration
from service.kitchen.measures.temperature import Degrees, ShownTemperature
from service.kitchen.measures.units import System
from service.kitchen.safety.foodcode import EDITION, Bound, Standard, meets, standard, stated_degrees

# "from" and "class" are words of the language, so that these keys can be told in no class.
TemperatureStretch = TypedDict("TemperatureStretch", {"from": ShownTemperature, "to": ShownTemperature, "within": str})
_Food = TypedDict("_Food", {"class": str | None})


class ShownLimit(TypedDict):
    """A temperature and a time in the scale of a list."""

    temperature: ShownTemperature | None
    time: str | None


class StepSafety(_Food, ShownLimit):
    """What a step keeps to, as a list tells it, and beside it what the code ``asks``."""

    kind: str
    asks: NotRequired[ShownLimit]
    stages: list[TemperatureStretch] | None
    section: str
    edition: str
    note: str | None
    reason: str | None
    laxer: bool
    display: str


class Limit(NamedTuple):
    """A temperature and a time to keep to, each where there is one."""

    temperature: Degrees | None
    time: timedelta | None

    def completed(self, other: "Limit") -> "Limit":
        """The limit, with what it leaves open as in another."""
        return Limit(self.temperature or other.temperature, other.time if self.time is None else self.time)

    def shown(self, system: System) -> ShownLimit:
        """The limit in the scale of a list."""
        temperature = None if self.temperature is None else self.temperature.shown(system)
        return {"temperature": temperature, "time": None if self.time is None else write_duration(self.time)}


class Laxer(NamedTuple):
    """A field of a step's safety (``temperature`` or ``time``) that asks for less than the code, and what to write instead."""

    field: str
    detail: str


def laxer(safety: Document) -> Iterator[Laxer]:
    """Where a step states less than the code asks for, whatever its reason (H1).

    >>> fish = {"kind": "cook", "class": "fish", "temperature": {"amount": 55, "unit": "degC"}, "time": None, "reason": None}
    >>> [each.field for each in laxer(fish)]
    ['temperature']
    """
    asked = standard(safety)
    stated, time = safety["temperature"], safety["time"]
    if stated is not None and asked.laxest is not None and not meets(stated, asked.laxest, asked.bound):
        limit = asked.laxest.shown("metric" if stated["unit"] == "degC" else "us")["display"]
        yield Laxer("temperature", f"{_source(asked)} asks for {_sense(asked.bound)} {limit}; write that, or record a reason")
    if time is not None and asked.time is not None and _beyond(parse_duration(time), asked.time, asked.time_bound):
        limit = write_duration(asked.time)
        at = "" if stated is None or asked.bound == "most" else " at that temperature"
        yield Laxer("time", f"{_source(asked)} asks for {_sense(asked.time_bound)} {limit}{at}; write that, or record a reason")


def effective(safety: Document, system: System) -> StepSafety:
    """What a step keeps to: what it states, else what the code asks for, told apart, with the section and a line to read (H1)."""
    asked = standard(safety)
    code = Limit(asked.temperature, asked.time)
    said = Limit(
        stated_degrees(safety["temperature"], asked) if safety["temperature"] else None,
        parse_duration(safety["time"]) if safety["time"] else None,
    )
    kept = said.completed(code)
    return {
        "kind": safety["kind"],
        "class": safety["class"],
        **kept.shown(system),
        "stages": _stages(asked, kept.temperature, kept.time, system),
        "asks": code.shown(system),
        "section": asked.section,
        "edition": EDITION,
        "note": asked.note,
        "reason": safety["reason"],
        "laxer": any(laxer(safety)),
        "display": _told(safety["kind"], asked, code, said, system),
    }


def cited(edition: str, section: str) -> str:
    """A section of the code in short, as a cook may look it up.

    >>> cited("FDA Food Code 2022", "3-401.11(A)(3)")
    'Food Code 2022 3-401.11'
    """
    return f"{edition.removeprefix('FDA ')} {section.partition('(')[0]}"


def _told(kind: str, asked: Standard, code: Limit, said: Limit, system: System) -> str:
    """What the recipe says where it says something else, and what the code asks: "82 °C; the code asks at least 74 °C, …"."""
    asks = f"{_in_words(kind, asked, code, system, _sense(asked.bound))}, {cited(EDITION, asked.section)}"
    kept = said.completed(code)
    if kept.shown(system) == code.shown(system):
        return asks
    return f"{_in_words(kind, asked, kept if kind == 'cool' else said, system)}; the code asks {asks}"


def _beyond(stated: timedelta, limit: timedelta, bound: Bound) -> bool:
    return stated < limit if bound == "least" else stated > limit


def _sense(bound: Bound) -> str:
    return "at least" if bound == "least" else "at most"


def _source(asked: Standard) -> str:
    return f"{EDITION}, {asked.section},"


def _stages(asked: Standard, last: Degrees | None, time: timedelta | None, system: System) -> list[TemperatureStretch] | None:
    """The stretches of cooling or reheating; a step that is stricter in all is so in each."""
    if not asked.stages or last is None:
        return None
    rows: list[TemperatureStretch] = []
    for stage in asked.stages:
        end = stage.end or last
        within = stage.within
        if asked.time_bound == "most" and time is not None:
            within = time if stage.end is None else min(time, within)
        rows.append({"from": stage.start.shown(system), "to": end.shown(system), "within": write_duration(within)})
    return rows


def _in_words(kind: str, asked: Standard, limit: Limit, system: System, sense: str = "") -> str:
    """A limit as the cook reads it: "at least 74 °C for 15 s"; without ``sense`` what the recipe says, "82 °C for 30 s"."""
    if kind == "cool":
        stages = _stages(asked, limit.temperature, limit.time, system) or []
        return ", ".join(f"{each['from']['display']} to {each['to']['display']} within {spoken(each['within'])}" for each in stages)
    degrees = "" if limit.temperature is None else f"{sense} {limit.temperature.shown(system)['display']}".strip()
    if limit.time is None:
        return degrees
    lasts = spoken(write_duration(limit.time))
    if asked.time_bound == "most":
        within = f"use or discard within {lasts}" if kind == "time_control" else f"within {lasts}"
        return f"{degrees}, {within}" if degrees else within
    held = f"{degrees} for {lasts}".strip() if limit.time else degrees
    return held + "".join(f", reached within {spoken(write_duration(stage.within))}" for stage in asked.stages if sense)

"""Safety: what a step must keep to, where it states less than the food code, and how a cook reads it.

Responsible for domain H1 on one step: defaults, what is stricter and what is laxer, and the document of
the effective safety. Refuses to know the figures, which stand with the food code, and publishing.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple, TypedDict

from service.kitchen.book.ingredient import exact
from service.kitchen.book.json import Document
from service.kitchen.measures.calendar import parse_duration, spoken, write_duration
from service.kitchen.measures.units import System, write_amount
from service.kitchen.safety.foodcode import EDITION, Bound, Degrees, Standard, standard


class ShownTemperature(TypedDict):
    """A temperature with its text in the scale of a list."""

    amount: float | Decimal
    unit: str
    display: str


# "from" and "class" are words of the language, so that these keys can be told in no class.
TemperatureStretch = TypedDict("TemperatureStretch", {"from": ShownTemperature, "to": ShownTemperature, "within": str})
_Food = TypedDict("_Food", {"class": str | None})


class StepSafety(_Food):
    """What a step keeps to, as a list tells it."""

    kind: str
    temperature: ShownTemperature | None
    time: str | None
    stages: list[TemperatureStretch] | None
    section: str
    edition: str
    note: str | None
    reason: str | None
    laxer: bool
    display: str


class Laxer(NamedTuple):
    """A field of a step's safety (``temperature`` or ``time``) that asks for less than the code, and what to write instead."""

    field: str
    detail: str


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature that a step keeps to: as authored, or as the code prints it."""

    degrees: Degrees
    unit: str | None = None

    @classmethod
    def read(cls, document: Document) -> "Temperature":
        """An authored temperature; the other scale by exact conversion."""
        amount, unit = exact(document["amount"]), document["unit"]
        if unit == "degC":
            return cls(Degrees(amount, amount * 9 / 5 + 32), unit)
        return cls(Degrees((amount - 32) * 5 / 9, amount), unit)

    def document(self, bound: Bound, system: System) -> ShownTemperature:
        """The temperature with its text in the list's scale; what was authored keeps its unit."""
        unit = self.unit or ("degC" if system == "metric" else "degF")
        return {"amount": float(self.degrees.among(unit)), "unit": unit, "display": self.text(bound, system)}

    def text(self, bound: Bound, system: System) -> str:
        """The temperature in the list's scale; crossing scales rounds to whole degrees on the safe side.

        >>> Temperature.read({"amount": 82, "unit": "degC"}).text("least", "us")
        '180 °F'
        """
        unit = "degC" if system == "metric" else "degF"
        amount = self.degrees.among(unit)
        if self.unit not in (None, unit):
            amount = Fraction(math.ceil(amount) if bound == "least" else math.floor(amount))
        sign = "-" if amount < 0 else ""
        return f"{sign}{write_amount(abs(amount))} °{unit[-1]}"


def laxer(safety: Document) -> Iterator[Laxer]:
    """Where a step states less than the code asks for, whatever its reason (H1).

    >>> fish = {"kind": "cook", "class": "fish", "temperature": {"amount": 55, "unit": "degC"}, "time": None, "reason": None}
    >>> [each.field for each in laxer(fish)]
    ['temperature']
    """
    asked = standard(safety)
    stated, time = safety["temperature"], safety["time"]
    if (
        stated is not None
        and asked.laxest is not None
        and _beyond(exact(stated["amount"]), asked.laxest.among(stated["unit"]), asked.bound)
    ):
        limit = Temperature(asked.laxest).document(asked.bound, "metric" if stated["unit"] == "degC" else "us")["display"]
        yield Laxer("temperature", f"{_source(asked)} asks for {_sense(asked.bound)} {limit}; write that, or record a reason")
    if time is not None and asked.time is not None and _beyond(parse_duration(time), asked.time, asked.time_bound):
        limit = write_duration(asked.time)
        at = "" if stated is None or asked.bound == "most" else " at that temperature"
        yield Laxer("time", f"{_source(asked)} asks for {_sense(asked.time_bound)} {limit}{at}; write that, or record a reason")


def effective(safety: Document, system: System) -> StepSafety:
    """What a step keeps to: what it states, else what the code asks for, with the section and a line to read (H1)."""
    asked = standard(safety)
    temperature = Temperature.read(safety["temperature"]) if safety["temperature"] else _as_asked(asked)
    time = parse_duration(safety["time"]) if safety["time"] else asked.time
    return {
        "kind": safety["kind"],
        "class": safety["class"],
        "temperature": temperature.document(asked.bound, system) if temperature else None,
        "time": None if time is None else write_duration(time),
        "stages": _stages(asked, temperature, time, system),
        "section": asked.section,
        "edition": EDITION,
        "note": asked.note,
        "reason": safety["reason"],
        "laxer": any(laxer(safety)),
        "display": _in_words(safety["kind"], asked, temperature, time, system),
    }


def _beyond(stated: Any, limit: Any, bound: Bound) -> bool:
    return bool(stated < limit if bound == "least" else stated > limit)


def _sense(bound: Bound) -> str:
    return "at least" if bound == "least" else "at most"


def _source(asked: Standard) -> str:
    return f"{EDITION}, {asked.section},"


def _as_asked(asked: Standard) -> Temperature | None:
    return None if asked.temperature is None else Temperature(asked.temperature)


def _stages(asked: Standard, last: Temperature | None, time: timedelta | None, system: System) -> list[TemperatureStretch] | None:
    """The stretches of cooling or reheating; a step that is stricter in all is so in each."""
    if not asked.stages or last is None:
        return None
    rows: list[TemperatureStretch] = []
    for stage in asked.stages:
        end = last if stage.end is None else Temperature(stage.end)
        within = stage.within
        if asked.time_bound == "most" and time is not None:
            within = time if stage.end is None else min(time, within)
        rows.append(
            {
                "from": Temperature(stage.start).document(asked.bound, system),
                "to": end.document(asked.bound, system),
                "within": write_duration(within),
            }
        )
    return rows


def _in_words(kind: str, asked: Standard, temperature: Temperature | None, time: timedelta | None, system: System) -> str:
    """What the cook reads: "at least 74 °C for 15 s"."""
    degrees = "" if temperature is None else f"{_sense(asked.bound)} {temperature.text(asked.bound, system)}"
    if kind == "cool":
        stages = _stages(asked, temperature, time, system) or []
        return "; ".join(f"{each['from']['display']} to {each['to']['display']} within {spoken(each['within'])}" for each in stages)
    if time is None:
        return degrees
    if kind == "time_control":
        limit = f"use or discard within {spoken(write_duration(time))}"
        return f"{degrees}, {limit}" if degrees else limit
    if asked.time_bound == "most":
        return f"{degrees}, within {spoken(write_duration(time))}"
    held = f"{degrees} for {spoken(write_duration(time))}" if time else degrees
    return held + "".join(f", reached within {spoken(write_duration(stage.within))}" for stage in asked.stages)

"""The food code: what the published model code asks of a step, by kind of step and class of food.

Responsible for the figures of domain H1, each with its section. They are those of the FDA Food Code as
state adoptions print it; beside each figure that was not read there stands that it is from memory.
Refuses to know recipes, and to decide what a stricter or laxer step means. Local law goes before all of it.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Literal, NamedTuple

from service.kitchen.book.ingredient import exact
from service.kitchen.book.json import Document
from service.kitchen.measures.temperature import Degrees, crossed, degrees

# The edition of 2022 itself was not at hand: its figures were read in state adoptions of earlier ones; notes say where these differ.
EDITION = "FDA Food Code 2022"

Bound = Literal["least", "most"]


def printed(fahrenheit: int, celsius: int) -> Degrees:
    """A temperature that the text of the code prints in whole degrees of both scales: an author of either is held to what is printed."""
    return Degrees(Fraction(celsius), Fraction(fahrenheit))


def tabled(fahrenheit: int) -> Degrees:
    """A temperature of the table of roasts, which prints degrees Celsius to a tenth.

    >>> tabled(131).celsius
    Fraction(55, 1)
    """
    return Degrees(Fraction(round(Fraction(fahrenheit - 32) * 50 / 9), 10), Fraction(fahrenheit))


class Hold(NamedTuple):
    """A temperature and the least time at it."""

    temperature: Degrees
    time: timedelta


class Cooling(NamedTuple):
    """One stretch of cooling or reheating: from where, to where (None: the step's own temperature), within what time in all."""

    start: Degrees
    end: Degrees | None
    within: timedelta


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """What the code asks of one step.

    ``temperature`` and ``time`` are what a step takes that states none; ``laxest`` is the last temperature that the code
    still allows. ``bound`` and ``time_bound`` tell whether a stated one is at ``least`` or at ``most`` that.
    """

    section: str
    bound: Bound
    temperature: Degrees | None
    laxest: Degrees | None
    time: timedelta | None
    time_bound: Bound = "most"
    stages: tuple[Cooling, ...] = ()
    note: str | None = None


SECOND, MINUTE, HOUR = timedelta(seconds=1), timedelta(minutes=1), timedelta(hours=1)
AT_ONCE = timedelta(0)

COLD = printed(41, 5)
COOL = printed(70, 21)
HOT = printed(135, 57)
HOT_ROAST = printed(130, 54)
MEAT = printed(145, 63)
GROUND = printed(155, 68)
POULTRY = printed(165, 74)

# 3-401.11 (A)(2). 17 s stands in the editions of 2017 and 2022 from memory; the adoptions that were read print 15 s.
# Under one second ("< 1 s") is written as no time at all.
GROUND_TABLE = (
    Hold(MEAT, 3 * MINUTE),
    Hold(printed(150, 66), MINUTE),
    Hold(GROUND, 17 * SECOND),
    Hold(printed(158, 70), AT_ONCE),
)
# 3-401.11 (B)(2), as state adoptions print it.
ROAST_TABLE = (
    Hold(tabled(130), 112 * MINUTE),
    Hold(tabled(131), 89 * MINUTE),
    Hold(tabled(133), 56 * MINUTE),
    Hold(tabled(135), 36 * MINUTE),
    Hold(tabled(136), 28 * MINUTE),
    Hold(tabled(138), 18 * MINUTE),
    Hold(tabled(140), 12 * MINUTE),
    Hold(tabled(142), 8 * MINUTE),
    Hold(tabled(144), 5 * MINUTE),
    Hold(tabled(145), 4 * MINUTE),
    Hold(tabled(147), 134 * SECOND),
    Hold(tabled(149), 85 * SECOND),
    Hold(tabled(151), 54 * SECOND),
    Hold(tabled(155), 22 * SECOND),
    Hold(tabled(157), 14 * SECOND),
    Hold(tabled(158), AT_ONCE),
)

# What the code prints in both scales.
PRINTED = (COLD, COOL, HOT_ROAST, HOT, MEAT, GROUND, POULTRY, *(row.temperature for row in GROUND_TABLE + ROAST_TABLE))

# That the edition of 2022 keeps under one second for poultry is from memory; the adoptions of editions up to 2013 print 15 s.
POULTRY_NOTE = "Under 1 s is the figure of the editions from 2017 on; earlier ones ask for 15 s."
GROUND_NOTE = "17 s is the figure of the editions from 2017 on; earlier ones ask for 15 s."
EGG_NOTE = f"Eggs that are not broken to order for immediate service. {GROUND_NOTE}"
UNCLASSED_NOTE = f"No class of food is stated, so the strictest holds. {POULTRY_NOTE}"


def standard(safety: Document) -> Standard:
    """What the code asks of a step with that safety: its kind, class and stated temperature choose the section and the row (H1)."""
    kind, food, stated = safety["kind"], safety["class"], safety["temperature"]
    if kind == "cook":
        return _cooking(food, stated)
    if kind == "hold_hot" and food == "roast":
        return Standard(section="3-501.16(A)(1)", bound="least", temperature=HOT_ROAST, laxest=HOT_ROAST, time=None)
    if kind == "time_control":
        return _time_control(stated)
    if kind == "thaw":
        return _thawing(stated)
    return _PLAIN[kind]


_PLAIN: Mapping[str, Standard] = {
    "reheat": Standard(
        section="3-403.11(A)",
        bound="least",
        temperature=POULTRY,
        laxest=POULTRY,
        time=15 * SECOND,
        time_bound="least",
        stages=(Cooling(COLD, None, 2 * HOUR),),
        note="For hot holding; ready-to-eat food of a commercial plant is reheated to 57 °C (135 °F) or more by 3-403.11(C).",
    ),
    "hold_hot": Standard(section="3-501.16(A)(1)", bound="least", temperature=HOT, laxest=HOT, time=None),
    "hold_cold": Standard(section="3-501.16(A)(2)", bound="most", temperature=COLD, laxest=COLD, time=None),
    "cool": Standard(
        section="3-501.14(A)",
        bound="most",
        temperature=COLD,
        laxest=COLD,
        time=6 * HOUR,
        time_bound="most",
        stages=(Cooling(HOT, COOL, 2 * HOUR), Cooling(HOT, None, 6 * HOUR)),
        note="What is made of ingredients at room temperature is cold within 4 h by 3-501.14(B).",
    ),
}


def _cooking(food: str | None, stated: Document | None) -> Standard:
    if food == "plant":
        return Standard(
            section="3-401.13",
            bound="least",
            temperature=HOT,
            laxest=HOT,
            time=None,
            time_bound="least",
            note="Plant food that is cooked for hot holding.",
        )
    if food == "roast":
        # The table has no row that goes before the others; the default is that of the temperature asked of whole cuts.
        return _tabled("3-401.11(B)(2)", ROAST_TABLE, next(row for row in ROAST_TABLE if row.temperature.fahrenheit == 145), stated, None)
    if food in ("ground", "egg"):
        # A list is work ahead of service, so its eggs are not those "broken to order" of (A)(1), and come under (A)(2).
        row = next(row for row in GROUND_TABLE if row.temperature == GROUND)
        return _tabled("3-401.11(A)(2)", GROUND_TABLE, row, stated, EGG_NOTE if food == "egg" else GROUND_NOTE)
    if food in ("whole_cut", "fish"):
        return Standard(section="3-401.11(A)(1)", bound="least", temperature=MEAT, laxest=MEAT, time=15 * SECOND, time_bound="least")
    note = UNCLASSED_NOTE if food is None else POULTRY_NOTE
    return Standard(
        section="3-401.11(A)(3)", bound="least", temperature=POULTRY, laxest=POULTRY, time=AT_ONCE, time_bound="least", note=note
    )


def stated_degrees(stated: Document, asked: Standard) -> Degrees:
    """A stated temperature in both scales: where the code prints it so with the other, else rounded to whole degrees on the safe side.

    Degrees Celsius to a tenth are the code's, too: 62.8 °C are 145 °F, and 73.9 °C 165 °F. The figures that are asked of the step
    go before all others; from Fahrenheit no others count, since the code prints some of them down.
    """
    amount, unit = exact(stated["amount"]), stated["unit"]
    figures = [each for each in (asked.temperature, asked.laxest) if each is not None] + (list(PRINTED) if unit == "degC" else [])
    figures += [tabled(int(each.fahrenheit)) for each in figures]
    known = next((each for each in figures if each.among(unit) == amount), None)
    if known is not None:
        return known
    safe = math.ceil if asked.bound == "least" else math.floor
    return degrees(amount, unit, Fraction(safe(crossed(amount, unit))))


def meets(stated: Document, limit: Degrees, bound: Bound) -> bool:
    """Whether a stated temperature keeps to the figure that the code prints in its own scale."""
    amount, figure = exact(stated["amount"]), limit.among(stated["unit"])
    return amount >= figure if bound == "least" else amount <= figure


def _tabled(section: str, table: tuple[Hold, ...], usual: Hold, stated: Document | None, note: str | None) -> Standard:
    """The time that a table asks for at a stated temperature: that of the hottest row not above it."""
    row = usual
    if stated is not None:
        reached = [each for each in table if meets(stated, each.temperature, "least")]
        row = reached[-1] if reached else usual
    return Standard(
        section=section,
        bound="least",
        temperature=row.temperature,
        laxest=table[0].temperature,
        time=row.time,
        time_bound="least",
        note=note,
    )


def _time_control(stated: Document | None) -> Standard:
    """Four hours, or six where the food is stated never to rise above 70 °F."""
    if stated is not None and meets(stated, COOL, "most"):
        note = "Begun at 5 °C (41 °F) or colder; watched so that it never rises above 21 °C (70 °F)."
        return Standard(section="3-501.19(C)", bound="most", temperature=None, laxest=None, time=6 * HOUR, note=note)
    return Standard(
        section="3-501.19(B)",
        bound="most",
        temperature=None,
        laxest=None,
        time=4 * HOUR,
        note="Begun at 5 °C (41 °F) or colder, or at 57 °C (135 °F) or hotter.",
    )


def _thawing(stated: Document | None) -> Standard:
    """In the cold, or, where a warmer temperature is stated, under running water of at most 70 °F."""
    if stated is None or meets(stated, COLD, "most"):
        return Standard(section="3-501.13(A)", bound="most", temperature=COLD, laxest=COLD, time=None)
    note = "Under running water; raw food of animals is above 5 °C (41 °F) for at most 4 h, what is eaten as it is never."
    return Standard(section="3-501.13(B)", bound="most", temperature=COOL, laxest=COOL, time=4 * HOUR, note=note)

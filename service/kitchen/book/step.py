"""Steps: what is done for a recipe, one thing after the other, with the hands and the rest that it takes.

Responsible for the value of one step and for its times (domain T1, T2, K5). Refuses to know the recipe that it is a step of.
"""

from dataclasses import dataclass, replace
from datetime import timedelta

from service.errors import KitchenError
from service.kitchen.book.handson import HandsOn, read_hands_on, read_time
from service.kitchen.book.json import Document
from service.kitchen.measures.calendar import parse_duration, whole_minutes
from service.kitchen.measures.equivalents import Conversions
from service.kitchen.measures.temperature import Degrees, setting
from service.kitchen.measures.units import Quantity


@dataclass(frozen=True, slots=True)
class Passive:
    """A time without hands: planning uses ``target``; a window may state the least and the most (T1)."""

    target: timedelta
    least: timedelta | None = None
    most: timedelta | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: hands-on time, then time without hands, at a station; ``set_to`` is what oven, fryer or bath is set to.

    ``active`` is what T2 counts: as stated, or what the authored yield takes at a ``rate``. ``equipment`` is what it takes for all of
    its time, before the site's map (K7).
    """

    text: str
    why: str | None
    active: timedelta
    passive: Passive
    station: str
    safety: Document | None
    set_to: Degrees | None
    rate: HandsOn | None = None
    equipment: str | None = None

    @property
    def duration(self) -> timedelta:
        """Hands-on time and target time without hands together (T2)."""
        return self.active + self.passive.target

    @property
    def shortest(self) -> timedelta:
        """How long it takes at least: a rest that may be cut short lasts its ``min`` (P7)."""
        return self.active + (self.passive.target if self.passive.least is None else self.passive.least)

    def hands_on(self, amount: float, batches: float, conversions: Conversions) -> timedelta:
        """Hands-on time of a load, in whole minutes, up (K5): by its amount in the stock kind at a rate, else for its batches and parts.

        ``conversions`` are those of the recipe, of which the rate is known to convert once it is published.
        """
        return whole_minutes(self.active * batches if self.rate is None else self.rate.of(amount, conversions))


def read_passive(document: str | Document | None) -> Passive:
    """A passive duration: a plain one or a window."""
    if document is None or isinstance(document, str):
        return Passive(read_time(document))
    return Passive(parse_duration(document["target"]), parse_duration(document["min"]), parse_duration(document["max"]))


def read_step(document: Document, station: str) -> Step:
    """A step from its document; a step without a station is done at the recipe's. At a rate, ``timed`` tells what T2 counts."""
    active = document["active"]
    rate = None if active is None or isinstance(active, str) else read_hands_on(active)
    return Step(
        text=document["text"],
        why=document["why"],
        active=read_time(active) if rate is None else rate.set_up,
        passive=read_passive(document["passive"]),
        station=document["station"] or station,
        safety=document["safety"],
        set_to=None if document["set_to"] is None else setting(document["set_to"]),
        rate=rate,
        equipment=document["equipment"],
    )


def timed(step: Step, makes: Quantity, conversions: Conversions) -> Step:
    """A step with what T2 counts of it: at a rate what the authored yield takes, in whole minutes, up.

    Where ``per`` does not convert, that is its set-up alone; a version with such a step is never published.
    """
    if step.rate is None:
        return step
    try:
        active = step.rate.of(float(conversions.to_stock(makes)), conversions)
    except KitchenError:
        return step
    return replace(step, active=whole_minutes(active))

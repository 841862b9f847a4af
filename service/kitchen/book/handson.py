"""Hands-on time that grows with what is made: so long to set up, and so long for each so much.

Responsible for this one value, which forms and steps state alike (domain T1, K5). Refuses to know whose time it is.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from service.kitchen.book.json import Document
from service.kitchen.measures.calendar import ZERO, parse_duration
from service.kitchen.measures.equivalents import Conversions
from service.kitchen.measures.units import Quantity

# Longer than anybody works at anything, and short enough to be reckoned with.
LONGEST: Final = timedelta(days=3650)


@dataclass(frozen=True, slots=True)
class HandsOn:
    """How long hands are needed: ``set_up`` once and ``time`` for each ``per`` of what is made."""

    set_up: timedelta
    per: Quantity
    time: timedelta

    def of(self, amount: float, conversions: Conversions) -> timedelta:
        """set_up + time × amount ÷ per, ten years at most, for an amount in the stock kind; raises as ``Conversions.convert`` does."""
        times = amount / float(conversions.to_stock(self.per))
        return self.set_up + (self.time * times if self.time / LONGEST * times < 1 else LONGEST)


def read_hands_on(document: Document) -> HandsOn:
    """A hands-on time from its document."""
    return HandsOn(read_time(document["set_up"]), Quantity.read(document["per"]), read_time(document["time"]))


def read_time(text: str | None) -> timedelta:
    """A duration; None is no time at all."""
    return ZERO if text is None else parse_duration(text)

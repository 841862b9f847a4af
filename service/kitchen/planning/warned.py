"""Warned: something that the reader of a date's list must know.

Responsible for the value alone. Refuses to know who warns of what, and how it is written.
"""

from datetime import date
from typing import NamedTuple

from service.kitchen.book.item import Item


class Warned(NamedTuple):
    """A warning of a date: its code and a sentence; where it is about one of them, a task, an item, a period, or a ``number`` of things."""

    on: date
    code: str
    detail: str
    task: str | None = None
    item: Item | None = None
    period: str | None = None
    number: int | None = None

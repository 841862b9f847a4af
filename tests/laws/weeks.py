"""Weeks of a corner kitchen: what is said of it, by whom, on which day and at what hour.

Responsible for strategies of whole weeks, which a failing example can shrink act by act. Refuses to know what an act does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, time
from decimal import Decimal
from itertools import cycle
from typing import TypeVar

from hypothesis import strategies as st

from tests.laws.corner import Corner, open_corner
from tests.laws.dice import Dice

T = TypeVar("T")
# A Thursday: where clocks change, they go back on the fourth day.
FIRST = date(2026, 10, 29)
HOURS = (time(4), time(8), time(11, 40), time(12, 30), time(16), time(21, 15), time(3, 30))


@dataclass(frozen=True)
class When:
    """An hour of one of the week's days; hours before the day starts are of the night after it."""

    day: int
    hour: time

    @property
    def order(self) -> tuple[int, bool, time]:
        return (self.day, self.hour < time(4), self.hour)


@dataclass(frozen=True)
class Push:
    """So many guests for a dish in a period, some days from today."""

    when: When
    ahead: int
    dish: int
    period: int
    guests: int


@dataclass(frozen=True)
class Count:
    """So much of some items, counted so many hours ago; of what is purchased, perhaps in store."""

    when: When
    items: tuple[int, ...]
    amount: Decimal
    hours_ago: int = 0
    in_store: bool = False
    made_days_ago: int | None = None


@dataclass(frozen=True)
class Print:
    """A print of the list of a date some days from today."""

    when: When
    ahead: int


@dataclass(frozen=True)
class Report:
    """A word on one entry of the list of a date some days from today, or of its newest print; amounts by the planned one."""

    when: When
    ahead: int
    entry: int
    state: str = "done"
    made: Decimal | None = None
    begun: Decimal | None = None
    hours_ago: int | None = None
    of_print: bool = False


Act = Push | Count | Print | Report


@dataclass(frozen=True)
class Week:
    """A kitchen, how many days it is looked at, and what is said there, in order of time."""

    corner: Corner = field(repr=False)
    days: int
    acts: tuple[Act, ...]


@st.composite
def weeks(draw: st.DrawFn) -> Week:
    """Weeks in which anything is said at any time."""
    return any_week(Dice(draw))


@dataclass(frozen=True)
class Ending:
    """A week, and what a kitchen does on its last day: in which order it reports, what alone it leaves to the print, what else it says."""

    week: Week
    places: tuple[int, ...]
    left: int
    words: tuple[Report, ...]

    def in_some_order(self, shown: Sequence[T]) -> list[T]:
        """What a list shows, in the order in which it is reported."""
        left = list(shown)
        return [left.pop(place % len(left)) for place, _ in zip(cycle(self.places), shown, strict=False)]

    @property
    def at_last(self) -> When:
        """When the week's last act is."""
        return self.week.acts[-1].when

    @property
    def counts_at_last(self) -> bool:
        """Whether anything is counted on the last day."""
        return any(isinstance(act, Count) and act.when.day == self.at_last.day for act in self.week.acts)

    def fewer_and_as_many_again(self) -> list[Push]:
        """Half of the guests of the last day's newest push, and all of them again."""
        pushes = [act for act in self.week.acts if isinstance(act, Push) and act.when.day + act.ahead == self.at_last.day]
        return [replace(pushes[-1], when=self.at_last, ahead=0, guests=pushes[-1].guests // by) for by in (2, 1)] if pushes else []


@st.composite
def endings(draw: st.DrawFn) -> Ending:
    """Short weeks and how they end."""
    dice = Dice(draw)
    week = any_week(dice, days=dice.number(1, 4))
    places = tuple(dice.number(0, 11) for _ in range(6))
    words = tuple(a_report(dice, week.acts[-1].when) for _ in range(dice.number(1, 3)))
    return Ending(week, places, dice.pick(0, 2, 3), words)


def any_week(dice: Dice, *, days: int = 5, busy: int = 3) -> Week:
    """Up to so many acts a day, after some first guests are announced."""
    corner = open_corner(dice)
    acts: list[Act] = [Push(When(0, HOURS[0]), ahead, dish, 0, dice.pick(10, 24, 60)) for ahead in range(3) for dish in range(2)]
    for day in range(days):
        acts += [any_act(dice, When(day, dice.pick(*HOURS)), corner) for _ in range(dice.number(0, busy))]
    return Week(corner, days, tuple(sorted(acts, key=lambda act: act.when.order)))


def any_act(dice: Dice, when: When, corner: Corner) -> Act:
    kind = dice.pick(Report, Report, Report, Print, Print, Push, Count)
    if kind is Push:
        return a_push(dice, when, dice.pick(0, 1, 2, 3, -1))
    if kind is Count:
        return a_count(dice, when, corner)
    if kind is Print:
        return Print(when, dice.pick(0, 0, 1, -1))
    return a_report(dice, when)


def a_push(dice: Dice, when: When, ahead: int) -> Push:
    return Push(when, ahead, dice.number(0, 1), dice.number(0, 1), dice.pick(0, 8, 24, 61))


def a_count(dice: Dice, when: When, corner: Corner) -> Count:
    places = range(len(corner.countable))
    items = tuple(places) if dice.chance(20) else tuple(sorted(dice.some(places, 1, 3)))
    amount = dice.pick(Decimal(0), Decimal(3), Decimal("0.5"), Decimal(12))
    made = dice.pick(None, None, 0, 1, 2)
    return Count(when, items, amount, dice.pick(0, 0, 2, 9, 26), dice.chance(20), made)


def a_report(dice: Dice, when: When) -> Report:
    state = dice.pick("done", "done", "doing", "open")
    amounts = (None, None, Decimal("0.5"), Decimal("1.2"), Decimal(0))
    return Report(
        when,
        dice.pick(0, 0, -1, 1),
        dice.number(0, 9),
        state,
        dice.pick(*amounts),
        dice.pick(*amounts) if dice.chance(30) else None,
        dice.pick(None, None, 0, 3, 14),
        dice.chance(30),
    )

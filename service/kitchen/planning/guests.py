"""Guests: forecasts and overrides turned into how many of what are wanted, by when.

Responsible for the counts of domain P1. Refuses to know recipes and what anything is made of.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import MenuItem, Period, Site
from service.kitchen.measures.calendar import Calendar
from service.kitchen.planning.warned import Warned

# How many of many things a warning names.
TOLD = 20


@dataclass(frozen=True, slots=True)
class Event:
    """An event of a period: its own time and buffer where it has them."""

    code: str
    serve_at: time | None = None
    buffer: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The latest count that one source pushed for one key; the key is a menu item or a till code."""

    date: date
    period: str
    count: int
    source: str
    menu_item: str | None = None
    till_code: str | None = None
    event: Event | None = None


@dataclass(frozen=True, slots=True)
class Override:
    """A site's own word on the count of an event, or of what has none: ``count`` replaces it, ``add`` joins it (P1)."""

    count: int | None = None
    add: int = 0


UNSAID = Override()
Place = tuple[date, str, str]
"""Where a menu item is wanted: date, period and its code."""
OverrideKey = tuple[date, str, str, str | None]
"""Date, period, menu item and event of an override; None for what has no event."""


class Outlet(NamedTuple):
    """Where food goes in the end: a menu item on a date, in a period, perhaps at an event (P11)."""

    menu_item: str
    on: date
    period: str
    event: str | None

    @property
    def order(self) -> tuple[date, str, str, str]:
        """By date, period, event, menu item (P2)."""
        return (self.on, self.period, self.event or "", self.menu_item)


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How many of a menu item are wanted by a moment; who forecast them, and whether the site had a word in it."""

    outlet: Outlet
    at: datetime
    count: float
    sources: tuple[str, ...] = ()
    overridden: bool = False


def counts_of(
    catalogue: Catalogue,
    site: Site,
    calendar: Calendar,
    forecasts: Iterable[Forecast],
    overrides: Mapping[OverrideKey, Override],
    window: tuple[date, date],
    warnings: list[Warned],
) -> Iterator[Count]:
    """What is wanted of each menu item: sums over sources and keys, with buffers and overrides (P1)."""
    pushed: dict[Place, dict[Event | None, list[Forecast]]] = defaultdict(lambda: defaultdict(list))
    unmapped: dict[date, list[Forecast]] = defaultdict(list)
    events: dict[date, set[str]] = defaultdict(set)
    for each in forecasts:
        if not window[0] <= each.date <= window[1]:
            continue
        if each.event is not None:
            events[each.date].add(each.event.code)
        code = catalogue.sold_as(each.source, each.menu_item, each.till_code)
        if code is None:
            unmapped[each.date].append(each)
            continue
        pushed[each.date, each.period, code][each.event].append(each)
    warnings += [_unmapped(on, unmapped[on]) for on in sorted(unmapped)]
    own = by_place(overrides)
    # An override may ask for what nobody forecast.
    keys = set(pushed) | {key for key in own if window[0] <= key[0] <= window[1]}
    for on, period_code, code in sorted(keys):
        period = site.period(period_code)
        if period is None:
            detail = f"{catalogue.menu_items[code].name}: the site has no period {period_code}; left out"
            warnings.append(Warned(on, "unknown_period", detail, period=period_code))
            continue
        item = catalogue.menu_items[code]
        place = (on, period_code, code)
        counts = list(_rows(site, calendar, item, (on, period), pushed[place], own.get(place, {})))
        if item.sold_on(on):
            yield from counts
            warnings += [_unheard(item, each, events[on]) for each in counts if each.outlet.event not in {None, *events[on]}]
        elif counts:
            detail = f"{item.name} is not on the menu on {on}: what is expected of it for {period.code} is left out"
            warnings.append(Warned(on, "not_on_menu", detail, period=period.code))


def not_pushed(event: str, on: date, pushed: Iterable[str]) -> str:
    """That nobody has pushed guests of an event for a date, and of which events somebody has.

    >>> not_pushed("banquett", date(2026, 12, 3), ["banquet-12"])
    'nobody has pushed guests of the event banquett for 2026-12-03, but of banquet-12'
    """
    others = ", ".join(sorted(pushed)[:TOLD])
    return f"nobody has pushed guests of the event {event} for {on}" + (f", but of {others}" if others else "")


def _unheard(item: MenuItem, count: Count, pushed: Iterable[str]) -> Warned:
    """A warning of guests at an event of which the site alone speaks: its code may be misspelt."""
    _, on, period, event = count.outlet
    detail = f"{item.name}: {count.count:g} in {period} by the site's word alone: {not_pushed(event or '', on, pushed)}"
    return Warned(on, "unknown_event", detail, period=period, number=round(count.count))


def _unmapped(on: date, forecasts: Sequence[Forecast]) -> Warned:
    """One warning of a date for all till codes that no menu item has: how many there are, and what the first of them ask for."""
    codes: dict[tuple[str, str | None], list[Forecast]] = defaultdict(list)
    for each in sorted(forecasts, key=lambda forecast: (forecast.source, forecast.till_code or "", forecast.period)):
        codes[each.source, each.till_code].append(each)
    told = [
        f"{sum(each.count for each in found)} of {code} from {source} ({', '.join(dict.fromkeys(each.period for each in found))})"
        for (source, code), found in codes.items()
    ]
    number = len(told)
    whose = "code that no menu item has counts once one has it" if number == 1 else "codes that no menu item has count once one has them"
    more = f", and {number - TOLD} more" if number > TOLD else ""
    return Warned(on, "unmapped_till_code", f"{number} till {whose}: {', '.join(told[:TOLD])}{more}", number=number)


def _rows(
    site: Site,
    calendar: Calendar,
    item: MenuItem,
    when: tuple[date, Period],
    pushed: Mapping[Event | None, Sequence[Forecast]],
    own: Mapping[str | None, Override],
) -> Iterator[Count]:
    """The count without event and that of each event of one menu item in one period (P1), at its own time or ``ready_by`` (T5)."""
    on, period = when
    sums = {event: sum(each.count for each in forecasts) for event, forecasts in pushed.items()}
    for event, count in guests(sums, own, default_buffer(site, item)):
        if count > 0:
            code = event.code if event else None
            at = calendar.moment(on, event.serve_at if event and event.serve_at else period.ready_by)
            yield Count(
                outlet=Outlet(item.code, on, period.code, code),
                at=at,
                count=float(count),
                sources=tuple(sorted({each.source for each in pushed.get(event, ())})),
                overridden=own.get(code, UNSAID) != UNSAID,
            )


def default_buffer(site: Site, item: MenuItem) -> Fraction:
    """The buffer of counts whose event has none: the menu item's (0 included), else the site's (P1)."""
    return site.buffer if item.buffer is None else item.buffer


def by_place(overrides: Mapping[OverrideKey, Override]) -> dict[Place, dict[str | None, Override]]:
    """Overrides by date, period and menu item, and there by event."""
    own: dict[Place, dict[str | None, Override]] = defaultdict(dict)
    for (on, period, item, event), override in overrides.items():
        own[on, period, item][event] = override
    return dict(own)


def guests(sums: Mapping[Event | None, int], own: Mapping[str | None, Override], buffer: Fraction) -> list[tuple[Event | None, Fraction]]:
    """The count without event, then that of each event, buffered, and the site's own word on each of them (P1).

    An override's count replaces, its ``add`` joins, and together they are no less than 0. Of an event that was pushed with
    several times or buffers, the first takes what is said of it, and less than nothing goes on to the next.
    """
    known: dict[str | None, list[Event | None]] = {None: [None]}
    for each in sorted((event for event in sums if event is not None), key=_event_order):
        known.setdefault(each.code, []).append(each)
    for unheard in sorted(code for code in own if code is not None and code not in known):
        known[unheard] = [Event(unheard)]
    found: list[tuple[Event | None, Fraction]] = []
    for code, events in known.items():
        said = own.get(code, UNSAID)
        rest = Fraction(said.add if said.count is None else said.count + said.add)
        for event in events:
            raised = buffer if event is None or event.buffer is None else event.buffer
            count = rest + (sums.get(event, 0) * (1 + raised) if said.count is None else 0)
            found.append((event, max(count, Fraction(0))))
            rest = min(count, Fraction(0))
    return found


def _event_order(event: Event) -> tuple[str, time, Fraction]:
    """Events by code, then time, then buffer."""
    return (event.code, event.serve_at or time.min, event.buffer if event.buffer is not None else Fraction(-1))

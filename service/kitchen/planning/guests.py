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
    """A site's own word on a count: ``count`` replaces all forecasts, ``add`` joins the count without event (P1)."""

    count: int | None = None
    add: int = 0


OverrideKey = tuple[date, str, str]


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
    pushed: dict[OverrideKey, dict[Event | None, list[Forecast]]] = defaultdict(lambda: defaultdict(list))
    unmapped: dict[date, list[Forecast]] = defaultdict(list)
    for each in forecasts:
        if not window[0] <= each.date <= window[1]:
            continue
        code = catalogue.sold_as(each.source, each.menu_item, each.till_code)
        if code is None:
            unmapped[each.date].append(each)
            continue
        pushed[each.date, each.period, code][each.event].append(each)
    warnings += [_unmapped(on, unmapped[on]) for on in sorted(unmapped)]
    # An override may ask for what nobody forecast.
    keys = set(pushed) | {key for key in overrides if window[0] <= key[0] <= window[1]}
    for on, period_code, code in sorted(keys):
        period = site.period(period_code)
        if period is None:
            detail = f"{catalogue.menu_items[code].name}: the site has no period {period_code}; left out"
            warnings.append(Warned(on, "unknown_period", detail, period=period_code))
            continue
        item = catalogue.menu_items[code]
        override = overrides.get((on, period_code, code), Override())
        counts = list(_rows(site, calendar, item, (on, period), pushed[on, period_code, code], override))
        if item.sold_on(on):
            yield from counts
        elif counts:
            detail = f"{item.name} is not on the menu on {on}: what is expected of it for {period.code} is left out"
            warnings.append(Warned(on, "not_on_menu", detail, period=period.code))


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
    override: Override,
) -> Iterator[Count]:
    """The count without event and that of each event of one menu item in one period (P1), at its own time or ``ready_by`` (T5)."""
    on, period = when
    sums = {event: sum(each.count for each in forecasts) for event, forecasts in pushed.items()}
    for event, count in guests(sums, override, default_buffer(site, item)):
        if count > 0:
            at = calendar.moment(on, event.serve_at if event and event.serve_at else period.ready_by)
            yield Count(
                outlet=Outlet(item.code, on, period.code, event.code if event else None),
                at=at,
                count=float(count),
                sources=tuple(sorted({each.source for each in pushed.get(event, ())})),
                overridden=event is None and override != Override(),
            )


def default_buffer(site: Site, item: MenuItem) -> Fraction:
    """The buffer of counts whose event has none: the menu item's (0 included), else the site's (P1)."""
    return site.buffer if item.buffer is None else item.buffer


def guests(sums: Mapping[Event | None, int], override: Override, buffer: Fraction) -> list[tuple[Event | None, Fraction]]:
    """The count without event, then that of each event, buffered; an override's count replaces all, its ``add`` joins (P1)."""
    if override.count is not None:
        return [(None, Fraction(override.count + override.add))]
    events = sorted((each for each in sums if each is not None), key=_event_order)
    plain = sums.get(None, 0) * (1 + buffer) + override.add
    return [(None, plain), *((each, sums[each] * (1 + (buffer if each.buffer is None else each.buffer))) for each in events)]


def _event_order(event: Event) -> tuple[str, time, Fraction]:
    """Events by code, then time, then buffer."""
    return (event.code, event.serve_at or time.min, event.buffer if event.buffer is not None else Fraction(-1))

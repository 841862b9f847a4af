"""Demand: forecasts, overrides and pars turned into needs of recipes and forms.

Responsible for domain P1 and the level part of P16: who needs how much of what, by when. Refuses to
know what is on hand and how anything is made.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction
from typing import NamedTuple

from service.errors import KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Component, MenuItem, Par, Period, Site
from service.kitchen.measures.batches import round_up
from service.kitchen.measures.calendar import ONE_DAY, Calendar
from service.kitchen.planning.names import RunKey


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


class Share(NamedTuple):
    """A part of a quantity: for whom (None: surplus and pars), how much, and how many portions hang on it."""

    outlet: Outlet | None
    amount: float
    portions: float


class Warned(NamedTuple):
    """Something that the reader of a date's list must know."""

    on: date
    code: str
    detail: str


class Need(NamedTuple):
    """So much of an item, in its stock kind, at a moment.

    ``outlet`` is where guests get it and ``portions`` how many of theirs hang on it, ``drawn_by`` the run that draws it and
    ``pars`` the pars behind that run, ``par`` the par that it fills itself. ``named`` is another moment than its own by which a
    pull for it is named.

    A ``settled`` one is what reported work has already taken: lots give it, and what they lack asks for nothing (P15).
    """

    item: Item
    at: datetime
    amount: float
    portions: float = 0.0
    outlet: Outlet | None = None
    drawn_by: RunKey | None = None
    label: str = ""
    par: Par | None = None
    on: date | None = None
    settled: bool = False
    pars: tuple[Par, ...] = ()
    named: datetime | None = None

    @property
    def names(self) -> datetime:
        """The moment that names a pull for it."""
        return self.named or self.at

    @property
    def order(self) -> tuple[datetime, bool, tuple[date, str, str, str]]:
        """By time; at one moment consumption before pars, then date, period, event, menu item or consumer (P2).

        Needs of one consumer at one moment stay in the order of its components or lines.
        """
        on = self.on or self.at.date()
        rank = self.outlet.order if self.outlet else (on, "", "", self.label)
        return (self.at, self.par is not None, rank)


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How many of a menu item are wanted by a moment; who forecast them, and whether the site had a word in it."""

    outlet: Outlet
    at: datetime
    count: float
    sources: tuple[str, ...] = ()
    overridden: bool = False


@dataclass(frozen=True, slots=True)
class Demand:
    """The needs of a site's guests and pars over a window, the counts behind them, and what had to be left out."""

    needs: tuple[Need, ...]
    warnings: tuple[Warned, ...]
    portions: Mapping[Outlet, float]
    counts: tuple[Count, ...] = ()


def foresee(
    catalogue: Catalogue,
    site: Site,
    calendar: Calendar,
    forecasts: Iterable[Forecast],
    overrides: Mapping[OverrideKey, Override],
    first: date,
    until: date,
) -> Demand:
    """The needs of the service dates ``first`` to ``until`` (P1, P16), amounts in the stock kind of each recipe or form."""
    warnings: list[Warned] = []
    counts = list(_counts(catalogue, site, calendar, forecasts, overrides, (first, until), warnings))
    needs: list[Need] = []
    portions: dict[Outlet, float] = defaultdict(float)
    for count in counts:
        item = catalogue.menu_items[count.outlet.menu_item]
        # Guests count once, whatever they take: no more portions hang on an outlet than its most wanted component has.
        portions[count.outlet] += count.count * max((float(each.uptake) for each in item.components), default=0.0)
        needs.extend(_component_needs(catalogue, site, item, count, warnings))
    needs.extend(_par_needs(catalogue, site, calendar, (first, until), warnings))
    return Demand(tuple(needs), tuple(dict.fromkeys(warnings)), dict(portions), tuple(counts))


def _counts(
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
    for each in forecasts:
        if not window[0] <= each.date <= window[1]:
            continue
        code = catalogue.sold_as(each.source, each.menu_item, each.till_code)
        if code is None:
            warnings.append(
                Warned(
                    each.date,
                    "unmapped_till_code",
                    f"{each.count} of till code {each.till_code} from {each.source} ({each.period}) count once a menu item has the code",
                )
            )
            continue
        pushed[each.date, each.period, code][each.event].append(each)
    # An override may ask for what nobody forecast.
    keys = set(pushed) | {key for key in overrides if window[0] <= key[0] <= window[1]}
    for on, period_code, code in sorted(keys):
        period = site.period(period_code)
        if period is None:
            warnings.append(
                Warned(on, "unknown_period", f"{catalogue.menu_items[code].name}: the site has no period {period_code}; left out")
            )
            continue
        item = catalogue.menu_items[code]
        override = overrides.get((on, period_code, code), Override())
        yield from _rows(site, calendar, item, (on, period), pushed[on, period_code, code], override)


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


def _component_needs(catalogue: Catalogue, site: Site, item: MenuItem, count: Count, warnings: list[Warned]) -> Iterator[Need]:
    """One need per component of a menu item (P1)."""
    for component in item.components:
        on = count.outlet.on
        version = catalogue.in_force(component.recipe, site.code, on)
        if version is None:
            warnings.append(Warned(on, "no_version", f"{component.recipe} has no version in force on {on}; left out for {item.name}"))
            continue
        try:
            amount = _component_amount(version, component, count.count)
        except KitchenError as error:
            warnings.append(Warned(on, "no_version", f"{item.name} asks for {component.recipe} in a way it cannot give: {error.detail}"))
            continue
        portions = count.count * float(component.uptake)
        yield Need(
            item=version.item, at=count.at, amount=amount, portions=portions, outlet=count.outlet, label=item.code, on=count.outlet.on
        )


def _component_amount(version: Version, component: Component, count: float) -> float:
    """Count × uptake × quantity in the recipe's kind, whole where that is a count (P1)."""
    conversions = version.conversions
    amount = count * float(component.uptake * conversions.to_stock(component.quantity))
    return float(round_up(amount)) if version.kind == "count" else amount


def _par_needs(catalogue: Catalogue, site: Site, calendar: Calendar, window: tuple[date, date], warnings: list[Warned]) -> Iterator[Need]:
    """The level of each par on each of its weekdays (P16)."""
    on = window[0]
    while on <= window[1]:
        for par in site.pars:
            if on.isoweekday() not in par.weekdays:
                continue
            conversions = catalogue.conversions(par.item, site.code, on)
            if conversions is None:
                warnings.append(Warned(on, "no_version", f"{par.item.label} has no version in force on {on}; its par is left out"))
                continue
            level = float(conversions.to_stock(par.level))
            yield Need(item=par.item, at=calendar.moment(on, par.by), amount=level, label=par.item.label, par=par, on=on)
        on += ONE_DAY

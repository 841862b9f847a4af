"""Demand: guests and pars turned into needs of recipes and forms.

Responsible for the needs of domain P1 and the level part of P16: who needs how much of what, by when. Refuses to
know what is on hand and how anything is made.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from service.errors import KitchenError, PlanTooLarge
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Component, MenuItem, Par, Site
from service.kitchen.measures.batches import round_up
from service.kitchen.measures.calendar import ONE_DAY, Calendar
from service.kitchen.planning.guests import Count, Forecast, Outlet, Override, OverrideKey, counts_of
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.warned import Warned
from service.limits import NEEDS_OF_A_PLAN


class Share(NamedTuple):
    """A part of a quantity: for whom (None: surplus and pars), how much, and how many portions hang on it."""

    outlet: Outlet | None
    amount: float
    portions: float


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
    """The needs of the service dates ``first`` to ``until`` (P1, P16), amounts in the stock kind of each recipe or form.

    Raises PlanTooLarge.
    """
    warnings: list[Warned] = []
    counts = list(counts_of(catalogue, site, calendar, forecasts, overrides, (first, until), warnings))
    needs: list[Need] = []
    portions: dict[Outlet, float] = defaultdict(float)
    for count in counts:
        item = catalogue.menu_items[count.outlet.menu_item]
        # Guests count once, whatever they take: no more portions hang on an outlet than its most wanted component has.
        portions[count.outlet] += count.count * max((float(each.uptake) for each in item.components), default=0.0)
        needs.extend(_component_needs(catalogue, site, item, count, warnings))
        if len(needs) > NEEDS_OF_A_PLAN:
            raise PlanTooLarge
    needs.extend(_par_needs(catalogue, site, calendar, (first, until), warnings))
    return Demand(tuple(needs), tuple(dict.fromkeys(warnings)), dict(portions), tuple(counts))


def _component_needs(catalogue: Catalogue, site: Site, item: MenuItem, count: Count, warnings: list[Warned]) -> Iterator[Need]:
    """One need per component of a menu item (P1)."""
    for component in item.components:
        on = count.outlet.on
        version = catalogue.in_force(component.recipe, site.code, on)
        if version is None:
            detail = f"{component.recipe} has no version in force on {on}; left out for {item.name}"
            warnings.append(Warned(on, "no_version", detail, item=Item.recipe(component.recipe), period=count.outlet.period))
            continue
        try:
            amount = _component_amount(version, component, count.count)
        except KitchenError as error:
            detail = f"{item.name} asks for {component.recipe} in a way it cannot give: {error.detail}"
            warnings.append(Warned(on, "no_version", detail, item=version.item, period=count.outlet.period))
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
                detail = f"{par.item.label} has no version in force on {on}; its par is left out"
                warnings.append(Warned(on, "no_version", detail, item=par.item))
                continue
            level = float(conversions.to_stock(par.level))
            yield Need(item=par.item, at=calendar.moment(on, par.by), amount=level, label=par.item.label, par=par, on=on)
        on += ONE_DAY

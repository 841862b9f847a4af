"""Whole kitchens for the laws: a strategy, and the plan and lists of what it generates.

Responsible for joining larder, cookbook and trade into one catalogue, read through the schemas of the interface as a caller's
documents would be. Refuses to know the laws.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from marshmallow import Schema

from service.api.schemas.ingredients import IngredientBody
from service.api.schemas.menu_items import MenuItemBody
from service.api.schemas.recipes import DraftBody
from service.api.schemas.sites import SiteBody
from service.api.schemas.stations import StationBody
from service.kitchen.book.capacity import Capacity
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import read_ingredient
from service.kitchen.book.recipe import read_version
from service.kitchen.book.site import Site, read_menu_item, read_site, read_station
from service.kitchen.lists.prep_list import Asked, prep_list
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.demand import Demand, foresee
from service.kitchen.planning.guests import Forecast, Override, OverrideKey
from service.kitchen.planning.horizon import Horizon, Outlook
from service.kitchen.planning.past import Closed, Facts, Past
from service.kitchen.planning.plan import Plan, plan
from service.kitchen.planning.reported import Fixed, Reported
from service.kitchen.planning.staffing import Staffing
from service.kitchen.planning.stock import Lot
from tests.kitchen.plans import event_times
from tests.laws.cookbook import Cookbook, Edition, write_cookbook
from tests.laws.dice import Dice
from tests.laws.larder import STATIONS, stock_larder
from tests.laws.measures import Document
from tests.laws.trade import ANNEX, PLACES, SITE, count_stock, foretell, open_site, write_menu

BODIES: dict[str, type[Schema]] = {
    "stations": StationBody,
    "ingredients": IngredientBody,
    "menu_items": MenuItemBody,
    "sites": SiteBody,
}


NOTHING_DONE = Fixed()


@dataclass(frozen=True)
class Kitchen:
    """A catalogue, the site that is planned from ``first`` on, what is expected there and what was counted."""

    documents: Mapping[str, Mapping[str, Document]]
    editions: Mapping[str, list[Edition]]
    first: date
    forecasts: tuple[Forecast, ...]
    overrides: Mapping[OverrideKey, Override]
    counted: tuple[Counted, ...]
    catalogue: Catalogue = field(repr=False)
    different: Mapping[date, Capacity] = field(default_factory=dict)

    @property
    def site(self) -> Site:
        return self.catalogue.sites[SITE]

    @property
    def staffing(self) -> Staffing | None:
        return Staffing.of(self.site, self.different)

    @property
    def dates(self) -> Iterator[date]:
        """The dates whose lists the laws look at."""
        return (self.first + timedelta(days=days) for days in range(4))

    def horizon(self, on: date, done: Fixed = NOTHING_DONE) -> Horizon:
        outlook = Outlook(self.catalogue, self.site, self.first, on, self.reported(done).needs, self.staffing)
        return outlook.horizon(event_times(self.forecasts))

    def lots(self) -> list[Lot]:
        return list(self.reported().lots)

    def plan(self, until: date | None = None, done: Fixed = NOTHING_DONE) -> Plan:
        """The plan of all that is asked for until a date: the last one that counts for the list of the fourth date, or another."""
        until = until or self.horizon(self.first + timedelta(days=3)).until
        demand, reported = self.demand(until), self.reported(done)
        return plan(self.catalogue, self.site, demand, (), self.first, until, reported=reported, staffing=self.staffing)

    def plan_for(self, on: date, done: Fixed = NOTHING_DONE) -> Plan:
        """The plan that the list of a date is made of: of what counts for it alone."""
        horizon = self.horizon(on, done)
        demand, reported = self.demand(horizon.until), self.reported(done)
        window = (self.first, horizon.until)
        return plan(self.catalogue, self.site, demand, (), *window, reported=reported, moments=horizon.moments, staffing=self.staffing)

    def reported(self, done: Fixed = NOTHING_DONE) -> Reported:
        """What was counted, and what was done of an earlier plan."""
        past = Past(self.catalogue, self.site, Facts(fixed=done, counted=self.counted))
        return past.take_in(past.close(Closed(on=date.min), self.first)[-1])

    def demand(self, until: date) -> Demand:
        return foresee(self.catalogue, self.site, self.site.calendar(), self.forecasts, self.overrides, self.first, until)

    def listed(self, planned: Plan, on: date) -> dict[str, Any]:
        """One date's list, with shares and feeds."""
        site = self.site
        return dict(prep_list(planned, self.catalogue, site, Asked(on=on, system="us" if site.units == "us" else "metric", trace=True)))


@st.composite
def kitchens(draw: st.DrawFn, *, convex: bool = True) -> Kitchen:
    """Kitchens that may be published as they are; ``convex`` allows tested seasonings that bend upwards (S2)."""
    dice = Dice(draw)
    zone, saturday = dice.pick(*PLACES)
    first = saturday - timedelta(days=dice.number(0, 3) - 1)
    larder = stock_larder(dice)
    book = write_cookbook(dice, larder, first, SITE, convex=convex)
    site = open_site(dice, zone, book, larder)
    menu = write_menu(dice, book)
    forecasts, overrides = foretell(dice, first, [period["code"] for period in site["periods"]], menu)
    counted = count_stock(dice, first, zone, book, larder)
    documents = {
        "stations": {code: {"name": code.title(), "position": position} for position, code in enumerate(STATIONS)},
        "ingredients": larder.ingredients,
        "menu_items": menu,
        "sites": {SITE: site, ANNEX: {**site, "name": "Annex", "pars": [], "vessels": []}},
    }
    loaded = {noun: {code: load(BODIES[noun], each) for code, each in found.items()} for noun, found in documents.items()}
    catalogue = read_catalogue(loaded, book)
    return Kitchen(loaded, book.editions, first, tuple(forecasts), overrides, tuple(counted), catalogue)


def load(body: type[Schema], document: Document) -> Document:
    """A document as the interface would keep it, defaults filled in."""
    loaded: Document = body().load(document)
    return loaded


def read_catalogue(documents: Mapping[str, Mapping[str, Document]], book: Cookbook) -> Catalogue:
    """The catalogue of loaded documents and of every edition of every recipe."""
    return Catalogue(
        stations={code: read_station(code, each) for code, each in documents["stations"].items()},
        ingredients={code: read_ingredient(code, each) for code, each in documents["ingredients"].items()},
        versions={
            code: tuple(
                read_version(code, number, load(DraftBody, each.draft), each.starts_on, frozenset(each.sites) if each.sites else None)
                for number, each in enumerate(editions, 1)
            )
            for code, editions in book.editions.items()
        },
        menu_items={code: read_menu_item(code, each) for code, each in documents["menu_items"].items()},
        sites={code: read_site(code, each) for code, each in documents["sites"].items()},
        drafted=frozenset(book.editions),
    )

"""Checks of menu items and sites: what they refer to, and whether their quantities can be counted.

Responsible for the faults in meaning of these two records. Refuses to know forecasts.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date

from service.errors import Fault, KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site, TillCode
from service.kitchen.book.vessels import vessel_sizes
from service.kitchen.checks.capacity import map_faults, site_capacity_faults
from service.kitchen.checks.users import broken_component, broken_par


def menu_item_faults(catalogue: Catalogue, code: str, today: date) -> Iterator[Fault]:
    """Everything wrong with a menu item against a catalogue that already holds it."""
    item = catalogue.menu_items[code]
    for index, component in enumerate(item.components):
        if not catalogue.has_recipe(component.recipe):
            yield Fault(f"/components/{index}/recipe", "unknown_reference", f"there is no recipe {component.recipe}")
    for index in range(len(item.components)):
        for broken in broken_component(catalogue, code, index, today):
            yield Fault(broken.pointer, broken.error.code, broken.error.detail)
    owners = catalogue.once("owners of till codes", lambda: _owners(catalogue))
    for index, known in enumerate(item.codes):
        others = [other for other in owners[known] if other != code]
        if others:
            detail = f"till code {known.till_code} of {known.source} already belongs to {others[0]}"
            yield Fault(f"/codes/{index}", "duplicate", detail)


def _owners(catalogue: Catalogue) -> Mapping[TillCode, list[str]]:
    """The menu items of every till code, of which there should be one."""
    owners: dict[TillCode, list[str]] = defaultdict(list)
    for item in catalogue.menu_items.values():
        for known in item.codes:
            owners[known].append(item.code)
    return owners


def site_faults(catalogue: Catalogue, code: str, document_vessels: list[str], today: date) -> Iterator[Fault]:
    """Everything wrong with a site against a catalogue that already holds it (S3, P16); ``document_vessels`` names their recipes."""
    site = catalogue.sites[code]
    yield from map_faults("/station_map", site.station_map, catalogue.stations, "station")
    yield from site_capacity_faults(catalogue, site)
    yield from _period_faults(site, today)
    for index, recipe in enumerate(document_vessels):
        yield from _vessel_faults(catalogue, site, recipe, f"/vessels/{index}", today)
    for index, par in enumerate(site.pars):
        if par.item.raw:
            yield Fault(f"/pars/{index}/item", "wrong_kind", "pars are of recipes and forms; an ingredient is ordered, not made")
        elif par.item.is_recipe and not catalogue.has_recipe(par.item.code):
            yield Fault(f"/pars/{index}/item", "unknown_reference", f"there is no recipe {par.item.code}")
    for index, par in enumerate(site.pars):
        for broken in broken_par(catalogue, code, index, today) if not par.item.raw else ():
            code_of_fault = "unknown_reference" if broken.pointer.endswith("/item") else broken.error.code
            yield Fault(broken.pointer, code_of_fault, broken.error.detail)


def _period_faults(site: Site, today: date) -> Iterator[Fault]:
    """A period ends after its food is ready (P1); any date will do to compare two times of one business date."""
    calendar = site.calendar()
    for index, period in enumerate(site.periods):
        if period.ended_at(calendar, today) <= calendar.moment(today, period.ready_by):
            yield Fault(f"/periods/{index}/ends", "out_of_range", f"{period.code} must end after its food is ready")


def _vessel_faults(catalogue: Catalogue, site: Site, recipe: str, pointer: str, today: date) -> Iterator[Fault]:
    """A vessel must fit every version that the site can cook from today on (S3)."""
    if not catalogue.has_recipe(recipe):
        yield Fault(f"{pointer}/recipe", "unknown_reference", f"there is no recipe {recipe}")
        return
    for version in catalogue.in_force_between(recipe, site.code, today):
        try:
            version.conversions.to_stock(site.vessels[recipe])
        except KitchenError as error:
            yield Fault(f"{pointer}/largest/unit", error.code, error.detail)
            return
        if vessel_sizes(version, site.vessels[recipe]) is None:
            detail = f"version {version.number} of {recipe} cannot be cooked in it: multiple ≤ smallest ≤ largest must hold"
            yield Fault(f"{pointer}/largest", "batch_rule", detail)
            return

"""Checks of capacity: what is stated of machines and shifts refers to what there is, and can be reckoned with.

Responsible for the faults and the warning that K1 to K7 ask for in sites, dates and recipe versions. Refuses to know what fits.
"""

from collections.abc import Iterator, Mapping

from service.errors import Fault
from service.kitchen.book.capacity import Capacity, Shift
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.checks.measures import quantity_faults
from service.limits import EQUIPMENT


def equipment_faults(before: Catalogue, after: Catalogue, code: str) -> Iterator[Fault]:
    """Whether a group has room for one equipment more."""
    if code not in before.equipment and len(after.equipment) > EQUIPMENT:
        yield Fault("", "too_many", f"a group has at most {EQUIPMENT} kinds of equipment")


def site_capacity_faults(catalogue: Catalogue, site: Site) -> Iterator[Fault]:
    """Equipment and stations that a site's machines, map and shifts name and that there are not (K1, K7)."""
    for index, code in enumerate(site.equipment):
        if code not in catalogue.equipment:
            yield Fault(f"/equipment/{index}/equipment", "unknown_reference", f"there is no equipment {code}")
    yield from map_faults("/equipment_map", site.equipment_map, catalogue.equipment, "equipment")
    yield from _shift_faults(catalogue, site.shifts)


def map_faults(pointer: str, table: Mapping[str, str], known: Mapping[str, object], noun: str) -> Iterator[Fault]:
    """Codes on either side of a site's map that nothing has."""
    for name, mapped in table.items():
        for code in dict.fromkeys((name, mapped)):
            if code not in known:
                yield Fault(f"{pointer}/{name}", "unknown_reference", f"there is no {noun} {code}")


def date_faults(catalogue: Catalogue, site: Site, different: Capacity) -> Iterator[Fault]:
    """What a date's shifts and machines name and the site has not: machines that it never listed have no load (K1)."""
    yield from _shift_faults(catalogue, different.shifts or ())
    for index, code in enumerate(different.counts or ()):
        if code not in site.equipment:
            yield Fault(f"/equipment/{index}/equipment", "unknown_reference", f"{site.name} lists no equipment {code}")


def _shift_faults(catalogue: Catalogue, shifts: tuple[Shift, ...]) -> Iterator[Fault]:
    for index, shift in enumerate(shifts):
        for place, station in enumerate(shift.stations):
            if station not in catalogue.stations:
                yield Fault(f"/shifts/{index}/stations/{place}", "unknown_reference", f"there is no station {station}")


def step_capacity_faults(catalogue: Catalogue, version: Version) -> Iterator[Fault]:
    """Equipment that steps name and that there is not (K7), and rates that mean nothing of the recipe (T2, K5)."""
    for index, step in enumerate(version.steps):
        if step.equipment is not None and step.equipment not in catalogue.equipment:
            yield Fault(f"/steps/{index}/equipment", "unknown_reference", f"there is no equipment {step.equipment}")
        if step.rate is not None:
            yield from quantity_faults(step.rate.per, version.conversions, f"/steps/{index}/active/per")


def without_load(catalogue: Catalogue, version: Version) -> list[str]:
    """What the equipment is called of which no site that cooks the version states a load that converts for it (K4), in step order."""
    named = dict.fromkeys(step.equipment for step in version.steps if step.equipment in catalogue.equipment)
    sites = [site for site in catalogue.sites.values() if version.applies_to(site.code)]
    return [catalogue.equipment[code].name for code in named if code is not None and not any(_holds(site, code, version) for site in sites)]


def _holds(site: Site, code: str, version: Version) -> bool:
    machines = site.machines(code)
    return machines is not None and machines.load(version.conversions) is not None

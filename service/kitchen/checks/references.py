"""References: what of the catalogue refers to a thing that somebody wants to remove.

Responsible for naming the users of a station, equipment, ingredient, menu item or site. Refuses to know recorded
forecasts and counts.
"""

from collections.abc import Iterator

from service.kitchen.book.catalogue import Catalogue


def references(catalogue: Catalogue, noun: str, code: str) -> list[str]:
    """Who refers to a thing of a collection, each user once, in a fixed order; versions of the past count too."""
    finders = {"stations": _of_station, "equipment": _of_equipment, "ingredients": _of_ingredient, "sites": _of_site}
    finder = finders.get(noun)
    return list(dict.fromkeys(finder(catalogue, code))) if finder else []


def _of_station(catalogue: Catalogue, code: str) -> Iterator[str]:
    for ingredient in catalogue.ingredients.values():
        for form in ingredient.forms:
            if form.station == code:
                yield f"form {form.item.label}"
    for versions in catalogue.versions.values():
        for version in versions:
            if code == version.station or any(step.station == code for step in version.steps):
                yield f"recipe {version.recipe}"
    for site in catalogue.sites.values():
        if code in site.station_map or code in site.station_map.values() or code in site.staffed:
            yield f"site {site.code}"


def _of_equipment(catalogue: Catalogue, code: str) -> Iterator[str]:
    for versions in catalogue.versions.values():
        for version in versions:
            if any(step.equipment == code for step in version.steps):
                yield f"recipe {version.recipe}"
    for site in catalogue.sites.values():
        if code in site.equipment or code in site.equipment_map or code in site.equipment_map.values():
            yield f"site {site.code}"


def _of_ingredient(catalogue: Catalogue, code: str) -> Iterator[str]:
    for ingredient in catalogue.ingredients.values():
        for form in ingredient.forms:
            if any(given == code for given, _ in form.by_products):
                yield f"form {form.item.label}"
    for versions in catalogue.versions.values():
        for version in versions:
            called = {line.item.code for line in version.lines if not line.item.is_recipe}
            if code in called or any(given == code for given, _ in version.by_products):
                yield f"recipe {version.recipe}"
    for site in catalogue.sites.values():
        if any(par.item.code == code and not par.item.is_recipe for par in site.pars):
            yield f"a par of site {site.code}"


def _of_site(catalogue: Catalogue, code: str) -> Iterator[str]:
    for versions in catalogue.versions.values():
        for version in versions:
            if version.sites is not None and code in version.sites:
                yield f"version {version.number} of {version.recipe}"

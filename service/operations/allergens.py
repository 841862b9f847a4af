"""Allergens: what a recipe or a menu item contains and may contain, as a report.

Responsible for choosing version, site and date. Refuses to know laws, and HTTP.
"""

from collections.abc import Collection
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from service.errors import NotFound
from service.kitchen.safety.allergen_reports import menu_item_report, recipe_report
from service.operations import in_force
from service.operations.loading import load_catalogue

Sites = Collection[str] | None
"""The sites at one of which the report is asked for, in order of code; None is everywhere."""


def of_recipe(session: Session, code: str, sites: Sites, on: date | None, now: datetime) -> dict[str, Any]:
    """The allergens of the version in force on a date (today) at the first of some sites where one is; raises NotFound (A1)."""
    catalogue = load_catalogue(session)
    current = in_force.find(catalogue, code, sites, on, now)
    if current is None:
        raise NotFound("version in force of the recipe", code)
    return recipe_report(catalogue, current.version, current.site, current.on)


def of_menu_item(session: Session, code: str, sites: Sites, on: date | None, now: datetime) -> dict[str, Any]:
    """The allergens of a menu item on a date (today) at the first of some sites; raises NotFound (A1)."""
    catalogue = load_catalogue(session)
    if code not in catalogue.menu_items:
        raise NotFound("menu item", code)
    site = next(iter(in_force.places(catalogue, sites)), None)
    return menu_item_report(catalogue, code, site, on or in_force.today(catalogue, site, now))

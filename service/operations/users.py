"""Users: everything that an ingredient reaches, as documents.

Responsible for who is told of which sites. Refuses to find users itself, and to know HTTP.
"""

from collections.abc import Collection
from datetime import datetime

from sqlalchemy.orm import Session

from service.errors import NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.json import Json
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Par
from service.kitchen.book.users import users_of
from service.operations.loading import group_today, load_catalogue


def ingredient_users(session: Session, code: str, sites: Collection[str] | None, now: datetime) -> Json:
    """What uses an ingredient today or later, at all sites or (for who sees only some) at those; raises NotFound.

    Each form, recipe version, menu item and par stands once, with the fewest recipes on a way up to it as its level.
    """
    catalogue = load_catalogue(session)
    ingredient = catalogue.ingredients.get(code)
    if ingredient is None:
        raise NotFound("ingredient", code)
    users = users_of(catalogue, code, group_today(catalogue, now), None if sites is None else sorted(sites))
    versions = sorted(users.versions.items(), key=lambda each: (each[1], each[0].recipe, each[0].number))
    return {
        "ingredient": code,
        "name": ingredient.name,
        "forms": [{"form": form.code, "name": form.name, "station": form.station, "level": 1} for form in ingredient.forms],
        "recipes": [_recipe(catalogue, code, version, level, sites) for version, level in versions],
        "menu_items": [
            {"menu_item": sold, "name": catalogue.menu_items[sold].name, "level": level}
            for sold, level in sorted(users.menu_items.items(), key=lambda each: (each[1], each[0]))
        ],
        "pars": [_par(catalogue, site, par, level) for (site, par), level in users.pars.items()],
    }


def _recipe(catalogue: Catalogue, ingredient: str, version: Version, level: int, sites: Collection[str] | None) -> Json:
    lines = [line.item for line in version.lines if line.item.ingredient == Item(ingredient) and not line.item.is_recipe]
    shown = None if version.sites is None else sorted(site for site in version.sites if sites is None or site in sites)
    return {
        "recipe": version.recipe,
        "title": version.title,
        "version": version.number,
        "from": version.starts_on.isoformat(),
        "sites": shown,
        "level": level,
        "direct": bool(lines),
        "items": [catalogue.titled(item) for item in dict.fromkeys(lines)],
    }


def _par(catalogue: Catalogue, site: str, par: Par, level: int) -> Json:
    return {
        "site": site,
        "item": catalogue.titled(par.item, site),
        "weekdays": sorted(par.weekdays),
        "by": f"{par.by:%H:%M}",
        "level": level,
    }

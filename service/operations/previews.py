"""Previews: what publishing a draft would do, with nothing saved.

Responsible for what the publisher is told: faults, warnings, changes, costs, allergens, hands-on time and forecasts
touched, each as far as the draft can be understood. Refuses to compute them, and to know HTTP.
"""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Room
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.changes import differences
from service.kitchen.book.item import Item
from service.kitchen.book.json import Json
from service.kitchen.book.recipe import Version
from service.kitchen.checks.additions import additions
from service.kitchen.checks.foresight import Compared, Foresight, Holder, Turnover
from service.kitchen.checks.recipe import cooking_yield, measureless, version_notes
from service.kitchen.costs.cost import Cost, MenuItemCost
from service.kitchen.measures.calendar import whole_minutes, write_duration
from service.kitchen.measures.money import write_decimal
from service.limits import FORECAST_DAYS_AHEAD
from service.operations.costs import missing, written
from service.operations.forecasts import show, site_rows
from service.operations.publishing import candidate, repeats_newest
from service.store import recipes


def preview(session: Session, code: str, request: Json, now: datetime) -> Json:
    """What publishing the draft from a date, everywhere or at some sites, would do; raises NotFound without a draft.

    What stands in the way is listed in ``faults``. What cannot be told of a draft with faults is null or left out.
    """
    asked = candidate(session, code, request, now)
    before, after, version, faults = asked.before, asked.after, asked.version, asked.faults
    if not faults and repeats_newest(recipes.versions(session, code), asked.row):
        faults.append(Fault("", "nothing_to_publish", "draft, date and sites are those of the newest version"))
    shown = Room().shown(faults)
    older = version_before(before, version)
    foresight = Foresight(before, after, version, older)
    measured = not measureless(faults)
    told = version_notes(after, version) if measured and not any(each.pointer.startswith("/batch") for each in faults) else []
    return {
        "recipe": code,
        "version": version.number,
        "from": version.starts_on.isoformat(),
        "sites": None if version.sites is None else sorted(version.sites),
        "compared_with": None if older is None else older.number,
        "faults": [show(each) for each in shown],
        **({"more_faults": len(faults) - len(shown)} if len(faults) > len(shown) else {}),
        "warnings": [each._asdict() for each in told],
        "cooking_yield": cooking_yield(after, version) if measured else None,
        "changes": differences(_document(session, older), asked.row.document),
        "acknowledge": [each.allergen for each in additions(before, after, asked.today)],
        "allergens": [_allergens(after, holder, each) for holder, each in foresight.allergens(max(asked.today, version.starts_on)).items()],
        "stations": _stations(foresight),
        "costs": [_costs(foresight, site) for site in _places(version)] if measured else [],
        "forecasts": _forecasts(session, foresight, now),
    }


def version_before(catalogue: Catalogue, version: Version) -> Version | None:
    """The version in force where and when a new one begins; where none is, the newest one."""
    replaced = (catalogue.in_force(version.recipe, site, version.starts_on) for site in _places(version))
    newest = next(iter(reversed(catalogue.versions.get(version.recipe, ()))), None)
    return next((each for each in replaced if each is not None), newest)


def _places(version: Version) -> list[str | None]:
    """The sites that a version is for, or None for all of them."""
    return [None] if version.sites is None else [*sorted(version.sites)]


def _document(session: Session, version: Version | None) -> Json | None:
    if version is None:
        return None
    return next(row.document for row in recipes.versions(session, version.recipe) if row.number == version.number)


def _allergens(catalogue: Catalogue, holder: Holder, turnover: Turnover) -> Json:
    return {**_named(catalogue, holder), "added": turnover.added.document(), "removed": turnover.removed.document()}


def _named(catalogue: Catalogue, holder: Holder) -> Json:
    if holder.is_menu_item:
        return {"menu_item": holder.code, "title": catalogue.menu_items[holder.code].name, "level": holder.level}
    return {"recipe": holder.code, "title": catalogue.title(Item.recipe(holder.code)), "level": holder.level}


def _stations(foresight: Foresight) -> list[Json]:
    """Hands-on time of an authored batch by station, stations in the order of lists."""
    catalogue, version = foresight.after, foresight.version
    spent = foresight.hands_on(_places(version)[0], version.starts_on)

    def order(code: str) -> tuple[int, str]:
        known = catalogue.stations.get(code)
        # A station that is gone from the catalogue comes last.
        return (known.position, code) if known else (10**9, code)

    return [
        {
            "station": code,
            "name": catalogue.station_name(code),
            "before": _duration(spent[code].before),
            "after": _duration(spent[code].after),
        }
        for code in sorted(spent, key=order)
    ]


def _duration(spent: timedelta | None) -> str:
    return write_duration(whole_minutes(spent or timedelta(0)))


def _costs(foresight: Foresight, site: str | None) -> Json:
    """What the recipe, all recipes above it and menu items cost before and after, at a site on the day on which the version begins."""
    catalogue, on = foresight.after, foresight.version.starts_on
    return {
        "site": site,
        "on": on.isoformat(),
        "recipes": [
            {
                "recipe": code,
                "title": catalogue.title(Item.recipe(code)),
                "before": _recipe_cost(catalogue, each.before),
                "after": _recipe_cost(catalogue, each.after),
            }
            for code, each in foresight.recipe_costs(site, on).items()
        ],
        "menu_items": [
            {"menu_item": code, "title": catalogue.menu_items[code].name, **_menu_item_costs(catalogue, each)}
            for code, each in foresight.menu_item_costs(site, on).items()
        ],
    }


def _recipe_cost(catalogue: Catalogue, cost: Cost | None) -> Json | None:
    if cost is None:
        return None
    return {"batch": written(cost.batch), "portion": written(cost.portion), "missing": missing(catalogue, cost.missing)}


def _menu_item_costs(catalogue: Catalogue, costs: Compared[MenuItemCost]) -> Json:
    return {name: _menu_item_cost(catalogue, each) for name, each in (("before", costs.before), ("after", costs.after))}


def _menu_item_cost(catalogue: Catalogue, cost: MenuItemCost | None) -> Json | None:
    if cost is None:
        return None
    percent = None if cost.food_cost_percent is None else Decimal(write_decimal(cost.food_cost_percent))
    return {
        "cost": written(cost.cost),
        "price": written(cost.price),
        "food_cost_percent": percent,
        "missing": missing(catalogue, cost.missing),
    }


def _forecasts(session: Session, foresight: Foresight, now: datetime) -> list[Json]:
    """The sites with guests on dates on which the version would be in force, and how many for which of its menu items."""
    told = []
    for code, site in sorted(foresight.after.sites.items()):
        if not foresight.version.applies_to(code):
            continue
        first = max(site.calendar().business_date(now), foresight.version.starts_on)
        last = max(first, site.calendar().business_date(now) + timedelta(days=FORECAST_DAYS_AHEAD))
        guests: dict[str, dict[str, Any]] = {}
        for row in site_rows(session, foresight.after, code, first, last):
            if row["count"] and row["menu_item"] in foresight.served(code, date.fromisoformat(row["date"])):
                counts = guests.setdefault(row["date"], {})
                counts[row["menu_item"]] = counts.get(row["menu_item"], 0) + row["count"]
        if guests:
            told.append({"site": code, "name": site.name, "dates": [_date(on, counts) for on, counts in guests.items()]})
    return told


def _date(on: str, counts: Json) -> Json:
    return {"date": on, "menu_items": [{"menu_item": code, "count": counts[code]} for code in sorted(counts)]}

"""Counted stock: what a count found, as lots that planning can use.

Responsible for a counted lot's use-by and version (domain P3). Refuses to know which count is the newest.
"""

from dataclasses import dataclass
from datetime import date, datetime

from service.errors import KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.measures.calendar import FOREVER, Calendar, Keeps, UseBy
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.stock import ALWAYS, Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """One lot of a count, of which ``number`` tells the order of recording; ``in_store`` only of raw ingredients."""

    item: Item
    quantity: Quantity
    counted_at: datetime
    made_on: date | None = None
    in_store: bool = False
    number: int = 0


def counted_lot(catalogue: Catalogue, site: str, calendar: Calendar, counted: Counted) -> Lot:
    """What a count found, wherever it stands: ready always, usable until its use-by (P3).

    Raises KitchenError where a quantity no longer converts.
    """
    made = counted.made_on or calendar.business_date(counted.counted_at)
    version = _made_by(catalogue, site, counted.item, made)
    conversions = version.conversions if version else catalogue.conversions(counted.item)
    if conversions is None:
        raise KitchenError(f"{counted.item.label} was counted and is no longer in the catalogue")
    use_by = _use_by(calendar, _keeps(catalogue, counted.item, version), made, counted.counted_at)
    amount = float(conversions.to_stock(counted.quantity))
    return Lot(
        item=counted.item,
        amount=amount,
        ready=ALWAYS,
        use_by=use_by,
        version=version.number if version else None,
        made=made,
        done=counted.counted_at,
    )


def _made_by(catalogue: Catalogue, site: str, item: Item, made: date) -> Version | None:
    """The version in force when a lot was made; where none was, the recipe's first one."""
    if not item.is_recipe:
        return None
    return catalogue.in_force(item.code, site, made) or next(iter(catalogue.versions.get(item.code, ())), None)


def _keeps(catalogue: Catalogue, item: Item, version: Version | None) -> Keeps | None:
    if version is not None:
        return version.keeps
    form = catalogue.form(item)
    return form.keeps if form else catalogue.ingredients[item.code].keeps


def _use_by(calendar: Calendar, keeps: Keeps | None, made: date, counted_at: datetime) -> UseBy:
    """Days count from the date of making, hours from the moment of counting; an ingredient that states nothing keeps (T6, P3)."""
    if keeps is None:
        return FOREVER
    return UseBy(counted_at + keeps.elapsed, included=True) if keeps.elapsed is not None else calendar.use_by_date(made, keeps.days)

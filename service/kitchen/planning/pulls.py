"""Pulls: what must come from store for a business date's needs, or from the tap, or from nowhere.

Responsible for the value, and for where an ingredient comes from (domain P13). Refuses to know what by-products and lots meet.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import Enum
from typing import NamedTuple

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Par, Site
from service.kitchen.measures.calendar import ZERO
from service.kitchen.planning.demand import Need, Share
from service.kitchen.planning.staffing import LOOKS_BACK, Staffing
from service.kitchen.planning.stock import Lot


class Whence(Enum):
    """Where an ingredient comes from: store, the tap, or nowhere but from what gives it."""

    STORE = "store"
    TAP = "tap"
    NOWHERE = "nowhere"


class Supply(NamedTuple):
    """Where an ingredient comes from, and how long it thaws."""

    whence: Whence
    thaw: timedelta


def supply_of(catalogue: Catalogue, site: Site, item: Item, store: Iterable[Lot]) -> Supply:
    """How an ingredient comes to a site; a by-product without packs there, of which nothing is in ``store``, comes from nowhere (P13)."""
    ingredient = catalogue.ingredients.get(item.code)
    if ingredient is None:
        return Supply(Whence.STORE, ZERO)
    if ingredient.on_tap:
        return Supply(Whence.TAP, ingredient.thaw)
    bought = any(pack.site in (None, site.code) for pack in ingredient.packs)
    given = not bought and item.code in catalogue.once("by-products", lambda: _by_products(catalogue))
    nowhere = given and not any(lot.item == item for lot in store)
    return Supply(Whence.NOWHERE if nowhere else Whence.STORE, ingredient.thaw)


def _by_products(catalogue: Catalogue) -> frozenset[str]:
    """The ingredients that trimming or cooking can give (Y2, Y3)."""
    forms = (form for ingredient in catalogue.ingredients.values() for form in ingredient.forms)
    versions = (version for versions in catalogue.versions.values() for version in versions)
    trimmed = {code for form in forms for code, _ in form.by_products}
    return frozenset(trimmed.union(code for version in versions for code, _ in version.by_products))


@dataclass(slots=True, kw_only=True)
class Pull:
    """What must come of an ingredient for the needs of one business date: from store, unless it is said ``whence`` (P13).

    It ``starts`` so that it has thawed by its need, and where a site states shifts while somebody is there (T7, K3).
    ``fed`` holds those needs with the part of each; of a fixed pull it is known for whom it was (``shares``), and at which
    ``stations``, before the site's map.
    """

    item: Item
    on: date
    at: datetime
    starts: datetime
    id: str
    thaw: timedelta = ZERO
    whence: Whence = Whence.STORE
    amount: float = 0.0
    fed: tuple[tuple[Need, float], ...] = field(default=(), repr=False, compare=False)
    pars: tuple[Par, ...] = ()
    shares: tuple[Share, ...] | None = None
    stations: tuple[str, ...] = ()


def pull_for(fed: Sequence[tuple[Need, float]], on: date, id_: str, supply: Supply, staffing: Staffing | None) -> tuple[Pull, bool]:
    """The pull for parts of needs of a business date, and whether nobody is there to make it in the 14 days before (P13, T7, K3)."""
    need, amount = fed[0]
    for _, part in fed[1:]:
        amount += part
    starts = need.at - supply.thaw if supply.thaw else need.at
    staffed: datetime | None = starts
    if staffing is not None and supply.whence is Whence.STORE:
        staffed = staffing.on_shift_by(starts, need.at - LOOKS_BACK)
    pull = Pull(
        item=need.item,
        on=on,
        at=need.at,
        starts=staffed or starts,
        id=id_,
        thaw=supply.thaw,
        whence=supply.whence,
        amount=amount,
        fed=tuple(fed),
        pars=tuple(dict.fromkeys(par for need, _ in fed for par in need.pars)),
    )
    return pull, staffed is None

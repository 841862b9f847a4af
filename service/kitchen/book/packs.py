"""Packs: what an ingredient is bought in, and which packs and prices hold at a site on a date.

Responsible for the choice of packs in force (domain C1). Refuses to know recipes and what is ordered.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.kitchen.measures.money import Money, read_money
from service.kitchen.measures.units import Quantity

OWN_ALONE = "a site that has packs of its own buys those alone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A pack as bought: its price from a date on (None: always), at one site or, with None, at all."""

    label: str
    quantity: Quantity
    price: Money | None
    starts_on: date | None
    site: str | None

    @property
    def since(self) -> date:
        """The date from which the pack is in force."""
        return self.starts_on or date.min


def read_pack(document: Mapping[str, Any]) -> Pack:
    """A pack from its document."""
    starts_on = document["from"]
    return Pack(
        label=document["label"],
        quantity=Quantity.read(document["quantity"]),
        price=read_money(document["price"]),
        starts_on=None if starts_on is None else date.fromisoformat(starts_on),
        site=document["site"],
    )


def packs_in_force(packs: Iterable[Pack], site: str | None, on: date) -> tuple[Pack, ...]:
    """The packs that a site can buy on a date, as authored (C1).

    A label names a pack: of its entries that have begun, those of the newest date hold, so that a new price or size takes the
    place of the old one; of two alike the one authored last. Where a site has a pack of its own in force, packs for all
    sites are not looked at, even if its own has no price.
    """
    begun = [pack for pack in packs if pack.since <= on]
    own = [pack for pack in begun if site is not None and pack.site == site]
    candidates = own or [pack for pack in begun if pack.site is None]
    newest: dict[str, date] = {}
    for pack in candidates:
        newest[pack.label] = max(pack.since, newest.get(pack.label, date.min))
    held = {(pack.label, pack.quantity): pack for pack in candidates if pack.since == newest[pack.label]}
    return tuple(held.values())

"""Pulls: what must come from store for a business date's needs.

Responsible for the value alone (domain P13). Refuses to know what by-products and lots meet.
"""

from dataclasses import dataclass, field
from datetime import date, datetime

from service.kitchen.book.item import Item
from service.kitchen.book.site import Par
from service.kitchen.planning.demand import Need, Share


@dataclass(slots=True, kw_only=True)
class Pull:
    """What must come from store of an ingredient for the needs of one business date (P13).

    ``fed`` holds those needs with the part of each; of a fixed pull it is known for whom it was (``shares``), and at which
    ``stations``, before the site's map.
    """

    item: Item
    on: date
    at: datetime
    starts: datetime
    id: str
    amount: float = 0.0
    fed: list[tuple[Need, float]] = field(default_factory=list, repr=False, compare=False)
    pars: list[Par] = field(default_factory=list)
    shares: tuple[Share, ...] | None = None
    stations: tuple[str, ...] = ()

"""Two sites and two menu items: enough of a catalogue for what sites send."""

from decimal import Decimal
from typing import Any

from sqlalchemy.orm import Session

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import read_menu_item, read_site
from service.store import collections

PERIODS = [
    {"code": "lunch", "name": "Lunch", "ready_by": "11:30", "ends": "14:00"},
    {"code": "dinner", "name": "Dinner", "ready_by": "17:00", "ends": None},
]
SITE: dict[str, Any] = {
    "name": "Mill Street",
    "time_zone": "America/New_York",
    "units": "us",
    "day_starts": "04:00",
    "buffer": Decimal("0.1"),
    "periods": PERIODS,
    "station_map": {},
    "vessels": [],
    "equipment": [],
    "equipment_map": {},
    "shifts": [],
    "pars": [],
}
MENU_ITEM: dict[str, Any] = {
    "name": "Soup bowl",
    "price": None,
    "buffer": None,
    "components": [],
    "codes": [{"source": "till-east", "till_code": "1042"}],
    "sold_from": None,
    "sold_until": None,
}
CATALOGUE = Catalogue(
    sites={code: read_site(code, SITE) for code in ("mill-street", "harbour")},
    menu_items={
        "soup-bowl": read_menu_item("soup-bowl", MENU_ITEM),
        "salad": read_menu_item("salad", MENU_ITEM | {"codes": [], "buffer": Decimal("0.05")}),
    },
)


def prepare(session: Session) -> None:
    for code in CATALOGUE.sites:
        collections.save(session, "sites", code, SITE)
    for code in CATALOGUE.menu_items:
        collections.save(session, "menu_items", code, MENU_ITEM)

"""A small catalogue with prices for tests of the interface: two sites, a soup that is sold, packs in two currencies.

Responsible for the numbers that tests of costs and orders start from. Refuses to know any rule.
"""

from collections.abc import Mapping
from typing import Any

from tests.api.caller import Caller

Json = dict[str, Any]
TODAY = "2026-12-02"


def measure(text: str) -> Json:
    amount, unit = text.split(" ")
    return {"amount": float(amount) if "." in amount else int(amount), "unit": unit}


def money(text: str) -> Json:
    amount, currency = text.split(" ")
    return {"amount": amount, "currency": currency}


def pack(amount: str, price: str | None, label: str = "case", **fields: Any) -> Json:
    return {"label": label, "quantity": measure(amount), "price": None if price is None else money(price), **fields}


def site(code: str, zone: str = "America/New_York") -> Json:
    return {"code": code, "name": code, "time_zone": zone, "periods": [{"code": "lunch", "name": "Lunch", "ready_by": "12:00"}]}


def line(item: Json, amount: str) -> Json:
    return {"item": item, "quantity": measure(amount)}


DICE = {
    "code": "dice",
    "name": "diced",
    "station": "veg",
    "trim_yield": 0.8,
    "keeps": "P1D",
    "by_products": [{"ingredient": "trim", "fraction": 0.1}],
}
CATALOGUE: Json = {
    "stations": [{"code": "veg", "name": "Veg"}],
    "ingredients": [
        {
            "code": "onion",
            "name": "Onion",
            "kind": "mass",
            "forms": [DICE],
            "packs": [pack("10 kg", "8.00 EUR", "sack"), pack("5 kg", "3.00 USD", "bag", site="east")],
        },
        {"code": "trim", "name": "Trimmings", "kind": "mass", "value": money("0.40 EUR")},
        {"code": "lentils", "name": "Lentils", "kind": "mass", "packs": [pack("1 kg", "2.00 EUR", "bag")]},
        {"code": "salt", "name": "Salt", "kind": "mass"},
    ],
    "recipes": [
        {
            "code": "soup",
            "title": "Soup",
            "station": "veg",
            "yield": measure("10 L"),
            "portion": measure("250 mL"),
            "lines": [
                line({"ingredient": "onion", "form": "dice"}, "2 kg"),
                line({"ingredient": "lentils"}, "1 kg"),
                line({"ingredient": "salt"}, "40 g"),
            ],
            "steps": [{"text": "Cook."}],
            "gains_water": True,
            "publish_from": "2026-01-01",
        }
    ],
    "menu_items": [
        {"code": "bowl", "name": "Bowl", "price": money("4.00 EUR"), "components": [{"recipe": "soup", "quantity": measure("1 portion")}]}
    ],
    "sites": [site("east"), site("west", "Europe/Dublin"), site("young")],
}


def open_shop(director: Caller, counts: Mapping[tuple[str, str], int] | None = None) -> None:
    """Import the catalogue and forecast bowls by site and date."""
    answer = director.post("/v1/imports", CATALOGUE)
    assert answer.status_code == 200, answer.get_json()
    entries = [
        {"site": where, "date": on, "period": "lunch", "menu_item": "bowl", "count": count} for (where, on), count in (counts or {}).items()
    ]
    pushed = director.post("/v1/forecasts", {"source": "till", "as_of": "2026-12-02T06:00:00-05:00", "entries": entries})
    assert pushed.get_json()["stored"] == len(entries), pushed.get_json()


def count_store(director: Caller, where: str, lots: Mapping[str, str]) -> None:
    """Count what stands in store."""
    rows = [{"item": {"ingredient": code}, "quantity": measure(amount), "in": "store"} for code, amount in lots.items()]
    answer = director.post(f"/v1/sites/{where}/counts", {"counted_at": "2026-12-02T06:30:00-05:00", "lots": rows})
    assert answer.status_code == 201, answer.get_json()

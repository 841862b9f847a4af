"""Examples for the published document: an invented group with a bakery-café, a canteen and a conference kitchen.

Responsible for bodies that the interface accepts as they stand. Refuses to be data of any kitchen.
"""

from typing import Final

from service.kitchen.book.json import Json

CODES: Final = {
    "stations": "veg",
    "equipment": "deck-oven",
    "ingredients": "potato",
    "recipes": "lentil-soup",
    "menu-items": "soup-bowl",
    "sites": "mill-street",
}
PLACES: Final[Json] = {"site": "mill-street", "date": "2026-12-03", "period": "lunch", "menu_item": "soup-bowl", "number": 1}

STATION: Final[Json] = {"name": "Vegetable prep", "position": 10}
DECK_OVEN: Final[Json] = {"name": "Deck oven", "position": 10}
POTATO: Final[Json] = {
    "name": "Floury potato",
    "kind": "mass",
    "equivalents": [{"a": {"amount": 1, "unit": "each"}, "b": {"amount": 200, "unit": "g"}, "source": "weighed, ten pieces"}],
    "storage": "dry",
    "forms": [
        {
            "code": "peeled-chunks",
            "name": "peeled, 4 cm chunks, in water",
            "station": "veg",
            "trim_yield": 0.75,
            "by_products": [{"ingredient": "veg-trim", "fraction": 0.08}],
            "keeps": "P1D",
            "active": {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"},
        }
    ],
    "packs": [
        {"label": "sack", "quantity": {"amount": 25, "unit": "kg"}, "price": {"amount": "17.50", "currency": "EUR"}, "from": "2026-11-01"}
    ],
}
SOUP: Final[Json] = {
    "title": "Lentil soup",
    "station": "hot-line",
    "ready_to_eat": True,
    "storage": "cold",
    "yield": {"amount": 20, "unit": "L"},
    "portion": {"amount": 240, "unit": "mL"},
    "keeps": "P2D",
    "batch": {"largest": {"amount": 30, "unit": "L"}},
    "lines": [
        {"item": {"ingredient": "potato", "form": "peeled-chunks"}, "quantity": {"amount": 2, "unit": "kg"}, "step": 1},
        {
            "item": {"ingredient": "cumin"},
            "quantity": {"amount": 40, "unit": "g"},
            "scaling": {"rule": "power", "exponent": 0.8},
            "step": 1,
        },
        {
            "item": {"ingredient": "salt"},
            "quantity": {"amount": 1.8, "unit": "percent"},
            "scaling": {"rule": "percent", "of": [1]},
            "step": 2,
        },
    ],
    "steps": [
        {"text": "Sweat the potato.", "why": "Browning would sweeten and darken the soup.", "active": "PT15M"},
        {
            "text": "Simmer.",
            "active": "PT10M",
            "passive": {"min": "PT50M", "target": "PT1H", "max": "PT90M"},
            "safety": {"kind": "cook", "class": "plant"},
            "set_to": {"amount": 95, "unit": "degC"},
        },
    ],
}
PUBLICATION: Final[Json] = {"from": "2026-12-02", "sites": None, "note": "winter menu", "acknowledge": ["milk"]}
WITHDRAWAL: Final[Json] = {"from": "2026-12-15", "note": "back to the older one"}
SCALING: Final[Json] = {"to": {"quantity": {"amount": 350, "unit": "portion"}}}
SOUP_BOWL: Final[Json] = {
    "name": "Soup bowl",
    "price": {"amount": "6.50", "currency": "USD"},
    "components": [{"recipe": "lentil-soup", "quantity": {"amount": 1, "unit": "portion"}}],
    "codes": [{"source": "till-east", "till_code": "1042"}],
}
SITE: Final[Json] = {
    "name": "Mill Street bakery-café",
    "time_zone": "America/Chicago",
    "units": "us",
    "day_starts": "04:00",
    "buffer": 0.05,
    "periods": [
        {"code": "breakfast", "name": "Breakfast", "ready_by": "07:00"},
        {"code": "lunch", "name": "Lunch", "ready_by": "11:30"},
        {"code": "dinner", "name": "Early dinner", "ready_by": "17:00"},
    ],
    "station_map": {"bakery": "cold-line"},
    "vessels": [{"recipe": "lentil-soup", "largest": {"amount": 15, "unit": "L"}}],
    "pars": [{"item": {"recipe": "lentil-soup"}, "level": {"amount": 5, "unit": "L"}, "weekdays": [1, 2, 3, 4, 5], "by": "09:00"}],
    "equipment": [
        {
            "equipment": "deck-oven",
            "count": 2,
            "load": [{"amount": 8, "unit": "tray"}, {"amount": 24, "unit": "each"}],
            "turn_round": "PT10M",
            "shared": False,
        }
    ],
    "equipment_map": {"combi-oven": "deck-oven"},
    "shifts": [
        {
            "name": "Early",
            "stations": ["hot-line", "cold-line", "veg"],
            "weekdays": [1, 2, 3, 4, 5],
            "from": "06:00",
            "until": "14:00",
            "cooks": 2,
        }
    ],
}
CAPACITY: Final[Json] = {
    "shifts": [{"name": "Early", "stations": ["hot-line", "cold-line", "veg"], "from": "06:00", "until": "14:00", "cooks": 1}],
    "equipment": None,
    "note": "one cook short",
}
IMPORT: Final[Json] = {
    "stations": [{"code": "veg", **STATION}],
    "equipment": [{"code": "deck-oven", **DECK_OVEN}],
    "ingredients": [{"code": "cumin", "name": "Cumin, ground", "kind": "mass"}, {"code": "potato", **POTATO}],
    "recipes": [{"code": "lentil-soup", "publish_from": "2026-12-02", **SOUP}],
}
PUSH: Final[Json] = {
    "source": "till-east",
    "as_of": "2026-12-01T21:00:00-06:00",
    "entries": [
        {"site": "mill-street", "date": "2026-12-03", "period": "lunch", "till_code": "1042", "count": 180},
        {
            "site": "mill-street",
            "date": "2026-12-03",
            "period": "dinner",
            "menu_item": "soup-bowl",
            "count": 120,
            "event": {"code": "banquet-12", "serve_at": "19:30", "buffer": 0.03},
        },
    ],
}
PUSHED: Final[Json] = {"accepted": 2, "stored": 2, "unchanged": 0, "superseded": 0, "refused": [], "unmapped": [], "past": []}
OVERRIDE: Final[Json] = {"count": 200, "add": 12, "note": "the choir eats with us"}
COUNT: Final[Json] = {
    "counted_at": "2026-12-01T21:30:00-06:00",
    "lots": [
        {"item": {"recipe": "lentil-soup"}, "quantity": {"amount": 6, "unit": "L"}, "made_on": "2026-12-01"},
        {"item": {"ingredient": "cumin"}, "quantity": {"amount": "2 1/2", "unit": "oz"}, "in": "store"},
    ],
}
TOKEN: Final[Json] = {"name": "Mill Street pass", "role": "kitchen", "sites": ["mill-street"], "days": 365}

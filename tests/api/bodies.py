"""Small bodies that the interface accepts, for tests to change."""

from copy import deepcopy
from typing import Any

Json = dict[str, Any]
G = {"amount": 100, "unit": "g"}

STATION: Json = {"name": "Vegetable prep", "position": 10}
INGREDIENT: Json = {"name": "Yellow onion", "kind": "mass"}
FORM: Json = {"code": "small-dice", "name": "small dice", "station": "veg", "trim_yield": 0.88}
LINE: Json = {"item": {"ingredient": "onion"}, "quantity": G}
DRAFT: Json = {"title": "Soup", "station": "veg", "yield": {"amount": 20, "unit": "L"}, "lines": [LINE], "steps": [{"text": "Cook."}]}
COMPONENT: Json = {"recipe": "soup", "quantity": {"amount": 1, "unit": "L"}}
MENU_ITEM: Json = {"name": "Soup bowl", "components": [COMPONENT]}
PERIOD: Json = {"code": "lunch", "name": "Lunch", "ready_by": "11:30"}
SITE: Json = {"name": "Mill Street", "time_zone": "America/New_York", "periods": [PERIOD]}


def changed(body: Json, **changes: Any) -> Json:
    """A copy of a body with some fields set; ``...`` leaves a field out."""
    copy = deepcopy(body) | changes
    return {name: value for name, value in copy.items() if value is not ...}

"""A kitchen of its own for one published example: put over HTTP, asked over HTTP.

Responsible for writing a source's example as catalogue, forecasts and counts in as few words as the
source takes. Refuses to know any source's numbers.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from werkzeug.test import TestResponse

from tests.api.caller import Caller

Json = dict[str, Any]
TODAY = date(2026, 12, 2)
STATION = "bench"


def measure(text: str) -> Json:
    """The quantity that ``2 1/2 lb`` writes.

    >>> measure("2 1/2 lb")
    {'amount': '2 1/2', 'unit': 'lb'}
    """
    amount, unit = text.rsplit(" ", 1)
    return {"amount": amount, "unit": unit}


def line(item: str, quantity: str, **fields: Any) -> Json:
    """A line: ``carrot/peeled`` names a form, ``=dough`` a recipe, a bare word an ingredient."""
    ingredient, _, form = item.partition("/")
    made_ready = {"ingredient": ingredient, "form": form} if form else {"ingredient": ingredient}
    reference = {"recipe": item[1:]} if item.startswith("=") else made_ready
    return {"item": reference, "quantity": measure(quantity), **fields}


def percent(item: str, share: float | str, *of: int) -> Json:
    """A line in percent of the lines numbered ``of``."""
    return line(item, f"{share} percent", scaling={"rule": "percent", "of": list(of)})


def named(document: Json) -> str:
    """An item of an answer, as ``line`` names it."""
    item = document["item"]
    return "/".join(str(item[key]) for key in ("ingredient", "form", "recipe") if key in item)


def amounts(rows: Sequence[Json]) -> dict[str, float]:
    """Canonical amounts by item."""
    return {named(row): row["quantity"]["amount"] for row in rows}


class House:
    """One site with one meal a day at noon UTC, so that a date's needs stand at one moment."""

    def __init__(self, director: Caller) -> None:
        self.director = director
        self.ingredients: list[Json] = []
        self.recipes: list[Json] = []
        self.menu_items: list[Json] = []

    def ingredient(self, code: str, kind: str = "mass", **fields: Any) -> None:
        self.ingredients.append({"code": code, "name": code, "kind": kind, **fields})

    def trimmed(self, code: str, trim_yield: float, **fields: Any) -> None:
        """An ingredient with one form, ``ready``, of a published yield."""
        form = {"code": "ready", "name": "ready", "station": STATION, "trim_yield": trim_yield, "keeps": "P1D"}
        self.ingredient(code, forms=[form | fields])

    def recipe(self, code: str, makes: str, lines: Sequence[Json], **fields: Any) -> None:
        steps = fields.pop("steps", [{"text": "Make it."}])
        document = {"code": code, "title": code, "station": STATION, "yield": measure(makes), "lines": list(lines), "steps": steps}
        self.recipes.append(document | {"publish_from": "2026-01-01"} | fields)

    def sold(self, code: str) -> None:
        """Sell pieces of a recipe as a menu item of the same code."""
        self.menu_items.append({"code": code, "name": code, "components": [{"recipe": code, "quantity": measure("1 each")}]})

    def open(self) -> "House":
        """Import what was written so far."""
        body = {
            "stations": [{"code": STATION, "name": "Bench"}],
            "ingredients": self.ingredients,
            "recipes": self.recipes,
            "menu_items": self.menu_items,
            "sites": [
                {"code": "house", "name": "House", "time_zone": "UTC", "periods": [{"code": "noon", "name": "Noon", "ready_by": "12:00"}]}
            ],
        }
        self.done(self.director.post("/v1/imports", body), 200)
        return self

    def scaled(self, recipe: str, to: str, units: str = "metric") -> Json:
        """The recipe scaled to a quantity of its yield."""
        body = {"to": {"quantity": measure(to)}, "units": units}
        return self.done(self.director.post(f"/v1/recipes/{recipe}/scalings", body), 200)

    def from_what_is_here(self, recipe: str, ingredient: str, have: str, units: str = "metric") -> Json:
        """The recipe scaled to what there is of an ingredient."""
        body = {"to": {"have": {"item": {"ingredient": ingredient}, "quantity": measure(have)}}, "units": units}
        return self.done(self.director.post(f"/v1/recipes/{recipe}/scalings", body), 200)

    def expect(self, gross: Mapping[int, int], menu_item: str) -> None:
        """Forecast a menu item; days count from 1, which is today."""
        entries = [
            {"site": "house", "date": self.day(number), "period": "noon", "menu_item": menu_item, "count": count}
            for number, count in gross.items()
        ]
        push = {"source": "books", "as_of": "2026-12-01T12:00:00Z", "entries": entries}
        answer = self.done(self.director.post("/v1/forecasts", push), 200)
        assert answer["stored"] == len(entries)

    def count(self, lots: Mapping[str, str]) -> None:
        """Count what is on hand at the start; a raw ingredient stands in the kitchen."""
        rows = [
            {"item": line(item, quantity)["item"], "quantity": measure(quantity), "made_on": self.day(1)}
            | ({} if item.startswith("=") else {"in": "kitchen"})
            for item, quantity in lots.items()
        ]
        self.done(self.director.post("/v1/sites/house/counts", {"counted_at": "2026-12-02T06:00:00Z", "lots": rows}), 201)

    def day(self, number: int) -> str:
        return (TODAY + timedelta(days=number - 1)).isoformat()

    def number(self, moment: str) -> int:
        """The number of the day of a moment."""
        return (date.fromisoformat(moment[:10]) - TODAY).days + 1

    def lists(self, days: int) -> list[Json]:
        """The lists of the first ``days`` days, of one plan."""
        path = "/v1/sites/house/prep-lists/{}?from={}"
        return [self.done(self.director.get(path.format(self.day(number), self.day(1))), 200) for number in range(1, days + 1)]

    @staticmethod
    def done(answer: TestResponse, status: int) -> Json:
        """The body of an answer that is as it should be."""
        assert answer.status_code == status, answer.get_data(as_text=True)
        body: Json = answer.get_json()
        return body

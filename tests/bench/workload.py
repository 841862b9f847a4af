"""A group of kitchens to measure on: documents of any size in which every rule occurs, in stated shares, the same ones every time.

Responsible for bodies that the interface takes, and for what the plain baseline explodes of them. Refuses to know what is measured.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from random import Random
from typing import Any

from tests.bench.shares import CANONICAL, DEPTH, KEEPS, PERIODS, SHARES, SOURCE, STATIONS, UNITS

Document = dict[str, Any]

START = date(2026, 12, 2)
NOW = datetime.fromisoformat("2026-12-02T05:00:00-06:00")


@dataclass(frozen=True)
class Size:
    """How much there is of everything; ``lines`` of a recipe, ``depth`` of recipes upon recipes."""

    sites: int
    menu_items: int
    recipes: int
    ingredients: int
    lines: int = 8
    depth: int = 5


SIZES = {"tiny": Size(3, 10, 30, 60), "mid": Size(20, 60, 150, 400), "large": Size(20, 400, 1500, 3000)}


@dataclass
class Plain:
    """What a plain explosion knows, in g, mL or each: of each recipe its yield and what a batch takes, of each menu item its parts."""

    recipes: list[tuple[str, float, list[tuple[str, float]]]] = field(default_factory=list)
    parts: list[list[tuple[str, float]]] = field(default_factory=list)


class Workload:
    """Documents of a group of some size."""

    def __init__(self, size: Size, seed: int = 7) -> None:
        self.size = size
        self.plain = Plain()
        self._random = Random(seed)
        self._kinds: dict[str, str] = {}
        self._gifts: list[str] = []
        self.ingredients: list[Document] = []
        for number in range(size.ingredients):
            self._add_ingredient(number)
        self._levels = _levels(size)
        self._recipe_kinds = self._random.choices(tuple(CANONICAL), (5, 3, 2), k=size.recipes)
        self.recipes = [self._recipe(number) for number in range(size.recipes)]
        self.menu_items = [self._menu_item(number) for number in range(size.menu_items)]
        self.sites = [self._site(number) for number in range(size.sites)]

    def catalogue(self) -> Document:
        """All of it as the body of an import."""
        stations = [{"code": f"st-{number}", "name": f"Station {number}", "position": number} for number in range(STATIONS)]
        return {
            "stations": stations,
            "ingredients": self.ingredients,
            "recipes": self.recipes,
            "menu_items": self.menu_items,
            "sites": self.sites,
        }

    def _is(self, name: str) -> bool:
        return self._random.random() < SHARES[name]

    def _add_ingredient(self, number: int) -> None:
        code = f"i-{number}"
        counted = self._is("an ingredient is counted in pieces")
        kind = "count" if counted else "volume" if self._is("an ingredient is measured by volume") else "mass"
        self._kinds[code] = kind
        density = {"a": {"amount": 1, "unit": "mL"}, "b": {"amount": rounded(self._random.uniform(0.4, 1.4)), "unit": "g"}}
        document: Document = {"code": code, "name": f"Ingredient {number}", "kind": kind, "equivalents": [] if counted else [density]}
        if self._is("an ingredient thaws for a day"):
            document |= {"thaw": "P1D", "storage": "frozen"}
        if self._is("an ingredient keeps two days"):
            document["keeps"] = "P2D"
        if self._is("an ingredient has forms"):
            document |= self._forms(code, kind)
        self.ingredients.append(document)

    def _forms(self, code: str, kind: str) -> Document:
        """Two forms, of one cut or each for itself; one of them may be drawn in whole pieces or give trimmings."""
        cut = "joint" if self._is("forms are of one cut") else None
        found: Document = {"forms": []}
        for name, trim_yield in (("first", 0.4), ("second", 0.3)) if cut else (("diced", 0.85), ("sliced", 0.9)):
            hands_on = {"set_up": "PT5M", "per": {"amount": 1, "unit": CANONICAL[kind]}, "time": "PT1S"}
            form: Document = {"code": name, "name": name.title(), "station": self._station(), "trim_yield": trim_yield}
            form |= {"cut": cut, "keeps": "P2D", "active": hands_on}
            if self._is("a form is made for two dates"):
                form["makes_for"] = 2
            if self._is("a form is drawn in whole pieces"):
                form["whole"] = True
                found["piece"] = {"amount": 1 if kind == "count" else 900, "unit": CANONICAL[kind]}
            if self._is("a form gives a by-product"):
                form["by_products"] = [{"ingredient": self._gift(f"{code}-trim", kind), "fraction": 0.08}]
            found["forms"].append(form)
        return found

    def _gift(self, code: str, kind: str) -> str:
        """An ingredient that comes as a by-product; some recipe draws it."""
        if code not in self._kinds:
            self._kinds[code] = kind
            self._gifts.append(code)
            self.ingredients.append({"code": code, "name": code.title(), "kind": kind, "keeps": "P2D"})
        return code

    def _station(self) -> str:
        return f"st-{self._random.randrange(STATIONS)}"

    def _recipe(self, number: int) -> Document:
        kind = self._recipe_kinds[number]
        made = self._random.randint(8, 48) if kind == "count" else self._random.randint(2, 20) * 500
        unit = CANONICAL[kind]
        document: Document = {
            "code": f"r-{number}",
            "title": f"Recipe {number}",
            "station": self._station(),
            "yield": {"amount": made, "unit": unit},
            "gains_water": True,
            "keeps": self._random.choice(KEEPS),
            "steps": self._steps(),
            "batch": self._batch(made, unit),
            "publish_from": str(START - timedelta(30)),
        }
        if self._is("a recipe is made for two or three dates"):
            document |= {"makes_for": self._random.choice((2, 3)), "keeps": "P5D"}
        if self._is("a recipe gives a by-product"):
            document["by_products"] = [{"ingredient": self._gift(f"r-{number}-skim", "mass"), "quantity": {"amount": 100, "unit": "g"}}]
        self.plain.recipes.append((document["code"], float(made), []))
        document["lines"] = lines = [self._line(number) for _ in range(self._lines())]
        for place, line in enumerate(lines):
            if place and _weighed(line) and _weighed(lines[0]) and self._is("a line is a percentage of the first"):
                line |= {"quantity": {"amount": 10, "unit": "percent"}, "scaling": {"rule": "percent", "of": [1]}}
        return document

    def _lines(self) -> int:
        return self._random.randint(max(1, self.size.lines // 2), self.size.lines * 3 // 2)

    def _line(self, number: int) -> Document:
        """A line of a recipe, of one further down or of an ingredient."""
        level = self._levels[number]
        below = [each for each in range(number + 1, self.size.recipes) if self._levels[each] > level][:400]
        if below and self._is("a line calls another recipe"):
            child = self._random.choice(below)
            item: Document = {"recipe": f"r-{child}"}
            kind, trim_yield = self._recipe_kinds[child], 1.0
        else:
            ingredient = self._random.choice(self.ingredients)
            item, kind, trim_yield = {"ingredient": ingredient["code"]}, ingredient["kind"], 1.0
            forms = ingredient.get("forms", [])
            if forms and self._is("a line calls a form where there is one"):
                form = self._random.choice(forms)
                item["form"], trim_yield = form["code"], form["trim_yield"]
            elif ingredient.get("equivalents") and kind == "mass" and self._is("a line crosses from volume to mass"):
                return self._weigh(number, item, ingredient)
        unit = self._random.choice(tuple(UNITS[kind]))
        amount = self._random.randint(1, 6) if kind == "count" else rounded(self._random.uniform(20, 800) / UNITS[kind][unit])
        self._takes(number, item, amount * UNITS[kind][unit] / trim_yield)
        return {"item": item, "quantity": {"amount": amount, "unit": unit}, "step": 1, **self._scaling(kind)}

    def _weigh(self, number: int, item: Document, ingredient: Document) -> Document:
        """A line that is measured by volume, of an ingredient that is kept by mass."""
        amount = self._random.randint(20, 800)
        self._takes(number, item, amount * ingredient["equivalents"][0]["b"]["amount"])
        return {"item": item, "quantity": {"amount": amount, "unit": "mL"}, "step": 1, **self._scaling("mass")}

    def _takes(self, number: int, item: Document, amount: float) -> None:
        self.plain.recipes[number][2].append((item.get("recipe") or item["ingredient"], amount))

    def _scaling(self, kind: str) -> Document:
        """How a line follows the batch (S2)."""
        if self._is("a line takes a power of the batch"):
            return {"scaling": {"rule": "power", "exponent": 0.585}}
        if self._is("a line goes by tested points"):
            return {"scaling": {"rule": "tested", "points": [[1, 1], [2, 2], [10, 6]]}}
        if self._is("a line takes the same each batch"):
            return {"scaling": {"rule": "per_batch"}}
        if kind == "mass" and self._is("a line is critical"):
            return {"critical": True}
        return {}

    def _steps(self) -> list[Document]:
        first: Document = {"text": "Do.", "active": f"PT{self._random.randint(5, 40)}M"}
        if self._is("a recipe rests over night"):
            first["passive"] = "PT10H"
        elif self._is("a recipe rests for a window"):
            first["passive"] = {"min": "PT1H", "target": "PT2H", "max": "PT4H"}
        second = {"text": "Finish.", "active": "PT10M", "station": self._station()}
        return [first, second] if self._is("a recipe has steps at two stations") else [first]

    def _batch(self, made: int, unit: str) -> Document:
        """A batch rule with multiple ≤ smallest ≤ largest (S3)."""
        rule: Document = {"split": "full" if self._is("full batches go before a rest") else "equal"}
        step = max(1, made // 10)
        if self._is("a recipe is made in whole multiples"):
            rule["multiple"] = {"amount": step, "unit": unit}
        if self._is("a recipe has a smallest batch"):
            rule["smallest"] = {"amount": 2 * step, "unit": unit}
        if self._is("a recipe has a largest batch"):
            rule["largest"] = {"amount": 2 * made, "unit": unit}
        return rule

    def _menu_item(self, number: int) -> Document:
        highest = [each for each, level in enumerate(self._levels) if level == 0]
        components = []
        self.plain.parts.append([])
        for recipe in self._random.sample(highest, self._random.randint(1, min(3, len(highest)))):
            kind = self._recipe_kinds[recipe]
            amount = self._random.randint(1, 2) if kind == "count" else self._random.randint(2, 15) * 20
            uptake = 0.5 if self._is("half of the guests take a component") else 1
            components.append({"recipe": f"r-{recipe}", "quantity": {"amount": amount, "unit": CANONICAL[kind]}, "uptake": uptake})
            self.plain.parts[number].append((f"r-{recipe}", amount * uptake))
        codes = [{"source": SOURCE, "till_code": str(number)}] if self._is("a menu item is known by a till code") else []
        return {"code": f"m-{number}", "name": f"Dish {number}", "components": components, "codes": codes}

    def _site(self, number: int) -> Document:
        def chosen(name: str) -> list[Document]:
            return [recipe for recipe in self.recipes if self._is(name)]

        return {
            "code": f"s-{number}",
            "name": f"Site {number}",
            "time_zone": "America/Chicago",
            "day_starts": "03:00",
            "buffer": 0.05,
            "periods": [{"code": code, "name": code.title(), "ready_by": at} for code, at in PERIODS.items()],
            "vessels": [
                {"recipe": each["code"], "largest": {**each["yield"], "amount": each["yield"]["amount"]}}
                for each in chosen("a site has a vessel for a recipe")[:200]
            ],
            "pars": [
                {"item": {"recipe": each["code"]}, "level": each["yield"], "weekdays": [1, 2, 3, 4, 5], "by": "09:00"}
                for each in chosen("a site has a par of a recipe")[:500]
            ],
        }


def _levels(size: Size) -> list[int]:
    """How far down each recipe stands, the highest first."""
    shares = DEPTH[: size.depth]
    numbers = [round(size.recipes * share / sum(shares)) for share in shares]
    levels = [level for level, number in enumerate(numbers) for _ in range(max(number, 1))]
    return (levels + [size.depth - 1] * size.recipes)[: size.recipes]


def _weighed(line: Document) -> bool:
    """Whether a line is in a unit of mass, and follows the batch."""
    return line["quantity"]["unit"] in UNITS["mass"] and "scaling" not in line


def rounded(number: float) -> float:
    """A number of three decimals, above nothing."""
    return max(round(number, 3), 0.001)

"""A larder for tests: kitchens and moments from a few words.

Responsible for small, complete kitchen values with plain defaults, read from full documents as the
service reads them, so that their shapes stay true. Refuses to know any rule and to decide what a test
is about.

Words: a quantity is "2.5 kg" or "2 1/2 cup"; an item is "onion", "onion/small-dice" or "recipe soup";
a moment is "2026-12-01 12:00" on the clock of the site.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient, read_ingredient
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version, read_version
from service.kitchen.book.site import MenuItem, Site, read_menu_item, read_site, read_station

Document = dict[str, Any]

MON, TUE, WED, THU, FRI, SAT, SUN = (date(2026, 11, 30) + timedelta(days=number) for number in range(7))
LONG_AGO = date(2026, 1, 1)
EVERY_DAY = (1, 2, 3, 4, 5, 6, 7)
STATIONS = ("veg", "butchery", "hot-line", "cold-line", "bakery")
SITE = "mill-street"
GUESTS = "guests"


def quantity(text: str) -> Document:
    """The document of a quantity, the unit being the last word.

    >>> quantity("2 1/2 cup")
    {'amount': '2 1/2', 'unit': 'cup'}
    """
    amount, unit = text.rsplit(" ", 1)
    return {"amount": amount, "unit": unit}


def maybe_quantity(text: str | None) -> Document | None:
    """The document of a quantity that may be missing."""
    return None if text is None else quantity(text)


def item(words: str) -> Item:
    """An ingredient, "ingredient/form" or "recipe code" as an item.

    >>> item("onion/small-dice").reference()
    {'ingredient': 'onion', 'form': 'small-dice'}
    """
    if words.startswith("recipe "):
        return Item.recipe(words.removeprefix("recipe "))
    code, _, form_code = words.partition("/")
    return Item(code, form_code or None)


def pairs(*texts: str) -> list[Document]:
    """Equivalents such as "1 each = 150 g"."""
    return [{"a": quantity(a), "b": quantity(b), "source": None} for a, b in (text.split(" = ") for text in texts)]


def form(
    code: str, trim_yield: str = "1", *, gives: Mapping[str, str] | None = None, equivalents: Iterable[str] = (), **fields: Any
) -> Document:
    """A form with its trim yield; ``gives`` maps by-products to their fractions of the AP, other fields are those of the document."""
    return {
        "code": code,
        "name": code,
        "station": "veg",
        "trim_yield": trim_yield,
        "source": None,
        "cut": None,
        "whole": False,
        "by_products": [{"ingredient": by_product, "fraction": fraction} for by_product, fraction in (gives or {}).items()],
        "keeps": "P1D",
        "makes_for": 1,
        "lead": None,
        "equivalents": pairs(*equivalents),
        "active": None,
        **fields,
    }


def ingredient_document(*forms: Document, piece: str | None = None, equivalents: Iterable[str] = (), **fields: Any) -> Document:
    """The document of an ingredient kept by mass, with its forms; a name is given by the caller."""
    return {
        "kind": "mass",
        "piece": maybe_quantity(piece),
        "equivalents": pairs(*equivalents),
        "contains": [],
        "may_contain": [],
        "storage": None,
        "thaw": None,
        "keeps": None,
        "on_tap": False,
        "value": None,
        "forms": list(forms),
        "packs": [],
        **fields,
    }


def ingredient(code: str, *forms: Document, **fields: Any) -> Ingredient:
    """An ingredient kept by mass unless ``kind`` says otherwise, with its forms."""
    return read_ingredient(code, ingredient_document(*forms, **{"name": code.capitalize(), **fields}))


def line(words: str, amount: str, step: int | None = None, scaling: Document | None = None, *, critical: bool = False) -> Document:
    """A line of a recipe: so much of an item, linear unless ``scaling`` says otherwise."""
    return {
        "item": {"ingredient": None, "form": None, "recipe": None, **item(words).reference()},
        "quantity": quantity(amount),
        "scaling": scaling or {"rule": "linear"},
        "step": step,
        "critical": critical,
        "note": "",
    }


def step(
    active: str | Document | None = None, passive: str | Document | None = None, station: str | None = None, **fields: Any
) -> Document:
    """A step with its hands-on and its passive time, at the recipe's station unless another is named."""
    return {
        "text": "Work.",
        "why": None,
        "active": active,
        "passive": passive,
        "station": station,
        "safety": None,
        "set_to": None,
        "equipment": None,
        **fields,
    }


def safety(
    kind: str, food: str | None = None, temperature: str | None = None, time: str | None = None, reason: str | None = None
) -> Document:
    """What a step must keep to; a temperature is "74 degC"."""
    degrees = None
    if temperature is not None:
        amount, unit = temperature.split(" ")
        degrees = {"amount": Decimal(amount), "unit": unit}
    return {"kind": kind, "class": food, "temperature": degrees, "time": time, "reason": reason}


def draft(
    makes: str,
    *lines: Document,
    steps: Iterable[Document] = (),
    portion: str | None = None,
    equivalents: Iterable[str] = (),
    batch: Mapping[str, str] | None = None,
    gives: Mapping[str, str] | None = None,
    **fields: Any,
) -> Document:
    """The document of a recipe draft that makes so much; ``batch`` may hold multiple, smallest, largest and split."""
    rule = dict(batch or {})
    split = rule.pop("split", "equal")
    return {
        "title": "",
        "station": "hot-line",
        "ready_to_eat": False,
        "storage": None,
        "yield": quantity(makes),
        "portion": maybe_quantity(portion),
        "equivalents": pairs(*equivalents),
        "gains_water": False,
        "keeps": None,
        "makes_for": 1,
        "batch": {**{name: maybe_quantity(rule.get(name)) for name in ("multiple", "smallest", "largest")}, "split": split},
        "lines": list(lines),
        "by_products": [{"ingredient": by_product, "quantity": quantity(amount)} for by_product, amount in (gives or {}).items()],
        "steps": list(steps),
        "keeps_reason": None,
        "hold": None,
        **fields,
    }


def recipe(
    code: str,
    makes: str,
    *lines: Document,
    number: int = 1,
    starts_on: date = LONG_AGO,
    sites: Iterable[str] | None = None,
    withdrawn_from: date | None = None,
    **fields: Any,
) -> Version:
    """A published version of a recipe; other fields are those of ``draft``."""
    document = draft(makes, *lines, **{"title": code.capitalize(), **fields})
    return read_version(code, number, document, starts_on, None if sites is None else frozenset(sites), withdrawn_from)


def menu_item(
    code: str,
    *components: tuple[str, str] | tuple[str, str, str],
    buffer: str | None = None,
    codes: Iterable[tuple[str, str]] = (),
    sold: tuple[date | None, date | None] = (None, None),
) -> MenuItem:
    """A menu item of components (recipe, quantity) or (recipe, quantity, uptake), ``sold`` from one date until another."""
    return read_menu_item(
        code,
        {
            "name": code.capitalize(),
            "price": None,
            "buffer": buffer,
            "components": [
                {"recipe": each[0], "quantity": quantity(each[1]), "uptake": each[2] if len(each) == 3 else 1} for each in components
            ],
            "codes": [{"source": source, "till_code": till_code} for source, till_code in codes],
            **{name: None if on is None else on.isoformat() for name, on in zip(("sold_from", "sold_until"), sold, strict=True)},
        },
    )


def par(words: str, level: str, by: str, weekdays: Iterable[int] = EVERY_DAY) -> Document:
    """A par of a recipe or form, on every day unless weekdays are named."""
    return {
        "item": {"ingredient": None, "form": None, "recipe": None, **item(words).reference()},
        "level": quantity(level),
        "weekdays": list(weekdays),
        "by": by,
    }


def site(
    code: str = SITE,
    *,
    periods: Mapping[str, str] | None = None,
    vessels: Mapping[str, str] | None = None,
    pars: Iterable[Document] = (),
    **fields: Any,
) -> Site:
    """A site in New York with lunch by 12:00 and dinner by 18:00, unless said otherwise."""
    known = {"lunch": "12:00", "dinner": "18:00"} if periods is None else periods
    return read_site(
        code,
        {
            "name": code.capitalize(),
            "time_zone": "America/New_York",
            "units": "metric",
            "day_starts": "04:00",
            "buffer": 0,
            "periods": [
                {"code": period, "name": period.capitalize(), "ready_by": ready_by, "ends": None} for period, ready_by in known.items()
            ],
            "station_map": {},
            "vessels": [{"recipe": made, "largest": quantity(largest)} for made, largest in (vessels or {}).items()],
            "pars": list(pars),
            "equipment": [],
            "equipment_map": {},
            "shifts": [],
            **fields,
        },
    )


def shift(
    stations: str, starts: str, until: str, weekdays: Iterable[int] = EVERY_DAY, cooks: int = 1, *, name: str | None = None
) -> Document:
    """The document of a shift at some stations, in one text with blanks between."""
    return {
        "name": name or f"{stations} from {starts}",
        "stations": stations.split(),
        "weekdays": list(weekdays),
        "from": starts,
        "until": until,
        "cooks": cooks,
    }


def machines(code: str, count: int = 1, *load: str, turn_round: str = "PT0S", shared: bool = False) -> Document:
    """The document of a site's machines of one equipment, and what one of them takes at once."""
    return {"equipment": code, "count": count, "load": [quantity(each) for each in load], "turn_round": turn_round, "shared": shared}


def kitchen(*things: Ingredient | Version | MenuItem | Site) -> Catalogue:
    """A catalogue of these things, with five stations, the guests of ``wanted``, and the default site if none is among them."""
    versions: dict[str, tuple[Version, ...]] = {}
    for each in things:
        if isinstance(each, Version):
            versions[each.recipe] = tuple(sorted((*versions.get(each.recipe, ()), each), key=lambda version: version.number))
    sites = [each for each in things if isinstance(each, Site)] or [site()]
    return Catalogue(
        stations={
            code: read_station(code, {"name": code.capitalize(), "position": 10 * number}) for number, code in enumerate(STATIONS, 1)
        },
        ingredients={each.code: each for each in things if isinstance(each, Ingredient)},
        versions=versions,
        menu_items={each.code: each for each in (menu_item(GUESTS), *things) if isinstance(each, MenuItem)},
        sites={each.code: each for each in sites},
    )


def with_things(catalogue: Catalogue, *things: Ingredient | Version | MenuItem | Site) -> Catalogue:
    """The catalogue with some things more, or in place of those of the same code (versions: and number)."""
    added = kitchen(*things)
    versions = dict(catalogue.versions)
    for code, newer in added.versions.items():
        numbers = {each.number for each in newer}
        kept = tuple(each for each in versions.get(code, ()) if each.number not in numbers)
        versions[code] = tuple(sorted((*kept, *newer), key=lambda version: version.number))
    sites = {each.code: each for each in things if isinstance(each, Site)}
    return replace(
        catalogue,
        ingredients={**catalogue.ingredients, **added.ingredients},
        versions=versions,
        menu_items={**catalogue.menu_items, **added.menu_items},
        sites={**catalogue.sites, **sites},
    )


def only_site(catalogue: Catalogue) -> Site:
    """The one site of a catalogue."""
    (found,) = catalogue.sites.values()
    return found


def moment(text: str, where: Site | None = None) -> datetime:
    """The moment that "2026-12-01 12:00" is on a site's clock."""
    day, clock = text.split(" ")
    return (where or site()).calendar().clock(date.fromisoformat(day), datetime.strptime(clock, "%H:%M").time())  # noqa: DTZ007 - a bare clock time


def at(on: date, clock: str, where: Site | None = None) -> datetime:
    """The moment of a civil date and clock time at a site."""
    return moment(f"{on} {clock}", where)


def reading(when: datetime, where: Site | None = None) -> str:
    """What a site's clock reads at a moment.

    >>> reading(at(TUE, "12:00"))
    '2026-12-01 12:00'
    """
    return f"{when.astimezone((where or site()).calendar().zone):%Y-%m-%d %H:%M}"


def near(number: float | Sequence[float]) -> Any:
    """A number, or several, to a billionth, as rule U7 asks of every computed amount."""
    return pytest.approx(number, rel=1e-9)

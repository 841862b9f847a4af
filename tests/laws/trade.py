"""The trade of a generated kitchen: its site, what it sells, what is expected and what a count found.

Responsible for site and menu documents and for demand and stock as values. Refuses to know what recipes contain.
"""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from service.kitchen.book.item import Item
from service.kitchen.measures.units import Kind, Quantity, factor
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.guests import Event, Forecast, Override, OverrideKey
from tests.laws.cookbook import Cookbook
from tests.laws.dice import Dice
from tests.laws.larder import Larder
from tests.laws.measures import PLAIN, USUAL, Document, Thing, quantity

# Time zones with the Saturday before their clocks change, and one whose clocks never do.
PLACES = (
    ("America/New_York", date(2026, 10, 31)),
    ("Europe/Dublin", date(2027, 3, 27)),
    ("America/New_York", date(2027, 3, 13)),
    ("Europe/Dublin", date(2026, 10, 24)),
    ("Asia/Kolkata", date(2026, 12, 2)),
)
SITE, ANNEX = "harbour", "annex"
SERVED: dict[Kind, float] = {"mass": 150.0, "volume": 200.0, "count": 1.0}


def open_site(dice: Dice, zone: str, book: Cookbook, larder: Larder) -> Document:
    day_starts = dice.pick("04:00", "04:00", "05:30", "00:00")
    periods = [
        {"code": "noon", "name": "Noon", "ready_by": "11:30"},
        {"code": "morning", "name": "Morning", "ready_by": dice.pick("07:00", "06:15")},
        {"code": "night", "name": "Night", "ready_by": dice.pick("18:00", "01:30", "02:30")},
    ]
    return {
        "name": "Harbour",
        "time_zone": zone,
        "units": dice.pick("metric", "us"),
        "day_starts": day_starts,
        "buffer": dice.pick(0, 0, Decimal("0.05")),
        "periods": dice.some(periods, 1, 3),
        "station_map": {"bakery": "cold-line"} if dice.chance(30) else {},
        "vessels": [_vessel(dice, book, code) for code in book.editions if dice.chance(40)],
        "pars": _pars(dice, book, larder),
    }


def _vessel(dice: Dice, book: Cookbook, code: str) -> Document:
    """A vessel that fits the recipe's first version (S3)."""
    first = book.editions[code][0].draft
    rule = first["batch"]
    base = float(first["yield"]["amount"]) * float(factor(first["yield"]["unit"]))
    least = max(*(float(rule[name]["amount"]) for name in ("multiple", "smallest") if name in rule), 0.4 * base, 1)
    return {"recipe": code, "largest": {"amount": int(least * dice.pick(1, 1.5, 2.1)) + 1, "unit": PLAIN[book.kinds[code]]}}


def _pars(dice: Dice, book: Cookbook, larder: Larder) -> list[Document]:
    pars: list[Document] = []
    forms = [thing for thing in larder.things if "form" in thing.item]
    for by in ("09:00", "16:00")[: dice.pick(0, 1, 2)]:
        if forms and dice.chance(40):
            thing = dice.pick(*forms)
            item, level = thing.item, thing.quantity(dice, USUAL[thing.kind] * dice.between(0.5, 3))
        else:
            code = dice.pick(*book.editions)
            item, level = {"recipe": code}, served(dice, book, code, dice.number(3, 20))
        pars.append({"item": item, "level": level, "weekdays": sorted(dice.some(range(1, 8), 2, 7)), "by": by})
    return pars


def served(dice: Dice, book: Cookbook, code: str, guests: int) -> Document:
    """About what some guests get of a recipe, in portions where it states one."""
    if "portion" in book.editions[code][0].draft and dice.chance(60):
        return {"amount": dice.pick(1, 2, "1/2") if guests == 1 else guests, "unit": "portion"}
    return quantity(SERVED[book.kinds[code]] * guests, book.kinds[code])


def write_menu(dice: Dice, book: Cookbook) -> dict[str, Document]:
    """One to three menu items; what no other recipe calls is sold first."""
    called = {line["item"].get("recipe") for editions in book.editions.values() for each in editions for line in each.draft["lines"]}
    codes = list(book.editions)
    tops = [code for code in codes if code not in called]
    menu: dict[str, Document] = {}
    for number in range(dice.number(1, 3)):
        chosen = dict.fromkeys([tops[number % len(tops)], *dice.some(codes, 0, 2)])
        menu[f"dish-{number}"] = {
            "name": f"Dish {number}",
            "components": [
                {"recipe": code, "quantity": served(dice, book, code, 1), "uptake": dice.pick(1, 1, Decimal("0.5"), Decimal("0.35"))}
                for code in chosen
            ],
            "buffer": dice.pick(None, None, 0, Decimal("0.1")),
            "codes": [{"source": "till", "till_code": str(number)}] if dice.chance(60) else [],
        }
    return menu


def foretell(
    dice: Dice, first: date, periods: Sequence[str], menu: dict[str, Document]
) -> tuple[list[Forecast], dict[OverrideKey, Override]]:
    """What two sources expect over some days and on a later one, and where the site overrules them."""
    forecasts: dict[tuple[object, ...], Forecast] = {}
    overrides: dict[OverrideKey, Override] = {}
    for day in (*range(dice.number(2, 6)), 15):
        for period in periods:
            for code, item in menu.items():
                if not dice.chance(50):
                    continue
                on = first + timedelta(days=day)
                for each in _expected(dice, on, period, code, item):
                    forecasts[each.date, each.period, each.source, each.menu_item, each.till_code, each.event and each.event.code] = each
                if dice.chance(8):
                    overrides[on, period, code, dice.pick(None, None, "gala")] = Override(dice.pick(None, 0, 50), dice.pick(0, 7, -30))
    return list(forecasts.values()), overrides


def _expected(dice: Dice, on: date, period: str, code: str, item: Document) -> list[Forecast]:
    by_till = item["codes"] and dice.chance(50)
    names = {"till_code": item["codes"][0]["till_code"]} if by_till else {"menu_item": code}
    found = [Forecast(date=on, period=period, count=dice.pick(40, 5, 13, 87, 120), source="till", **names)]
    if dice.chance(25):
        found.append(Forecast(date=on, period=period, count=dice.pick(12, 25), source="planner", menu_item=code))
    if dice.chance(20):
        event = Event("gala", dice.pick(None, time(19, 30), time(6, 45)), dice.pick(None, Fraction(0), Fraction(3, 100)))
        found.append(Forecast(date=on, period=period, count=dice.pick(30, 8), source="planner", menu_item=code, event=event))
    if dice.chance(3):
        found.append(Forecast(date=on, period=period, count=9, source="till", till_code="nobody-knows"))
    return found


def count_stock(dice: Dice, first: date, zone: str, book: Cookbook, larder: Larder) -> list[Counted]:
    """What the newest counts found of some items: in the kitchen or in store, made on one of the days before."""
    found: list[Counted] = []
    recipes = [Thing({"recipe": code}, kind) for code, kind in book.kinds.items()]
    for thing in dice.some([*larder.things, *larder.gifts, *recipes], 0, 6):
        item = Item.read(thing.item)
        on = first - timedelta(days=dice.pick(1, 1, 2, 0))
        at = datetime.combine(on, dice.pick(time(21, 15), time(15), time(6, 40)), ZoneInfo(zone)).astimezone(UTC)
        for _ in range(dice.pick(1, 2, 1, 3)):
            amount = USUAL[thing.kind] * dice.between(0.2, 4)
            written = served(dice, book, item.code, dice.number(2, 30)) if item.is_recipe else thing.quantity(dice, amount)
            made_on = on - timedelta(days=dice.number(0, 2)) if dice.chance(50) else None
            found.append(
                Counted(item=item, quantity=Quantity.read(written), counted_at=at, made_on=made_on, in_store=item.raw and dice.chance(35))
            )
    return found

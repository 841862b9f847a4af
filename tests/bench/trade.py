"""The trade of the workload: what is expected at each site on each date, and what was counted there."""

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import islice
from random import Random

from tests.bench.shares import CANONICAL, PERIODS, SHARES
from tests.bench.workload import Document, Workload, rounded


def guests(workload: Workload, site: int, on: date) -> Iterator[tuple[int, int]]:
    """How many guests a site expects of which menu item on a date."""
    dice = Random(f"{site} {on}")
    for number in range(workload.size.menu_items):
        count = int(dice.gammavariate(1.2, 30)) + 1
        if Random(f"sold {site} {number}").random() >= SHARES["a menu item is not sold at a site"]:
            yield number, count


def entries(workload: Workload, site: int, on: date) -> Iterator[Document]:
    """What is expected at a site on a date, as entries of a push."""
    dice = Random(f"events {site} {on}")
    for number, count in guests(workload, site, on):
        item = workload.menu_items[number]
        key = {"till_code": str(number)} if item["codes"] else {"menu_item": item["code"]}
        event = {"code": "banquet", "serve_at": "19:30"} if dice.random() < SHARES["guests come to an event"] else None
        yield {"site": f"s-{site}", "date": str(on), "period": period_of(number), "count": count, "event": event, **key}


def pushes(workload: Workload, first: date, days: int, largest: int) -> Iterator[list[Document]]:
    """What is expected everywhere for some dates, as pushes of at most so many entries."""
    sites, dates = range(workload.size.sites), [first + timedelta(day) for day in range(days)]
    expected = (each for on in dates for site in sites for each in entries(workload, site, on))
    while body := list(islice(expected, largest)):
        yield body


def lots(workload: Workload, site: int) -> list[Document]:
    """What was counted at a site: of recipes in the kitchen, of ingredients in store."""
    dice = Random(f"lots {site}")
    of_recipes = [
        {"item": {"recipe": recipe["code"]}, "quantity": {**recipe["yield"], "amount": rounded(recipe["yield"]["amount"] / 3)}}
        for recipe in workload.recipes
        if dice.random() < SHARES["a site counted a lot of a recipe"]
    ]
    in_store = [
        {"item": {"ingredient": each["code"]}, "quantity": {"amount": 20, "unit": CANONICAL[each["kind"]]}}
        for each in workload.ingredients
        if dice.random() < SHARES["a site counted a lot in store"]
    ]
    return of_recipes + in_store


def overrides(workload: Workload, site: int) -> list[tuple[str, str]]:
    """The menu items of which a site has its own word on the first date, each with its period."""
    dice = Random(f"overrides {site}")
    chosen = (number for number in range(workload.size.menu_items) if dice.random() < SHARES["a site overrides a count"])
    return [(period_of(number), f"m-{number}") for number in chosen]


def period_of(number: int) -> str:
    """The period in which a menu item is sold."""
    return tuple(PERIODS)[number % len(PERIODS)]

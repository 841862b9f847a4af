"""Checks of cold food that is combined: it keeps no longer than its earliest part.

Responsible for what domain H2 refuses of a recipe and the parts that it takes cold, unless a reason is recorded. Refuses to
judge the reason, and to know what lists tell of the lots and runs in a dish.
"""

from collections.abc import Collection, Iterator
from datetime import date, timedelta

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.checks.users import Place, Sites, calling, places
from service.kitchen.measures.calendar import ONE_DAY, Keeps, write_duration

CODE = "keeps_exceeds_part"


def combined_faults(catalogue: Catalogue, version: Version, today: date) -> Iterator[Fault]:
    """A version that keeps longer than a part that it takes cold, somewhere from a date on; each part once (H2)."""
    told: set[str] = set()
    for place, part in _outlasted(catalogue, version, today):
        if part.recipe not in told:
            told.add(part.recipe)
            detail = (
                f"this keeps {_written(version.keeps)}, and {part.recipe} in it {_written(part.keeps)}{_where(place)}: cold food that is "
                "combined keeps the date of its earliest part (FDA Food Code 2022, 3-501.17); write that, or record keeps_reason"
            )
            yield Fault("/keeps", CODE, detail)


def outlasting_users(
    before: Catalogue, after: Catalogue, part: str, today: date, but: Collection[str] = (), sites: Sites = None
) -> Iterator[Fault]:
    """Recipes that would keep longer than a recipe in them from a date on, and do not now, each once (H2); those in ``but`` excepted."""
    told: set[str] = set()
    for user in calling(after, Item.recipe(part)):
        if user.recipe in told or user.recipe in but:
            continue
        for place, version in _outlasted(after, user, today, sites):
            known = before.in_force(part, place.site, place.on)
            if version.recipe == part and (known is None or not _outlasts(user, known)):
                told.add(user.recipe)
                detail = (
                    f"recipe {user.recipe}{_where(place)} from {place.on} keeps {_written(user.keeps)}, and {part} in it would keep "
                    f"{_written(version.keeps)}: publish {user.recipe} first, with keeps that is no longer or with keeps_reason"
                )
                yield Fault("", CODE, detail)
                break


def _outlasted(catalogue: Catalogue, user: Version, today: date, sites: Sites = None) -> Iterator[tuple[Place, Version]]:
    """Every part that a version takes cold and keeps longer than, with the places where that is so."""
    if not _cold(user) or user.keeps_reason is not None:
        return
    # A line without a step is drawn at the first one (T2).
    late = [line.item.code for line in user.lines if line.item.is_recipe and (line.step or 1) > user.last_cook]
    for place in places(catalogue, user, max(today, user.starts_on), sites) if late else ():
        for code in dict.fromkeys(late):
            part = catalogue.in_force(code, place.site, place.on)
            if part is not None and _outlasts(user, part):
                yield place, part


def _cold(version: Version) -> bool:
    return version.ready_to_eat and version.storage == "cold"


def _outlasts(user: Version, part: Version) -> bool:
    """Whether a version keeps longer than a cold ready-to-eat part of it."""
    return _cold(part) and longest(user.keeps) > longest(part.keeps)


def longest(keeps: Keeps) -> timedelta:
    """How long a thing may be used at most: to the end of its own date it is a day (T6).

    >>> longest(Keeps.read("P0D")) < longest(Keeps.read("PT30H")) < longest(Keeps.read("P1D"))
    True
    """
    return (keeps.days + 1) * ONE_DAY if keeps.elapsed is None else keeps.elapsed


def _written(keeps: Keeps) -> str:
    return f"P{keeps.days}D" if keeps.elapsed is None else write_duration(keeps.elapsed)


def _where(place: Place) -> str:
    return f" at site {place.site}" if place.site else ""

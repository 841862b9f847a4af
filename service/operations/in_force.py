"""Versions in force for those who cook by them: what a reader who does not publish may see of recipes.

Responsible for where such a reader stands, and for which versions are in force there on some date.
Refuses to show drafts, and versions that are in force nowhere that the reader may see.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from service.errors import NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.operations.loading import group_today, load_catalogue
from service.operations.publishing import get_version, version_page

Sites = Collection[str] | None
"""The sites that a reader is limited to; None is no limit."""


@dataclass(frozen=True, slots=True)
class Found:
    """A version in force, the site at which it is (None: wherever no version is for some sites alone), and the date asked for."""

    version: Version
    site: str | None
    on: date


def places(catalogue: Catalogue, sites: Sites) -> Sequence[str | None]:
    """Where a reader may stand, in the order in which a recipe is looked for: his sites by code, without a limit everywhere first."""
    return catalogue.audiences if sites is None else sorted(sites)


def find(catalogue: Catalogue, code: str, sites: Sites, on: date | None, now: datetime) -> Found | None:
    """The version of a recipe in force on a date (today) at the first of the reader's places where one is; None where none is (P12)."""
    for place in places(catalogue, sites):
        asked = on or today(catalogue, place, now)
        version = catalogue.in_force(code, place, asked)
        if version is not None:
            return Found(version, place, asked)
    return None


def today(catalogue: Catalogue, place: str | None, now: datetime) -> date:
    """The business date of a site; of the whole group where there is no site of that code."""
    site = catalogue.sites.get(place) if place else None
    return group_today(catalogue, now) if site is None else site.calendar().business_date(now)


def numbers(catalogue: Catalogue, code: str, sites: Sites) -> frozenset[int]:
    """The versions of a recipe that are in force at one of the reader's places on some date, past or to come."""
    versions = (version for place in places(catalogue, sites) for version in catalogue.in_force_between(code, place, date.min))
    return frozenset(version.number for version in versions)


def require(session: Session, code: str, sites: Sites, number: int | None = None) -> None:
    """Raise NotFound unless the reader may see some version of a recipe, or the one of that number."""
    seen = numbers(load_catalogue(session), code, sites)
    if not seen or (number is not None and number not in seen):
        raise NotFound("recipe" if number is None else f"version of the recipe {code} with the number", number or code)


def recipe_for(session: Session, code: str, sites: Sites, on: date | None, now: datetime) -> dict[str, object]:
    """The version in force on a date (today) at the reader's places, with its document; raises NotFound."""
    current = find(load_catalogue(session), code, sites, on, now)
    if current is None:
        raise NotFound("version in force of the recipe", code)
    return get_version(session, code, current.version.number)


def recipe_rows(session: Session, sites: Sites, after: str | None, limit: int, now: datetime) -> list[dict[str, object]]:
    """Up to ``limit`` + 1 recipes in force today at the reader's places after a code, by code."""
    catalogue = load_catalogue(session)
    rows: list[dict[str, object]] = []
    for code in sorted(catalogue.versions):
        current = find(catalogue, code, sites, None, now) if after is None or code > after else None
        if current is not None:
            version = current.version
            rows.append({"code": code, "title": version.title, "station": version.station, "version": version.number})
        if len(rows) > limit:
            break
    return rows


def version_rows(session: Session, code: str, sites: Sites, after: int, limit: int) -> list[dict[str, object]]:
    """Up to ``limit`` + 1 versions after a number that the reader may see, by number."""
    catalogue = load_catalogue(session)
    seen = numbers(catalogue, code, sites)
    rows = version_page(session, code, after, len(catalogue.versions.get(code, ())))
    return [row for row in rows if row["version"] in seen][: limit + 1]

"""Loading: the catalogue as the kitchen's value, remembered per database and revision.

Responsible for reading the catalogue once per revision in each process. Refuses to change it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Pool
from sqlalchemy.orm import Session

from service.kitchen.book.capacity import read_equipment
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import read_ingredient
from service.kitchen.book.recipe import Version, read_version
from service.kitchen.book.site import read_menu_item, read_site, read_station
from service.store import collections, recipes, revisions

READERS = {
    "stations": read_station,
    "equipment": read_equipment,
    "ingredients": read_ingredient,
    "menu_items": read_menu_item,
    "sites": read_site,
}

# Readers and writers of one database are two engines over one pool.
_known: WeakKeyDictionary[Pool, Catalogue] = WeakKeyDictionary()


def load_catalogue(session: Session) -> Catalogue:
    """The whole catalogue at the revision that the session sees; call it before changing anything in the session."""
    pool = session.get_bind().engine.pool
    revision = revisions.number(session, revisions.CATALOGUE)
    known = _known.get(pool)
    if known is None or known.revision != revision:
        # Two threads may both read it: they read the same, and the later one's stays.
        known = _known[pool] = _read(session, revision)
    return known


def _read(session: Session, revision: int) -> Catalogue:
    read: dict[str, dict[str, Any]] = {
        noun: {code: reader(code, document) for code, document in collections.read_all(session, noun).items()}
        for noun, reader in READERS.items()
    }
    by_recipe: dict[str, list[Version]] = {}
    for row in recipes.versions(session):
        by_recipe.setdefault(row.recipe, []).append(version_of(row))
    return Catalogue(
        stations=read["stations"],
        equipment=read["equipment"],
        ingredients=read["ingredients"],
        versions={recipe: tuple(versions) for recipe, versions in by_recipe.items()},
        menu_items=read["menu_items"],
        sites=read["sites"],
        drafted=frozenset(recipes.codes(session)),
        revision=revision,
    )


def version_of(row: recipes.VersionRow) -> Version:
    """A stored version as the kitchen's value."""
    sites = None if row.sites is None else frozenset(row.sites)
    return read_version(row.recipe, row.number, row.document, row.starts_on, sites, row.withdrawn_from)


def with_documents(catalogue: Catalogue, noun: str, documents: Mapping[str, Any]) -> Catalogue:
    """The catalogue as it would be with some documents of one collection put."""
    reader = READERS[noun]
    present: Mapping[str, Any] = getattr(catalogue, noun)
    changed = {**present, **{code: reader(code, document) for code, document in documents.items()}}
    return _changed(catalogue, **{noun: changed})


def with_versions(catalogue: Catalogue, versions: Iterable[Version], drafted: Iterable[str] = ()) -> Catalogue:
    """The catalogue as it would be with some versions added, or replaced where the number is known, and recipes drafted."""
    changed = dict(catalogue.versions)
    for version in versions:
        others = tuple(each for each in changed.get(version.recipe, ()) if each.number != version.number)
        changed[version.recipe] = tuple(sorted((*others, version), key=lambda each: each.number))
    return _changed(catalogue, versions=changed, drafted=catalogue.drafted | frozenset(drafted))


def _changed(catalogue: Catalogue, **fields: Any) -> Catalogue:
    """What follows from the catalogue is remembered with it, so that a changed one begins anew."""
    return replace(catalogue, **fields)


def group_today(catalogue: Catalogue, now: datetime) -> date:
    """The earliest business date that any site has now; without sites, the date in UTC."""
    dates = [site.calendar().business_date(now) for site in catalogue.sites.values()]
    return min(dates, default=now.astimezone(UTC).date())

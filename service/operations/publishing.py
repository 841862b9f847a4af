"""Publishing: drafts, versions and withdrawals of recipes.

Responsible for making a draft an immutable version in force from a date, with every reason why it
cannot be. Refuses to know shape and HTTP.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from service.errors import Fault, InUse, Invalid, Moved, NotFound, NothingToPublish
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.checks.additions import acknowledgement_faults, additions
from service.kitchen.checks.combined import outlasting_users
from service.kitchen.checks.recipe import Told, cooking_yield, group_faults, measureless, version_faults, version_notes
from service.kitchen.checks.withdrawal import withdrawal_faults
from service.operations.basis import check_catalogue
from service.operations.collections import Stored
from service.operations.loading import group_today, load_catalogue, version_of, with_versions
from service.operations.matching import Expected, require_match
from service.operations.tokens import write
from service.store import recipes, revisions
from service.store.documents import Document, tag

Published = TypeVar("Published", recipes.VersionRow, Version)


def get_draft(session: Session, code: str) -> Stored:
    """The draft of a recipe; raises NotFound."""
    document = recipes.read_draft(session, code)
    if document is None:
        raise NotFound("draft of the recipe", code)
    return Stored(code, document, tag(document))


def put_draft(session: Session, code: str, document: Document, expected: Expected) -> tuple[Stored, bool]:
    """Create or replace a recipe's draft, which is checked in meaning only when it is published; raises MatchRequired or Stale."""
    current = recipes.read_draft(session, code)
    require_match(None if current is None else tag(current), expected)
    if current != document:
        known = recipes.exists(session, code)
        recipes.save_draft(session, code, document)
        # A draft is nobody else's answer; only that there is a recipe of this code is told elsewhere.
        if not known:
            revisions.bump(session, revisions.CATALOGUE)
    return Stored(code, document, tag(document)), current is None


def delete_draft(session: Session, code: str, catalogue: Catalogue, expected: Expected) -> None:
    """Remove a draft; a recipe that was never published goes with it, unless a menu item, vessel or par calls it.

    Raises NotFound, MatchRequired, Stale, Moved, or InUse naming the users.
    """
    check_catalogue(session, catalogue)
    stored = get_draft(session, code)
    require_match(stored.tag, expected)
    if not catalogue.published(code):
        users = [f"menu item {each.code}" for each in catalogue.menu_items.values() if any(c.recipe == code for c in each.components)]
        users += [
            f"site {site.code}"
            for site in catalogue.sites.values()
            if code in site.vessels or any(par.item.is_recipe and par.item.code == code for par in site.pars)
        ]
        if users:
            raise InUse(f"{code} was never published and is in use by {', '.join(users)}", users)
    recipes.remove_draft(session, code)
    revisions.bump(session, revisions.CATALOGUE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """The version that a draft would be, the catalogues without it and with it, and every reason why it cannot be published."""

    row: recipes.VersionRow
    version: Version
    before: Catalogue
    after: Catalogue
    today: date
    faults: list[Fault]


def candidate(session: Session, code: str, request: dict[str, Any], now: datetime, by: str | None = None) -> Candidate:
    """The version that the draft would be from a date, at all sites or at some; raises NotFound without a draft."""
    draft = get_draft(session, code)
    before = load_catalogue(session)
    row = next_version({each.number for each in recipes.versions(session, code)}, code, draft.document, request, now, by)
    version = version_of(row)
    after = with_versions(before, [version])
    today = group_today(before, now)
    faults = publication_faults(before, after, version, request, today)
    return Candidate(row=row, version=version, before=before, after=after, today=today, faults=faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Publication:
    """A version that is to be added, what publishing it answers, and the catalogue that it was checked against."""

    row: recipes.VersionRow
    answer: dict[str, Any]
    catalogue: Catalogue


def prepare_publication(session: Session, code: str, request: dict[str, Any], now: datetime, by: str | None) -> Publication:
    """The version that the draft would be from a date, at all sites or at some, checked with a session that reads.

    Raises NotFound without a draft, Invalid with every reason why it cannot be, NothingToPublish where nothing differs.
    """
    asked = candidate(session, code, request, now, by)
    if asked.faults:
        raise Invalid(asked.faults, "The draft cannot be published; every fault is listed, with pointers into the draft.")
    if repeats_newest(recipes.versions(session, code), asked.row):
        raise NothingToPublish("Draft, date and sites are those of the newest version.")
    told = version_notes(asked.after, asked.version)
    row = replace(asked.row, warnings=[each._asdict() for each in told])
    return Publication(row=row, answer=publication(asked.after, asked.version, told), catalogue=asked.before)


def publish(session: Session, prepared: Publication) -> dict[str, Any]:
    """Add a version that was checked; raises Moved where the draft or the catalogue is another by now."""
    check_catalogue(session, prepared.catalogue)
    # A changed draft moves no revision, so the catalogue's does not tell that this one was changed.
    if recipes.read_draft(session, prepared.row.recipe) != prepared.row.document:
        raise Moved("The draft has changed meanwhile; try again.")
    recipes.add_version(session, prepared.row)
    revisions.bump(session, revisions.CATALOGUE)
    return prepared.answer


def publication_faults(before: Catalogue, after: Catalogue, version: Version, request: dict[str, Any], today: date) -> list[Fault]:
    """Every reason why a version cannot be published; ``after`` is the catalogue that holds it."""
    faults = request_faults(before, version, today, request["sites"] or [], "/from")
    faults += version_faults(after, version, today)
    # Without a measure of the yield, each recipe that uses it would be told as broken, too.
    if not measureless(faults):
        faults += group_faults(after, [version], today)[version.recipe]
    faults += outlasting_users(before, after, version.recipe, today, [version.recipe])
    return faults + acknowledgement_faults(additions(before, after, today), request["acknowledge"])


def publication(catalogue: Catalogue, version: Version, told: list[Told]) -> dict[str, Any]:
    """What publishing answers, with the implied cooking yield where all has a mass (Y5)."""
    return {
        "recipe": version.recipe,
        "version": version.number,
        "from": version.starts_on.isoformat(),
        "sites": None if version.sites is None else sorted(version.sites),
        "warnings": [each._asdict() for each in told],
        "cooking_yield": cooking_yield(catalogue, version),
    }


def next_version(known: set[int], code: str, draft: Document, request: dict[str, Any], now: datetime, by: str | None) -> recipes.VersionRow:
    """The row that publishing a document would add to the versions of its recipe of known numbers."""
    return recipes.VersionRow(
        recipe=code,
        number=1 + max(known, default=0),
        starts_on=date.fromisoformat(request["from"]),
        sites=None if request["sites"] is None else tuple(sorted(request["sites"])),
        note=request["note"],
        document=draft,
        warnings=[],
        published_at=now,
        published_by=by,
    )


def repeats_newest(known: Sequence[recipes.VersionRow], row: recipes.VersionRow) -> bool:
    """Whether draft, date and sites all equal those of the newest known version that is not withdrawn."""
    return (newest := newest_alike(known, row)) is not None and newest.document == row.document


def newest_alike(known: Sequence[Published], row: recipes.VersionRow) -> Published | None:
    """The newest known version that is not withdrawn (one that is may be published again), if it has the date and sites of a row."""
    newest = next((each for each in reversed(known) if each.withdrawn_from is None), None)
    alike = newest is not None and (newest.starts_on, newest.sites and tuple(sorted(newest.sites))) == (row.starts_on, row.sites)
    return newest if alike else None


def request_faults(catalogue: Catalogue, version: Version, today: date, sites: list[str], pointer: str, otherwise: str = "") -> list[Fault]:
    """What is wrong with the date and the sites of a publication; only a recipe's first version may begin in the past.

    ``otherwise`` tells what else than a later date could be written.
    """
    faults = [
        Fault(f"/sites/{index}", "unknown_site", f"there is no site {site}")
        for index, site in enumerate(sites)
        if site not in catalogue.sites
    ]
    # What was cooked must stay explained by the version in force then; before the first one nothing was.
    if version.starts_on < today and catalogue.published(version.recipe):
        detail = f"a version after the first cannot begin in the past; write {today} or later{otherwise}"
        faults.append(Fault(pointer, "out_of_range", detail))
    return faults


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal:
    """A version as it stands withdrawn, why, and the catalogue that this was checked against."""

    row: recipes.VersionRow
    starts_on: date
    note: str
    catalogue: Catalogue


def prepare_withdrawal(session: Session, code: str, number: int, request: dict[str, Any], now: datetime) -> Withdrawal:
    """A version that is no longer to count from a date on, so that the next older applies; raises Invalid where that breaks a user."""
    row = next((each for each in recipes.versions(session, code) if each.number == number), None)
    if row is None:
        raise NotFound(f"version of the recipe {code} with the number", number)
    before = load_catalogue(session)
    today = group_today(before, now)
    starts_on = date.fromisoformat(request["from"])
    version = version_of(replace(row, withdrawn_from=starts_on))
    faults = []
    if starts_on < today:
        faults.append(Fault("/from", "out_of_range", f"what was cooked by the version stays; write {today} or later"))
    # Moving an end that is over would change what was in force then.
    elif row.withdrawn_from is not None and row.withdrawn_from < today:
        faults.append(Fault("/from", "out_of_range", f"the version no longer counts since {row.withdrawn_from}"))
    else:
        faults += withdrawal_faults(before, with_versions(before, [version]), version, today)
    if faults:
        raise Invalid(faults)
    return Withdrawal(row=replace(row, withdrawn_from=starts_on), starts_on=starts_on, note=request["note"], catalogue=before)


def withdraw(session: Session, prepared: Withdrawal, now: datetime) -> dict[str, Any]:
    """Record a withdrawal that was checked; raises Moved where the catalogue is another by now."""
    check_catalogue(session, prepared.catalogue)
    row = prepared.row
    recipes.add_withdrawal(session, row.recipe, row.number, prepared.starts_on, prepared.note, now)
    revisions.bump(session, revisions.CATALOGUE)
    return version_summary(row)


def version_summary(row: recipes.VersionRow) -> dict[str, Any]:
    """A version without its document."""
    return {
        "recipe": row.recipe,
        "version": row.number,
        "title": row.document["title"],
        "from": row.starts_on.isoformat(),
        "sites": None if row.sites is None else list(row.sites),
        "note": row.note,
        "warnings": row.warnings,
        "published_at": write(row.published_at),
        "withdrawn_from": None if row.withdrawn_from is None else row.withdrawn_from.isoformat(),
    }


def version_page(session: Session, code: str, after: int, limit: int) -> list[dict[str, Any]]:
    """Up to ``limit`` + 1 versions of a recipe after a number; raises NotFound for an unknown recipe."""
    if not recipes.exists(session, code):
        raise NotFound("recipe", code)
    return [version_summary(row) for row in recipes.versions(session, code) if row.number > after][: limit + 1]


def get_version(session: Session, code: str, number: int) -> dict[str, Any]:
    """One version with its document; raises NotFound."""
    row = next((each for each in recipes.versions(session, code) if each.number == number), None)
    if row is None:
        raise NotFound(f"version of the recipe {code} with the number", number)
    return {"code": code, **version_summary(row), **row.document}


def recipe_in_force(session: Session, code: str, on: date | None, site: str | None, now: datetime) -> dict[str, Any]:
    """The version in force on a date (today) at a site (without one: for all sites); raises NotFound where none is."""
    catalogue = load_catalogue(session)
    if site is not None and site not in catalogue.sites:
        raise Invalid([Fault("", "unknown_site", f"there is no site {site}", parameter="site")])
    today = catalogue.sites[site].calendar().business_date(now) if site else group_today(catalogue, now)
    version = catalogue.in_force(code, site, on or today)
    if version is None:
        raise NotFound("version in force of the recipe", code)
    return get_version(session, code, version.number)


def recipe_page(session: Session, after: str | None, limit: int, now: datetime) -> list[dict[str, Any]]:
    """Up to ``limit`` + 1 recipes after a code: title, station, the version in force today, and whether there is a draft."""
    catalogue = load_catalogue(session)
    today = group_today(catalogue, now)
    rows = []
    for code, draft in recipes.page(session, after, limit + 1):
        version = catalogue.in_force(code, None, today)
        newest = version or next(iter(reversed(catalogue.versions.get(code, ()))), None)
        rows.append(
            {
                "code": code,
                "title": newest.title if newest else (draft or {}).get("title"),
                "station": newest.station if newest else (draft or {}).get("station"),
                "version": version.number if version else None,
                "draft": draft is not None,
            }
        )
    return rows

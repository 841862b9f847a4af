"""Imports: a whole catalogue in one body, all or nothing.

Responsible for checking every element against the catalogue that the whole body makes, and for saving
only what differs. Refuses to know shape and HTTP.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.checks.additions import acknowledgement_faults, additions
from service.kitchen.checks.combined import outlasting_users
from service.kitchen.checks.recipe import group_faults, measureless, version_faults, version_notes
from service.operations.basis import check_catalogue
from service.operations.collections import check_counts, counted_faults, document_faults, harmless
from service.operations.loading import group_today, load_catalogue, version_of, with_documents, with_versions
from service.operations.publishing import newest_alike, next_version, request_faults
from service.store import collections, counts, recipes, revisions
from service.store.documents import Encoded, says

Elements = Mapping[str, Mapping[str, Encoded]]

NOUNS = ("stations", "equipment", "ingredients", "menu_items", "sites")
BESIDES = ("code", "publish_from", "acknowledge")
# Said where a recipe that was published is sent again, changed, with the date of then.
OTHERWISE = " to publish what has changed since, or null to keep it as a draft"


@dataclass(slots=True, kw_only=True)
class Parts:
    """What a body would change: documents that differ, drafts that differ, and versions to add."""

    documents: dict[str, dict[str, Encoded]] = field(default_factory=dict)
    drafts: dict[str, Encoded] = field(default_factory=dict)
    rows: dict[str, recipes.VersionRow] = field(default_factory=dict)
    created: int = 0
    replaced: int = 0
    unchanged: int = 0

    def sort(self, noun: str, known: str | None, document: Encoded) -> bool:
        """Count one element as created, replaced or unchanged, by the text that is stored; whether it differs."""
        same = known is not None and says(noun, known, document)
        if known is None:
            self.created += 1
        elif same:
            self.unchanged += 1
        else:
            self.replaced += 1
        return not same


@dataclass(frozen=True, slots=True, kw_only=True)
class Import:
    """What a body would change, and what it was checked against: the catalogue, and all counts up to one."""

    parts: Parts
    catalogue: Catalogue
    newest_count: int

    @property
    def answer(self) -> dict[str, int]:
        """How much of the body is new, other than before, and the same."""
        return {
            "created": self.parts.created,
            "replaced": self.parts.replaced,
            "unchanged": self.parts.unchanged,
            "published": len(self.parts.rows),
        }


def prepare_import(session: Session, body: Mapping[str, Any], now: datetime, by: str | None, acknowledged: Collection[str] = ()) -> Import:
    """Check every element of a body that is to be put, and each recipe that is to be published, with a session that reads.

    The allergens in ``acknowledged`` and in the ``acknowledge`` lists of all recipes together cover the whole body (A2).
    Raises Invalid with every fault of every element; then nothing is changed.
    """
    before = load_catalogue(session)
    elements = {noun: {each["code"]: _document(each) for each in body[noun]} for noun in (*NOUNS, "recipes")}
    parts = _parts(session, before, body, elements, now, by)
    # Each element is checked against the whole body, so that it may name what stands further down.
    after = before
    for noun in NOUNS:
        after = with_documents(after, noun, parts.documents[noun])
    versions = [version_of(row) for row in parts.rows.values()]
    after = with_versions(after, versions, elements["recipes"])
    today = group_today(after, now)
    faults = [*_faults(session, elements, (before, after), parts, today), *_allergen_faults(body, (before, after), acknowledged, today)]
    if faults:
        raise Invalid(faults, "Nothing was imported; every fault is listed.")
    for code, row in parts.rows.items():
        told = version_notes(after, after.versions[code][-1])
        parts.rows[code] = replace(row, warnings=[each._asdict() for each in told])
    return Import(parts=parts, catalogue=before, newest_count=counts.newest_id(session))


def import_catalogue(session: Session, prepared: Import) -> dict[str, int]:
    """Save all that differs of a body that was checked; answers counts. Raises Moved."""
    parts = prepared.parts
    check_catalogue(session, prepared.catalogue)
    check_counts(session, parts.documents["ingredients"].keys(), prepared.newest_count)
    for noun in NOUNS:
        collections.save_many(session, noun, parts.documents[noun])
    recipes.save_drafts(session, parts.drafts)
    recipes.add_versions(session, list(parts.rows.values()))
    if any(parts.documents.values()) or parts.drafts or parts.rows:
        revisions.bump(session, revisions.CATALOGUE)
    return prepared.answer


def _document(element: Mapping[str, Any]) -> Encoded:
    """The document with its text: it is compared by that, and whoever writes need not encode it."""
    document = dict(element)
    for name in BESIDES:
        document.pop(name, None)
    return Encoded(document)


def _parts(
    session: Session,
    before: Catalogue,
    body: Mapping[str, Any],
    elements: Elements,
    now: datetime,
    by: str | None,
) -> Parts:
    """What differs from what is stored."""
    parts = Parts()
    for noun in NOUNS:
        known = collections.texts(session, noun)
        parts.documents[noun] = {code: each for code, each in elements[noun].items() if parts.sort(noun, known.get(code), each)}
    drafts, published = recipes.draft_texts(session), recipes.version_texts(session)
    for element in body["recipes"]:
        code, document = element["code"], elements["recipes"][element["code"]]
        if parts.sort("recipes", drafts.get(code), document):
            parts.drafts[code] = document
        if element["publish_from"] is not None:
            versions = before.versions.get(code, ())
            request = {"from": element["publish_from"], "sites": None, "note": ""}
            row = next_version({each.number for each in versions}, code, document, request, now, by)
            # The same body sent again changes nothing.
            newest = newest_alike(versions, row)
            if newest is None or not says("recipes", published[code, newest.number], document):
                parts.rows[code] = row
    return parts


def _faults(session: Session, elements: Elements, catalogues: tuple[Catalogue, Catalogue], parts: Parts, today: date) -> Iterator[Fault]:
    """Every fault of every element, with pointers into the body."""
    before, after = catalogues
    # What was counted of an ingredient that stays as it is can still be read.
    counted = counted_faults(session, after, parts.documents["ingredients"].keys())
    sound = harmless(before, after, elements["ingredients"], today)
    for noun in NOUNS:
        for index, (code, document) in enumerate(elements[noun].items()):
            faults = document_faults(before, after, noun, code, document, today, harmless=sound)
            for fault in faults + (counted.get(code, []) if noun == "ingredients" else []):
                yield fault.below(f"/{noun}/{index}")
    by_recipe: dict[str, list[Fault]] = {}
    published = [after.versions[row.recipe][-1] for row in parts.rows.values()]
    for version in published:
        by_recipe[version.recipe] = request_faults(before, version, today, [], "/publish_from", OTHERWISE)
        by_recipe[version.recipe] += version_faults(after, version, today)
        by_recipe[version.recipe] += outlasting_users(before, after, version.recipe, today, parts.rows)
    # As in publishing: without measures, users of a recipe would be told as broken, too.
    if published and not any(measureless(faults) for faults in by_recipe.values()):
        for code, faults in group_faults(after, published, today).items():
            by_recipe[code] += faults
    for index, code in enumerate(elements["recipes"]):
        for fault in by_recipe.get(code, ()):
            yield fault.below(f"/recipes/{index}")


def _allergen_faults(
    body: Mapping[str, Any], catalogues: tuple[Catalogue, Catalogue], acknowledged: Collection[str], today: date
) -> Iterator[Fault]:
    """Allergens that the body adds to what is in use and that nobody acknowledged (A2), each where it could be or where it comes from."""
    known = {*acknowledged, *(name for recipe in body["recipes"] for name in recipe["acknowledge"])}
    places = {Item.recipe(each["code"]): f"/recipes/{index}/acknowledge" for index, each in enumerate(body["recipes"])}
    places |= {Item(each["code"]): f"/ingredients/{index}" for index, each in enumerate(body["ingredients"])}
    for addition in additions(*catalogues, today):
        place = next((pointer for item, pointer in places.items() if item in addition.sources), "")
        for fault in acknowledgement_faults([addition], known):
            yield replace(fault, pointer=place, detail=f"{fault.detail} (of any recipe of the body, or of the query)")

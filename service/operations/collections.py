"""Stations, equipment, ingredients, menu items and sites: reading, putting and deleting one.

Responsible for the checks in meaning that a change of one of them must pass. Refuses to know shape and HTTP.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from service.errors import Fault, InUse, Invalid, Moved, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.checks.additions import acknowledgement_faults, additions
from service.kitchen.checks.capacity import equipment_faults
from service.kitchen.checks.ingredient import ingredient_faults
from service.kitchen.checks.measures import quantity_faults
from service.kitchen.checks.references import references
from service.kitchen.checks.selling import menu_item_faults, site_faults
from service.kitchen.checks.users import broken_users
from service.kitchen.measures.units import Quantity
from service.operations.basis import check_catalogue
from service.operations.loading import group_today, load_catalogue, with_documents
from service.operations.matching import Expected, require_match
from service.store import collections, counts, forecasts, overrides, revisions
from service.store.documents import Document, tag


@dataclass(frozen=True, slots=True)
class Stored:
    """A document as it stands, under its code, with the tag of its state."""

    code: str
    document: Document
    tag: str


ONE = {"stations": "station", "equipment": "equipment", "ingredients": "ingredient", "menu_items": "menu item", "sites": "site"}
"""What a thing of a collection is called."""


def get_document(session: Session, noun: str, code: str) -> Stored:
    """One thing of a collection; raises NotFound."""
    document = collections.read(session, noun, code)
    if document is None:
        raise NotFound(ONE[noun], code)
    return Stored(code, document, tag(document))


def name_of(session: Session, site: str) -> str:
    """What a site is called; raises NotFound."""
    name: str = get_document(session, "sites", site).document["name"]
    return name


def check_exists(session: Session, noun: str, code: str) -> None:
    """Raise NotFound unless there is such a thing in a collection."""
    if not collections.exists(session, noun, code):
        raise NotFound(ONE[noun], code)


def list_documents(session: Session, noun: str, after: str | None, limit: int, among: Collection[str] | None = None) -> list[Stored]:
    """Up to ``limit`` + 1 things of a collection after a code, by code, ``among`` some (None: all); the one too many tells of more."""
    return [Stored(code, document, tag(document)) for code, document in collections.page(session, noun, after, limit + 1, among)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A thing that is to be put, and what it was checked against: the catalogue, and all counts up to one."""

    noun: str
    code: str
    document: Document
    catalogue: Catalogue
    newest_count: int


def prepare_document(
    session: Session, noun: str, code: str, document: Document, now: datetime, acknowledged: Collection[str] = ()
) -> Change:
    """Check a thing that is to be put, knowing the allergens that this adds to its users (A2), with a session that reads.

    Raises Invalid with every fault in meaning.
    """
    before = load_catalogue(session)
    after = with_documents(before, noun, {code: document})
    today = group_today(after, now)
    faults = document_faults(before, after, noun, code, document, today)
    faults += counted_faults(session, after, [code] if noun == "ingredients" else []).get(code, [])
    unacknowledged = acknowledgement_faults(additions(before, after, today), acknowledged)
    faults += [replace(fault, pointer="", parameter="acknowledge") for fault in unacknowledged]
    if faults:
        raise Invalid(faults)
    return Change(noun=noun, code=code, document=document, catalogue=before, newest_count=counts.newest_id(session))


def put_document(session: Session, change: Change, expected: Expected) -> tuple[Stored, bool]:
    """Create or replace one thing that was checked; returns it and whether it is new. Raises Moved, then MatchRequired or Stale."""
    noun, code, document = change.noun, change.code, change.document
    check_catalogue(session, change.catalogue)
    check_counts(session, {code} if noun == "ingredients" else (), change.newest_count)
    current = collections.read(session, noun, code)
    require_match(None if current is None else tag(current), expected)
    # The same document again would move the ETags of all lists for nothing.
    if current != document:
        collections.save(session, noun, code, document)
        revisions.bump(session, revisions.CATALOGUE)
    return Stored(code, document, tag(document)), current is None


def document_faults(
    before: Catalogue, after: Catalogue, noun: str, code: str, document: Document, today: date, *, harmless: bool = False
) -> list[Fault]:
    """Everything wrong with one thing in the catalogue that already holds it, users that it breaks included unless it is ``harmless``."""
    if noun == "ingredients":
        return [*ingredient_faults(after, code, document), *(() if harmless else _ingredient_user_faults(before, after, code, today))]
    if noun == "equipment":
        return [*equipment_faults(before, after, code)]
    if noun == "menu_items":
        return [*menu_item_faults(after, code, today)]
    if noun == "sites":
        return [*site_faults(after, code, [each["recipe"] for each in document["vessels"]], today)]
    return []


def harmless(before: Catalogue, after: Catalogue, ingredients: Collection[str], today: date) -> bool:
    """Whether no ingredient breaks a user. Asked of all at once: each by itself asks a recipe as often as it has lines."""
    return not broken_users(after, frozenset(Item(code) for code in ingredients if code in before.ingredients), today)


def _ingredient_user_faults(before: Catalogue, after: Catalogue, code: str, today: date) -> Iterable[Fault]:
    """Recipes, pars and trimmings that a changed ingredient would break."""
    # Nobody uses what was not there.
    if code not in before.ingredients:
        return
    for broken in broken_users(after, frozenset({Item(code)}), today):
        fault = "in_use" if broken.error.code == "unknown_reference" else broken.error.code
        pointer = "/forms" if fault == "in_use" else "/equivalents"
        yield Fault(pointer, fault, f"{broken.user} from {broken.place.on} could no longer be served: {broken.error.detail}")


def counted_faults(session: Session, after: Catalogue, ingredients: Collection[str]) -> dict[str, list[Fault]]:
    """Counted lots of ingredients that a change would leave without a meaning, by ingredient."""
    detail = "stock was counted at {} in a way that the changed ingredient no longer explains; keep the measure, or count it anew"
    lots = counts.newest_of_ingredients(session, ingredients)
    faults: dict[str, list[Fault]] = defaultdict(list)
    for code, site in dict.fromkeys((code, site) for code, site, row in lots if not _reads(after, row.document)):
        faults[code].append(Fault("", "in_use", detail.format(site)))
    return faults


def check_counts(session: Session, ingredients: Collection[str], newest: int) -> None:
    """Raise Moved where one of these ingredients was counted after the count ``newest``: ``counted_faults`` has not seen that."""
    if ingredients and not counts.ingredients_since(session, newest).isdisjoint(ingredients):
        raise Moved("An ingredient was counted meanwhile; try again.")


def _reads(catalogue: Catalogue, lot: Document) -> bool:
    conversions = catalogue.conversions(Item.read(lot["item"]))
    if conversions is None:
        return False
    return not quantity_faults(Quantity.read(lot["quantity"], told=True), conversions, "")


def delete_document(session: Session, noun: str, code: str, catalogue: Catalogue, expected: Expected) -> None:
    """Remove one thing; raises NotFound, MatchRequired, Stale, Moved, or InUse naming what refers to it."""
    check_catalogue(session, catalogue)
    stored = get_document(session, noun, code)
    require_match(stored.tag, expected)
    users = references(catalogue, noun, code)
    users += _stored_users(session, noun, code)
    if users:
        raise InUse(f"{code} is in use by {', '.join(users[:5])}" + (f" and {len(users) - 5} more" if len(users) > 5 else ""), users)
    collections.remove(session, noun, code)
    revisions.bump(session, revisions.CATALOGUE)


def _stored_users(session: Session, noun: str, code: str) -> list[str]:
    """Counts, forecasts and overrides that refer to a thing."""
    finders: dict[str, list[Callable[[Session, str], list[str]]]] = {
        "ingredients": [counts.sites_counting],
        "menu_items": [forecasts.sites_naming, overrides.sites_naming],
    }
    sites = dict.fromkeys(site for finder in finders.get(noun, []) for site in finder(session, code))
    return [f"what site {site} recorded" for site in sites]

"""Stock counts: what a site found on hand, and when.

Responsible for counts as they were recorded, and for the newest of each item. Refuses to know whether a
counted lot can still be used.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Select, delete, func, insert, select, tuple_, update
from sqlalchemy.orm import Session

from service.store import portions
from service.store.documents import Document
from service.store.tables import counted_items, stock_counts
from service.store.upserts import insert_into


@dataclass(frozen=True, slots=True, kw_only=True)
class CountRow:
    """A count as it was recorded: its document has ``counted_at`` as written, and the lots."""

    id: int
    site: str
    counted_at: datetime
    recorded_at: datetime
    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """One lot of the newest count of its item: the lot's document, and when it was counted."""

    item: str
    counted_at: datetime
    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedRow:
    """One lot of any count; ``count`` grows as counts are recorded."""

    count: int
    counted_at: datetime
    revision: int
    document: Document


def item_key(reference: dict[str, str | None]) -> str:
    """The text under which lots of an item are found; an ingredient and a recipe of one code differ.

    >>> item_key({"ingredient": "onion", "form": "small-dice"}), item_key({"recipe": "onion"})
    ('ingredient:onion/small-dice', 'recipe:onion')
    """
    if reference.get("recipe"):
        return f"recipe:{reference['recipe']}"
    form = reference.get("form")
    return f"ingredient:{reference['ingredient']}" + (f"/{form}" if form else "")


def add(session: Session, site: str, counted_at: datetime, recorded_at: datetime, document: Document, revision: int = 0) -> int:
    """Record a count (``document["lots"]`` holds its lots) and the revision that it gives its site; returns its id."""
    values = {"site": site, "counted_at": counted_at, "recorded_at": recorded_at, "revision": revision, "content": document}
    number = int(session.execute(insert(stock_counts).values(values).returning(stock_counts.c.id)).scalar_one())
    _count_items(session, site, number, counted_at, _items_of(document))
    return number


def _count_items(session: Session, site: str, number: int, counted_at: datetime, items: Collection[str]) -> None:
    """Let a count be the newest of some items, but of those that another found later; of two at one moment the later recorded (P3)."""
    if not items:
        return
    statement = insert_into(session, counted_items)
    newer = statement.excluded.counted_at >= counted_items.c.counted_at
    set_ = {name: statement.excluded[name] for name in ("stock_count", "counted_at")}
    rows = [{"site": site, "item": item, "stock_count": number, "counted_at": counted_at} for item in sorted(items)]
    session.execute(statement.on_conflict_do_update(index_elements=["site", "item"], set_=set_, where=newer), rows)


def _items_of(document: Document) -> set[str]:
    return {item_key(lot["item"]) for lot in document["lots"]}


def read(session: Session, site: str, number: int) -> CountRow | None:
    """A count of a site by its id; None for one of another site, and for one that was deleted."""
    found = session.execute(_standing(site).where(stock_counts.c.id == number)).mappings().one_or_none()
    return None if found is None else CountRow(**found)


def between(session: Session, site: str, start: datetime, end: datetime, after: int | None, limit: int) -> list[CountRow]:
    """Up to ``limit`` counts taken from a moment on and before another, the newest first, behind the one with the id ``after``."""
    counts = stock_counts.c
    place = tuple_(counts.counted_at, counts.id)
    wanted = _standing(site).where(counts.counted_at >= start, counts.counted_at < end)
    if after is not None:
        # The row of a deleted count is still there, so that a page behind it begins where it stood.
        wanted = wanted.where(place < select(counts.counted_at, counts.id).where(counts.id == after).scalar_subquery())
    rows = session.execute(wanted.order_by(counts.counted_at.desc(), counts.id.desc()).limit(limit)).mappings()
    return [CountRow(**row) for row in rows]


def _standing(site: str) -> Select[int, str, datetime, datetime, Document]:
    """The counts of a site that were not deleted."""
    counts = stock_counts.c
    wanted = select(counts.id, counts.site, counts.counted_at, counts.recorded_at, counts.content.label("document"))
    return wanted.where(counts.site == site, counts.deleted_at.is_(None))


def remove(session: Session, count: CountRow, deleted_at: datetime) -> None:
    """Delete a count: of what it found, nothing is known any more, but by the next older count of the item."""
    session.execute(update(stock_counts).where(stock_counts.c.id == count.id).values(deleted_at=deleted_at))
    items, counts = counted_items.c, stock_counts.c
    newest = (items.site == count.site) & (items.stock_count == count.id)
    unknown = set(session.scalars(select(items.item).where(newest)))
    session.execute(delete(counted_items).where(newest))
    older: list[tuple[CountRow, set[str]]] = []
    wanted = _standing(count.site).order_by(counts.counted_at.desc(), counts.id.desc())
    with session.execute(wanted, execution_options={"yield_per": 16}) as found:
        for each in found.mappings():
            if not unknown:
                break
            older.append((CountRow(**each), _items_of(each["document"]) & unknown))
            unknown -= older[-1][1]
    for row, counted in older:
        _count_items(session, count.site, row.id, row.counted_at, counted)


def forget(session: Session, site: str, before: datetime, limit: int) -> int:
    """Remove up to ``limit`` counts taken before a moment of which every lot was counted again since; returns how many.

    So the newest count of each item stays, however old, and so does the count that was recorded last: no id is given twice.
    """
    counts = stock_counts.c
    needed = select(counted_items.c.stock_count).where(counted_items.c.site == site)
    old = (counts.site == site) & (counts.counted_at < before) & (counts.id < newest_id(session)) & counts.id.not_in(needed)
    return portions.remove(session, stock_counts, old, limit)


def newest_id(session: Session) -> int:
    """The id of the count of any site that was recorded last; 0 where there is none."""
    return session.execute(select(func.max(stock_counts.c.id))).scalar_one() or 0


def ingredients_since(session: Session, after: int) -> set[str]:
    """The codes of the ingredients that were counted, in whichever form, in any count recorded after the one with the id ``after``."""
    found = session.execute(select(stock_counts.c.content).where(stock_counts.c.id > after, stock_counts.c.deleted_at.is_(None))).scalars()
    return {str(lot["item"]["ingredient"]) for content in found for lot in content["lots"] if lot["item"].get("ingredient")}


def newest_lots(session: Session, site: str) -> list[LotRow]:
    """The lots of each item's newest count, ordered by item; of two at one moment the later recorded."""
    items, counts = counted_items.c, stock_counts.c
    newest = session.execute(select(items.item, items.stock_count).where(items.site == site).order_by(items.item)).all()
    wanted = select(counts.id, counts.counted_at, counts.content).where(counts.id.in_(sorted({number for _, number in newest})))
    counted = {row.id: row for row in session.execute(wanted)}
    return [
        LotRow(item=item, counted_at=counted[number].counted_at, document=lot)
        for item, number in newest
        for lot in counted[number].content["lots"]
        if item_key(lot["item"]) == item
    ]


def lots_between(session: Session, site: str, start: datetime, end: datetime) -> list[CountedRow]:
    """Every lot of the counts taken from a moment on and before another, as recorded."""
    return _lots(session, site, (stock_counts.c.counted_at >= start) & (stock_counts.c.counted_at < end))


def lots_after(session: Session, site: str, revision: int) -> list[CountedRow]:
    """Every lot of the counts recorded since a revision of the site."""
    return _lots(session, site, stock_counts.c.revision > revision)


def _lots(session: Session, site: str, which: ColumnElement[bool]) -> list[CountedRow]:
    counts = stock_counts.c
    wanted = select(counts.id, counts.counted_at, counts.revision, counts.content)
    rows = session.execute(wanted.where(counts.site == site, counts.deleted_at.is_(None), which).order_by(counts.id))
    return [
        CountedRow(count=number, counted_at=counted_at, revision=revision, document=lot)
        for number, counted_at, revision, content in rows
        for lot in content["lots"]
    ]


def sites_counting(session: Session, ingredient: str) -> list[str]:
    """The sites that ever counted an ingredient or one of its forms, ordered by code."""
    key = item_key({"ingredient": ingredient})
    wanted = select(counted_items.c.site).where((counted_items.c.item == key) | counted_items.c.item.startswith(f"{key}/", autoescape=True))
    return list(session.execute(wanted.distinct().order_by(counted_items.c.site)).scalars())


def newest_of_ingredients(session: Session, ingredients: Collection[str]) -> list[tuple[str, str, LotRow]]:
    """The lots of some ingredients and their forms in each site's newest count of them, with the ingredient and the site."""
    if not ingredients:
        return []
    # One ingredient is counted at few sites, of a whole catalogue something at each.
    alone = next(iter(ingredients)) if len(ingredients) == 1 else None
    everywhere = select(counted_items.c.site).distinct().order_by(counted_items.c.site)
    sites = list(session.execute(everywhere).scalars()) if alone is None else sites_counting(session, alone)
    lots = ((row.document["item"].get("ingredient"), site, row) for site in sites for row in newest_lots(session, site))
    return [(code, site, row) for code, site, row in lots if code in ingredients]

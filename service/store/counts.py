"""Stock counts: what a site found on hand, and when.

Responsible for counts as they were recorded, and for the newest of each item before a moment. Refuses to know whether a
counted lot can still be used.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import ColumnElement, Select, delete, exists, func, insert, select, tuple_, update
from sqlalchemy.orm import Session, aliased

from service.store.documents import Document
from service.store.tables import counted_items, stock_counts, stock_lots
from service.store.upserts import upsert


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
    lots: Sequence[Document] = document["lots"]
    if lots:
        keyed = [(position, item_key(lot["item"]), lot) for position, lot in enumerate(lots)]
        upsert(session, counted_items, [{"site": site, "item": item} for item in {item for _, item, _ in keyed}])
        session.execute(
            insert(stock_lots),
            [
                {"stock_count": number, "position": position, "site": site, "item": item, "counted_at": counted_at, "document": lot}
                for position, item, lot in keyed
            ],
        )
    return number


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
    """Delete a count: of what it found, nothing is known any more."""
    session.execute(update(stock_counts).where(stock_counts.c.id == count.id).values(deleted_at=deleted_at))
    session.execute(delete(stock_lots).where(stock_lots.c.stock_count == count.id))
    items = counted_items.c
    counted = exists().where(stock_lots.c.site == items.site, stock_lots.c.item == items.item)
    session.execute(delete(counted_items).where(items.site == count.site, ~counted))


def forget(session: Session, site: str, before: datetime, limit: int) -> int:
    """Remove up to ``limit`` counts taken before a moment of which every lot was counted again since; returns how many.

    So the newest count of each item stays, however old, and so does the count that was recorded last: no id is given twice.
    """
    lots, later = stock_lots.alias(), stock_lots.alias()
    again = exists().where(later.c.site == lots.c.site, later.c.item == lots.c.item, later.c.counted_at > lots.c.counted_at)
    needed = exists().where(lots.c.stock_count == stock_counts.c.id, ~again)
    old = (stock_counts.c.site == site) & (stock_counts.c.counted_at < before) & (stock_counts.c.id < newest_id(session)) & ~needed
    chosen = session.execute(select(stock_counts.c.id).where(old).limit(limit)).scalars().all()
    for rows, count in ((stock_lots, stock_lots.c.stock_count), (stock_counts, stock_counts.c.id)):
        session.execute(delete(rows).where(count.in_(chosen)))
    return len(chosen)


def newest_id(session: Session) -> int:
    """The id of the count of any site that was recorded last; 0 where there is none."""
    return session.execute(select(func.max(stock_counts.c.id))).scalar_one() or 0


def ingredients_since(session: Session, after: int) -> set[str]:
    """The codes of the ingredients that were counted, in whichever form, in any count recorded after the one with the id ``after``."""
    keys = session.execute(select(stock_lots.c.item).where(stock_lots.c.stock_count > after).distinct()).scalars()
    kinds = (key.partition(":")[::2] for key in keys)
    return {item.partition("/")[0] for kind, item in kinds if kind == "ingredient"}


def newest_lots(session: Session, site: str, before: datetime) -> list[LotRow]:
    """The lots of each item's newest count taken before a moment, ordered by item; of two at one moment the later recorded."""
    rows = session.execute(newest(site, before))
    return [LotRow(item=item, counted_at=counted_at, document=document) for item, counted_at, document in rows]


def newest(site: str, before: datetime) -> Select[str, datetime, Document]:
    """The question behind ``newest_lots``: for each item the site ever counted, one step into an index."""
    other = aliased(stock_lots)
    last = (
        select(other.c.stock_count)
        .where(other.c.site == counted_items.c.site, other.c.item == counted_items.c.item, other.c.counted_at < before)
        .order_by(other.c.counted_at.desc(), other.c.stock_count.desc())
        .limit(1)
        .correlate(counted_items)
        .scalar_subquery()
    )
    return (
        select(stock_lots.c.item, stock_lots.c.counted_at, stock_lots.c.document)
        .select_from(counted_items)
        .join(
            stock_lots,
            (stock_lots.c.site == counted_items.c.site) & (stock_lots.c.item == counted_items.c.item) & (stock_lots.c.stock_count == last),
        )
        .where(counted_items.c.site == site)
        .order_by(stock_lots.c.item, stock_lots.c.position)
    )


def lots_between(session: Session, site: str, start: datetime, end: datetime) -> list[CountedRow]:
    """Every lot of the counts taken from a moment on and before another, as recorded."""
    return _lots(session, site, (stock_counts.c.counted_at >= start) & (stock_counts.c.counted_at < end))


def lots_after(session: Session, site: str, revision: int) -> list[CountedRow]:
    """Every lot of the counts recorded since a revision of the site."""
    return _lots(session, site, stock_counts.c.revision > revision)


def _lots(session: Session, site: str, which: ColumnElement[bool]) -> list[CountedRow]:
    counts = stock_counts.c
    wanted = (
        select(counts.id.label("count"), counts.counted_at, counts.revision, stock_lots.c.document)
        .join_from(stock_counts, stock_lots, stock_lots.c.stock_count == counts.id)
        .where(counts.site == site, which)
        .order_by(counts.id, stock_lots.c.position)
    )
    return [CountedRow(**row) for row in session.execute(wanted).mappings()]


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
    end = datetime.max.replace(tzinfo=UTC)
    lots = ((row.document["item"].get("ingredient"), site, row) for site in sites for row in newest_lots(session, site, end))
    return [(code, site, row) for code, site, row in lots if code in ingredients]

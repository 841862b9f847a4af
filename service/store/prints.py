"""Prints: lists as a kitchen printed them, and the work that each of them showed.

Responsible for rows that never change, and for keeping each as what differs from a print like it. Refuses to know what a
list says and what follows from a print.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from io import BytesIO
from typing import Any, NamedTuple

from sqlalchemy import Row, Select, bindparam, exists, func, insert, select, tuple_
from sqlalchemy.orm import Session

from service.store import packing
from service.store.documents import Document, decode, text_of
from service.store.portions import remove
from service.store.tables import print_patterns, prints

# A print that has to be told by more than this part of its pattern's bytes is a pattern itself.
UNLIKE = 0.65
# Patterns kept as texts, of a quarter of a megabyte each for a site such as the demo's.
PLAIN = 32
# A longer pattern, packed, is unpacked each time: that takes milliseconds, and a worker has no room for many.
LONG = 128 * 1024
Work = tuple[str, str, Document]
# What is reported stands on one of the newest prints as a rule; each costs some time to read.
FIRST_OF_NEWEST, MORE_OF_NEWEST = 2, 16
NEWEST = (
    select(prints.c.date, prints.c.number, prints.c.works)
    .where(prints.c.site == bindparam("site"))
    .order_by(prints.c.printed_at.desc(), prints.c.date.desc(), prints.c.number.desc())
    .limit(bindparam("most"))
    .offset(bindparam("seen"))
)
PATTERN = select(print_patterns.c.content).where(print_patterns.c.site == bindparam("site"), print_patterns.c.number == bindparam("number"))


class PrintKey(NamedTuple):
    """Which print of a site."""

    date: date
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintHead:
    """One print of a date's list, numbered from 1."""

    site: str
    date: date
    number: int
    printed_at: datetime
    printed_by: str | None
    revision: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintRow(PrintHead):
    """A print with the list that it was."""

    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRow:
    """A run, pull or use as a print showed it; ``work`` is its id without a stage."""

    date: date
    number: int
    work: str
    kind: str
    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedPrint:
    """A list with its work in few bytes, like the pattern of a number.

    ``made`` is that pattern, packed itself, where it is new; nothing differs from it then, and ``content`` is empty.
    """

    works: Mapping[str, str]
    pattern: int
    made: bytes | None
    content: bytes


def pack(session: Session, site: str, on: date, document: Document, work: Iterable[Work]) -> PackedPrint:
    """Pack the list of a date with the work that it shows (id, kind and frozen document of each); holds while the site does not move."""
    # One text from the start: of a large kitchen it has 45 MB, which are better not there twice.
    works, lines = dict[str, str](), BytesIO()
    lines.write(packing.relate(text_of(document).encode(), on))
    for id_, kind, frozen in work:
        works[id_] = kind
        lines.write(b"\n" + packing.relate(text_of(frozen).encode(), on))
    text = lines.getvalue()
    columns = print_patterns.c
    wanted = select(columns.number, columns.content).where(columns.site == site).order_by(columns.number.desc()).limit(1)
    newest = session.execute(wanted).one_or_none()
    if newest is not None:
        content = packing.pack(text, _plain(newest.content))
        if len(content) <= UNLIKE * len(newest.content):
            return PackedPrint(works=works, pattern=newest.number, made=None, content=content)
    return PackedPrint(works=works, pattern=newest.number + 1 if newest else 1, made=packing.pack(text), content=b"")


def add(session: Session, head: PrintHead, packed: PackedPrint) -> None:
    """Add a print."""
    if packed.made is not None:
        session.execute(insert(print_patterns).values(site=head.site, number=packed.pattern, content=packed.made))
    values = {name: getattr(head, name) for name in PrintHead.__dataclass_fields__}
    session.execute(insert(prints).values(**values, works=packed.works, pattern=packed.pattern, content=packed.content))


def read(session: Session, site: str, on: date, number: int) -> PrintRow | None:
    """One print, or None."""
    return next(iter(_rows(session, _select(site).where(prints.c.date == on, prints.c.number == number))), None)


def newest_number(session: Session, site: str, on: date) -> int:
    """The number of a date's newest print; 0 where there is none."""
    wanted = select(func.max(prints.c.number)).where(prints.c.site == site, prints.c.date == on)
    return session.execute(wanted).scalar_one() or 0


def page(session: Session, site: str, on: date, after: int, limit: int) -> list[PrintRow]:
    """Up to ``limit`` prints of a date after a number."""
    wanted = _select(site).where(prints.c.date == on, prints.c.number > after).order_by(prints.c.number).limit(limit)
    return _rows(session, wanted)


def newest_work(session: Session, site: str, first: date, before: date) -> list[WorkRow]:
    """The work of the newest print of each date of a range (``before`` excluded), by date and id."""
    newest = (
        select(prints.c.date, func.max(prints.c.number).label("number"))
        .where(prints.c.site == site, prints.c.date >= first, prints.c.date < before)
        .group_by(prints.c.date)
        .subquery()
    )
    wanted = _select(site).join(newest, (prints.c.date == newest.c.date) & (prints.c.number == newest.c.number))
    return [
        WorkRow(date=row.date, number=row.number, work=work, kind=kind, document=_decoded(row, line))
        for row, _, lines in _unpacked(session, wanted.order_by(prints.c.date))
        for work, kind, line in sorted(zip(row.works, row.works.values(), lines, strict=True))
    ]


def printed_last(session: Session, site: str, work: str) -> WorkRow | None:
    """A run, pull or use as on the newest print of any date that shows it."""
    seen, most = 0, FIRST_OF_NEWEST
    while rows := session.execute(NEWEST, {"site": site, "seen": seen, "most": most}).all():
        for on, number, works in rows:
            if work in works:
                return works_of(session, site, {work: PrintKey(on, number)})[work]
        seen, most = seen + most, MORE_OF_NEWEST
    return None


def of_date(session: Session, site: str, on: date, work: str) -> list[Document]:
    """A run, pull or use as on each print of a date that shows it, by number."""
    wanted = _select(site).where(prints.c.date == on).order_by(prints.c.number)
    return [_decoded(row, lines[list(row.works).index(work)]) for row, _, lines in _unpacked(session, wanted) if work in row.works]


def works_of(session: Session, site: str, keys: Mapping[str, PrintKey]) -> dict[str, WorkRow]:
    """Some runs, pulls and uses, each as the print showed it that is named; each print is read once."""
    if not keys:
        return {}
    among = tuple_(prints.c.date, prints.c.number).in_(sorted(set(keys.values())))
    return {
        work: WorkRow(date=row.date, number=row.number, work=work, kind=kind, document=_decoded(row, line))
        for row, _, lines in _unpacked(session, _select(site).where(among))
        for (work, kind), line in zip(row.works.items(), lines, strict=True)
        if keys.get(work) == (row.date, row.number)
    }


def forget(session: Session, site: str, before: date, keep: Collection[PrintKey], limit: int) -> int:
    """Remove up to ``limit`` prints of dates before one but those to ``keep``, then patterns of none; returns how many."""
    old = (prints.c.site == site) & (prints.c.date < before) & tuple_(prints.c.date, prints.c.number).not_in(sorted(keep))
    removed = remove(session, prints, old, limit)
    if removed < limit:
        columns, newer = print_patterns.c, print_patterns.alias()
        used = exists().where(prints.c.site == columns.site, prints.c.pattern == columns.number)
        # The next print may be like the newest.
        last = ~exists().where(newer.c.site == columns.site, newer.c.number > columns.number)
        removed += remove(session, print_patterns, (columns.site == site) & ~used & ~last, limit - removed)
    return removed


def _select(site: str) -> Select[*tuple[Any, ...]]:
    return select(prints).where(prints.c.site == site)


def _rows(session: Session, wanted: Select[*tuple[Any, ...]]) -> list[PrintRow]:
    names = PrintHead.__dataclass_fields__
    return [
        PrintRow(**{name: getattr(row, name) for name in names}, document=_decoded(row, document))
        for row, document, _ in _unpacked(session, wanted)
    ]


def _unpacked(session: Session, wanted: Select[*tuple[Any, ...]]) -> Iterator[tuple[Row[*tuple[Any, ...]], bytes, list[bytes]]]:
    """Prints with the texts of the list and of each piece of work; of prints that are like one pattern it is read once."""
    patterns: dict[tuple[str, int], bytes] = {}
    for row in session.execute(wanted).all():
        key = (row.site, row.pattern)
        if key not in patterns:
            patterns[key] = _plain(session.execute(PATTERN, {"site": row.site, "number": row.pattern}).scalar_one())
        text = packing.unpack(row.content, patterns[key]) if row.content else patterns[key]
        document, *lines = text.split(b"\n")
        yield row, document, lines


def _decoded(row: Row[*tuple[Any, ...]], text: bytes) -> Document:
    """A document that stood in a print."""
    document: Document = decode(packing.restore(text, row.date))
    return document


def _plain(pattern: bytes) -> bytes:
    """The text of a pattern; every report that rests on a print asks for it."""
    return packing.unpack(pattern) if len(pattern) > LONG else _kept(pattern)


_kept = lru_cache(maxsize=PLAIN)(packing.unpack)

"""Sheet links: addresses that open a site's sheet, by the hash of a secret that is nowhere kept.

Responsible for the rows. Refuses to know secrets and what a link shows.
"""

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import RowMapping, insert, select, update
from sqlalchemy.orm import Session

from service.store.tables import sheet_links


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLinkRow:
    """One link: the site whose sheet it opens, the stations that it is limited to (None: none), who made it, and its times."""

    id: str
    site: str
    stations: tuple[str, ...] | None
    secret_hash: str
    created_by: str | None
    created_at: datetime
    expires_at: datetime
    revoked_at: datetime | None = None


def row(columns: RowMapping) -> SheetLinkRow:
    """A link out of its columns."""
    values: dict[str, Any] = dict(columns)
    return SheetLinkRow(**values | {"stations": None if columns["stations"] is None else tuple(columns["stations"])})


def add(session: Session, link: SheetLinkRow) -> None:
    """Add a link."""
    stations = None if link.stations is None else list(link.stations)
    session.execute(insert(sheet_links).values(asdict(link) | {"stations": stations}))


def find(session: Session, secret_hash: str) -> SheetLinkRow | None:
    """The link with this hash, or None."""
    columns = session.execute(select(sheet_links).where(sheet_links.c.secret_hash == secret_hash)).mappings().first()
    return None if columns is None else row(columns)


def page(session: Session, site: str, after: str | None, limit: int) -> list[SheetLinkRow]:
    """Up to ``limit`` links of a site behind the id ``after``, ordered by id."""
    wanted = select(sheet_links).where(sheet_links.c.site == site).order_by(sheet_links.c.id).limit(limit)
    if after is not None:
        wanted = wanted.where(sheet_links.c.id > after)
    return [row(columns) for columns in session.execute(wanted).mappings()]


def revoke(session: Session, site: str, link_id: str, revoked_at: datetime) -> bool:
    """Revoke a link of a site, from now on; an earlier revocation stands. False where the site has no such link."""
    named = (sheet_links.c.id == link_id, sheet_links.c.site == site)
    known = session.execute(select(sheet_links.c.id).where(*named)).first() is not None
    session.execute(update(sheet_links).where(*named, sheet_links.c.revoked_at.is_(None)).values(revoked_at=revoked_at))
    return known

"""Sheet links: addresses that open a site's sheet in any browser, for some days.

Responsible for making, opening, listing and revoking them. Refuses to know requests and how a sheet looks. A secret is shown
once and kept nowhere: the store has its hash.
"""

import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, NotFound
from service.operations.tokens import ID_BYTES, SECRET_BYTES, hash_secret, write
from service.store import collections, sheet_links
from service.store.sheet_links import SheetLinkRow


def create_link(
    session: Session, site: str, stations: Sequence[str] | None, days: int, by: str | None, now: datetime
) -> tuple[str, dict[str, Any]]:
    """Make a link to a site's sheets, or to those of some stations, valid for some days; returns its secret and what is known of it.

    Nothing can show the secret again. Raises Invalid for stations that do not exist.
    """
    unknown = [(index, code) for index, code in enumerate(stations or ()) if not collections.exists(session, "stations", code)]
    if unknown:
        raise Invalid([Fault(f"/stations/{index}", "unknown_reference", f"there is no station {code}") for index, code in unknown])
    secret = secrets.token_urlsafe(SECRET_BYTES)
    link = SheetLinkRow(
        id=secrets.token_hex(ID_BYTES),
        site=site,
        stations=None if stations is None else tuple(stations),
        secret_hash=hash_secret(secret),
        created_by=by,
        created_at=now,
        expires_at=now + timedelta(days=days),
    )
    sheet_links.add(session, link)
    return secret, describe(link)


def open_link(session: Session, secret: str, now: datetime) -> SheetLinkRow:
    """What a link opens. Raises NotFound, in the same words for an unknown, an expired and a revoked one."""
    link = sheet_links.find(session, hash_secret(secret))
    if link is None or link.revoked_at is not None or link.expires_at <= now:
        raise NotFound("sheet", "at this address", "Its link is unknown, expired or revoked: ask for a new one.")
    return link


def leads_to(session: Session, link: SheetLinkRow, station: str) -> bool:
    """Whether a link shows a station: one of its own, or any that there is where it is for all."""
    return collections.exists(session, "stations", station) if link.stations is None else station in link.stations


def list_links(session: Session, site: str, after: str | None, limit: int) -> list[dict[str, Any]]:
    """Up to ``limit`` links of a site behind the id ``after``, ordered by id; revoked and expired ones too."""
    return [describe(link) for link in sheet_links.page(session, site, after, limit)]


def revoke_link(session: Session, site: str, link_id: str, now: datetime) -> None:
    """Make a link useless at once; doing it again changes nothing. Raises NotFound."""
    if not sheet_links.revoke(session, site, link_id, now):
        raise NotFound("sheet link with the id", link_id)


def describe(link: SheetLinkRow) -> dict[str, Any]:
    """What may be shown of a link: all but its hash."""
    return {
        "id": link.id,
        "stations": None if link.stations is None else list(link.stations),
        "created_at": write(link.created_at),
        "expires_at": write(link.expires_at),
        "revoked_at": None if link.revoked_at is None else write(link.revoked_at),
    }

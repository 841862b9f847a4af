"""Tokens: who may call, by the hash of a secret that is nowhere kept.

Responsible for the rows. Refuses to know secrets and what a role may do.
"""

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import RowMapping, bindparam, insert, select, update
from sqlalchemy.orm import Session

from service.store.tables import tokens

# Made once: every request asks it, and making it takes longer than the answer.
BY_HASH = select(tokens).where(tokens.c.token_hash == bindparam("token_hash"))


@dataclass(frozen=True, slots=True, kw_only=True)
class TokenRow:
    """One token: its role, the sites it is limited to (None: none), the source it pushes as, and its times."""

    id: str
    name: str
    role: str
    token_hash: str
    sites: tuple[str, ...] | None
    source: str | None
    created_at: datetime
    expires_at: datetime
    revoked_at: datetime | None = None


def row(columns: RowMapping) -> TokenRow:
    """A token out of its columns."""
    values: dict[str, Any] = dict(columns)
    return TokenRow(**values | {"sites": None if columns["sites"] is None else tuple(columns["sites"])})


def add(session: Session, token: TokenRow) -> None:
    """Add a token."""
    session.execute(insert(tokens).values(asdict(token) | {"sites": None if token.sites is None else list(token.sites)}))


def find(session: Session, token_hash: str) -> TokenRow | None:
    """The token with this hash, or None."""
    columns = session.execute(BY_HASH, {"token_hash": token_hash}).mappings().first()
    return None if columns is None else row(columns)


def page(session: Session, after: str | None, limit: int) -> list[TokenRow]:
    """Up to ``limit`` tokens behind the id ``after``, ordered by id."""
    wanted = select(tokens).order_by(tokens.c.id).limit(limit)
    if after is not None:
        wanted = wanted.where(tokens.c.id > after)
    return [row(columns) for columns in session.execute(wanted).mappings()]


def revoke(session: Session, token_id: str, revoked_at: datetime) -> bool:
    """Revoke a token, from now on; an earlier revocation stands. False where there is no such token."""
    known = session.execute(select(tokens.c.id).where(tokens.c.id == token_id)).first() is not None
    session.execute(update(tokens).where(tokens.c.id == token_id, tokens.c.revoked_at.is_(None)).values(revoked_at=revoked_at))
    return known

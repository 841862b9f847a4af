"""Tokens: who may call, as what, for how long.

Responsible for making, checking, listing and revoking them. Refuses to know requests and which
role may do what. A secret is shown once and kept nowhere: the store has its hash.
"""

import hashlib
import hmac
import re
import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from unicodedata import category

from sqlalchemy.orm import Session

from service import limits
from service.errors import Fault, Invalid, NotFound, Unauthenticated
from service.store import collections, tokens
from service.store.tokens import TokenRow

SECRET_BYTES = 32
ID_BYTES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """Who calls: a token's role, the sites it is limited to (None: none) and the source it pushes as."""

    token_id: str
    name: str
    role: str
    sites: tuple[str, ...] | None
    source: str | None
    expires_at: datetime


def create_token(
    session: Session,
    name: str,
    role: str,
    sites: Sequence[str] | None,
    source: str | None,
    days: int,
    now: datetime,
) -> tuple[str, dict[str, Any]]:
    """Make a token valid for some days; returns its secret, which nothing can show again, and what is known of it.

    Sites need not exist yet, so that tokens can be made before the catalogue is; a code that names no
    site reaches nothing. Raises Invalid with every fault.
    """
    if faults := list(faults_in(name, role, sites, source, days)):
        raise Invalid(faults)
    secret = limits.TOKEN_PREFIX + secrets.token_urlsafe(SECRET_BYTES)
    token = TokenRow(
        id=secrets.token_hex(ID_BYTES),
        name=name,
        role=role,
        token_hash=hash_secret(secret),
        sites=None if sites is None else tuple(sorted(set(sites))),
        source=source,
        created_at=now,
        expires_at=now + timedelta(days=days),
    )
    tokens.add(session, token)
    return secret, describe(token)


def faults_in(name: str, role: str, sites: Sequence[str] | None, source: str | None, days: int) -> Iterator[Fault]:
    """What is wrong with the wish for a token."""
    if not name.strip():
        yield Fault("/name", "required", "write a name with at least one character that shows")
    if len(name) > limits.NAME_LENGTH:
        yield Fault("/name", "too_long", f"a name has at most {limits.NAME_LENGTH} characters")
    if any(category(character) == "Cc" for character in name):
        yield Fault("/name", "wrong_type", "a control character stands in this name: leave it out")
    if role not in limits.ROLES:
        yield Fault("/role", "not_in_list", f"a role is one of {', '.join(limits.ROLES)}")
    yield from reach_faults(role, sites)
    if role == "integration" and source is None:
        yield Fault("/source", "required", "an integration pushes as its own source: name it")
    if source is not None and role != "integration":
        yield Fault("/source", "out_of_range", "only an integration has a source: give null")
    if source is not None and not re.fullmatch(limits.CODE_PATTERN, source):
        yield Fault("/source", "wrong_type", "a source's code is made of a-z, 0-9 and hyphens, up to 64 characters")
    if days not in limits.TOKEN_DAYS:
        yield Fault("/days", "out_of_range", f"a token is valid {limits.TOKEN_DAYS} days")


def reach_faults(role: str, sites: Sequence[str] | None) -> Iterator[Fault]:
    """What is wrong with the sites that a token is to reach."""
    for index, site in enumerate(sites or ()):
        if not re.fullmatch(limits.CODE_PATTERN, site):
            yield Fault(f"/sites/{index}", "wrong_type", "a site's code is made of a-z, 0-9 and hyphens, up to 64 characters")
    if sites is not None and not sites:
        yield Fault("/sites", "required", "name at least one site, or give null for every site")
    if role == "kitchen" and sites is None:
        yield Fault("/sites", "required", "a kitchen works for named sites: name them")
    if role == "director" and sites is not None:
        yield Fault("/sites", "out_of_range", "a director has every site: give null")


def missing_sites(session: Session, sites: Sequence[str] | None) -> list[str]:
    """The sites, of those that a token is to reach, that there are not, or not yet."""
    return [site for site in sites or () if not collections.exists(session, "sites", site)]


def list_tokens(session: Session, after: str | None, limit: int) -> list[dict[str, Any]]:
    """Up to ``limit`` tokens behind the id ``after``, ordered by id; revoked and expired ones too."""
    return [describe(token) for token in tokens.page(session, after, limit)]


def revoke_token(session: Session, token_id: str, now: datetime) -> None:
    """Make a token useless at once; doing it again changes nothing. Raises NotFound."""
    if not tokens.revoke(session, token_id, now):
        raise NotFound("token with the id", token_id)


def authenticate(session: Session, secret: str, now: datetime) -> Identity:
    """Whose secret this is. Raises Unauthenticated, in the same words for an unknown, an expired and a revoked one."""
    token_hash = hash_secret(secret)
    token = tokens.find(session, token_hash) if re.fullmatch(limits.TOKEN_PATTERN, secret) else None
    if token is None or not hmac.compare_digest(token.token_hash, token_hash) or token.revoked_at is not None or token.expires_at <= now:
        raise Unauthenticated("This token is not valid: it is unknown, expired or revoked.")
    return Identity(
        token_id=token.id, name=token.name, role=token.role, sites=token.sites, source=token.source, expires_at=token.expires_at
    )


def hash_secret(secret: str) -> str:
    """What is kept of a secret: 32 random bytes need no salt and no slow hash."""
    return hashlib.sha256(secret.encode(errors="replace")).hexdigest()


def describe(token: TokenRow) -> dict[str, Any]:
    """What may be shown of a token: all but its hash."""
    return {
        "id": token.id,
        "name": token.name,
        "role": token.role,
        "sites": None if token.sites is None else list(token.sites),
        "source": token.source,
        "created_at": write(token.created_at),
        "expires_at": write(token.expires_at),
        "revoked_at": None if token.revoked_at is None else write(token.revoked_at),
    }


def write(moment: datetime) -> str:
    """A moment that belongs to no site, as RFC 3339 text in UTC.

    >>> write(datetime(2026, 12, 2, 12, tzinfo=UTC))
    '2026-12-02T12:00:00Z'
    """
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")

"""Who is calling: the bearer token of a request and what its role may do.

Responsible for reading the Authorization header, for the limits of requests a minute, and for the role
check of a view. Refuses to know how tokens are kept.
"""

import re
from collections.abc import Callable, Collection
from datetime import datetime

from flask import Request, g
from sqlalchemy.orm import Session

from service.api.exchange.interior import Interior
from service.api.exchange.traffic import address_of
from service.api.exchange.trails import Allowance
from service.api.wire.refusals import TooMany
from service.errors import Forbidden, NotFound, Unauthenticated
from service.operations.tokens import Identity, authenticate

BEARER = re.compile(r"bearer +(?P<secret>[A-Za-z0-9._~+/-]+=*)", re.IGNORECASE)
CHALLENGE = 'Bearer realm="kitchen-prep"'


def identify(request: Request, session: Session, now: datetime) -> Identity:
    """The identity behind a request's token; raises Unauthenticated."""
    header = request.headers.get("Authorization")
    if header is None:
        raise Unauthenticated("Send Authorization: Bearer followed by a token.")
    match = BEARER.fullmatch(header.strip())
    if match is None:
        raise Unauthenticated("The Authorization header is not Bearer followed by a token.")
    return authenticate(session, match["secret"], now)


def admit(request: Request, interior: Interior, session: Session, now: datetime) -> Identity:
    """The identity behind a request, within the limits of a minute; raises Unauthenticated, TooMany.

    A valid token is never refused for what others at its address send: secrets of 256 bits are not found by trying.
    """
    config = interior.config
    try:
        identity = identify(request, session, now)
    except Unauthenticated:
        count_failure(request, interior)
        raise
    seconds = count(interior, *token_limit(interior, identity.token_id))
    if seconds is not None:
        raise TooMany(f"This token made {config.requests_per_minute} requests in this minute.", seconds)
    return identity


def admit_guest(request: Request, interior: Interior, find: Callable[[], str]) -> None:
    """Let in who has an address that is a secret, within the limits of a minute.

    ``find`` gives the id of what the address opens, or raises NotFound; trying addresses counts as trying tokens does. Raises
    NotFound, TooMany.
    """
    try:
        opened = find()
    except NotFound:
        count_failure(request, interior)
        raise
    limit = interior.config.requests_per_minute
    seconds = count(interior, "link", f"link:{opened}", limit)
    if seconds is not None:
        raise TooMany(f"This address was opened {limit} times in this minute.", seconds)


def count_failure(request: Request, interior: Interior) -> None:
    """Count a request without a valid secret; raises TooMany where its address made too many of them."""
    seconds = count(interior, "address", address_of(request.remote_addr), interior.config.failed_authentications_per_minute)
    if seconds is not None:
        raise TooMany("Too many requests without a valid token came from this address in this minute.", seconds) from None


def count(interior: Interior, policy: str, subject: str, limit: int) -> int | None:
    """Count a request, whose answer will tell what is left; the seconds to wait where it is one too many."""
    seconds, g.allowance = counted(interior, policy, subject, limit)
    return seconds


def counted(interior: Interior, policy: str, subject: str, limit: int) -> tuple[int | None, Allowance]:
    """Count a request: the seconds to wait where it is one too many, and what is left."""
    seconds = interior.traffic.refuse(subject, limit)
    return seconds, Allowance(policy, limit, *interior.traffic.left(subject, limit))


def token_limit(interior: Interior, token_id: str) -> tuple[str, str, int]:
    """What the requests of a token are counted as: the policy, the subject and the limit."""
    return "token", f"token:{token_id}", interior.config.requests_per_minute


def check_role(identity: Identity, roles: Collection[str]) -> None:
    """Raise Forbidden unless the role is one of these."""
    if identity.role not in roles:
        raise Forbidden(f"A token of the role {identity.role} may not do this; it takes {' or '.join(sorted(roles))}.")


def check_site(identity: Identity, site: str) -> None:
    """Raise NotFound for a site that the token is not for, as if the site did not exist."""
    if identity.sites is not None and site not in identity.sites:
        raise NotFound("site", site)


def challenge(request: Request) -> str:
    """The WWW-Authenticate header of a refusal (RFC 6750)."""
    return CHALLENGE + ', error="invalid_token"' if "Authorization" in request.headers else CHALLENGE

"""Who is calling: the bearer token of a request and what its role may do.

Responsible for reading the Authorization header and for the role check of a view. Refuses to know
how tokens are kept.
"""

import re
from collections.abc import Collection
from datetime import UTC, datetime

from flask import Request
from sqlalchemy.orm import Session

from service.errors import Forbidden, NotFound, Unauthenticated
from service.operations.tokens import Identity, authenticate

BEARER = re.compile(r"bearer +(?P<secret>[A-Za-z0-9._~+/-]+=*)", re.IGNORECASE)
CHALLENGE = 'Bearer realm="kitchen-prep"'
ANYBODY = ("director", "kitchen", "integration", "viewer")
DIRECTOR = ("director",)
READERS = ("director", "kitchen", "viewer")
KITCHENS = ("director", "kitchen")
PUSHERS = ("director", "integration")
NOBODY = Identity("", "nobody in particular", "nobody", (), None, datetime.max.replace(tzinfo=UTC))
OPEN = (NOBODY.role,)


def identify(request: Request, session: Session, now: datetime) -> Identity:
    """The identity behind a request's token; raises Unauthenticated."""
    header = request.headers.get("Authorization")
    if header is None:
        raise Unauthenticated("Send Authorization: Bearer followed by a token.")
    match = BEARER.fullmatch(header.strip())
    if match is None:
        raise Unauthenticated("The Authorization header is not Bearer followed by a token.")
    return authenticate(session, match["secret"], now)


def check_role(identity: Identity, roles: Collection[str]) -> None:
    """Raise Forbidden unless the role is one of these."""
    if identity.role not in roles:
        raise Forbidden(f"A token of the role {identity.role} may not do this; it takes {' or '.join(sorted(roles))}.")


def check_site(identity: Identity, site: str) -> None:
    """Raise NotFound for a site that the token is not for, as if the site did not exist."""
    if identity.sites is not None and site not in identity.sites:
        raise NotFound


def challenge(request: Request) -> str:
    """The WWW-Authenticate header of a refusal (RFC 6750)."""
    return CHALLENGE + ', error="invalid_token"' if "Authorization" in request.headers else CHALLENGE

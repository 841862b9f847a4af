"""Revisions: numbers that grow whenever something of their scope changes.

Responsible for telling cheaply whether anything changed. Refuses to know what did. The scopes
are ``catalogue`` and ``site:<code>``. Over all scopes, ``sequence`` tells in which order they last changed.
"""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import ColumnElement, bindparam, func, select
from sqlalchemy.orm import Session

from service.store.tables import revisions, tokens
from service.store.upserts import insert_into

CATALOGUE = "catalogue"
# Made once: every list asks it, and making it takes longer than the answer.
OF_SCOPE = select(revisions.c.number).where(revisions.c.scope == bindparam("scope"))


def _of(scope: str) -> ColumnElement[int]:
    return func.coalesce(select(revisions.c.number).where(revisions.c.scope == bindparam(scope)).scalar_subquery(), 0)


# The numbers of the catalogue and of a site, for a token; no row for one that is not there or revoked.
SEEN = select(_of("catalogue"), _of("site")).where(tokens.c.id == bindparam("token"), tokens.c.revoked_at.is_(None))
# There is one writer at a time, so that nobody else takes it.
NEXT = select(func.coalesce(func.max(revisions.c.sequence), 0) + 1).scalar_subquery()


class Revision(NamedTuple):
    """The number of a scope, and the place of its last change among those of all scopes."""

    number: int
    sequence: int


def site(code: str) -> str:
    """The scope of a site's forecasts, overrides and counts."""
    return f"site:{code}"


def bump(session: Session, scope: str) -> int:
    """Record a change of a scope; returns its new number, from 1."""
    statement = insert_into(session, revisions).values(scope=scope, number=1, sequence=NEXT)
    grown = {"number": revisions.c.number + 1, "sequence": statement.excluded.sequence}
    following = statement.on_conflict_do_update(index_elements=["scope"], set_=grown)
    return int(session.execute(following.returning(revisions.c.number)).scalar_one())


def current(session: Session, scopes: Sequence[str]) -> dict[str, int]:
    """The number of each scope; 0 where nothing was ever recorded."""
    rows = session.execute(select(revisions.c.scope, revisions.c.number).where(revisions.c.scope.in_(scopes)))
    return dict.fromkeys(scopes, 0) | dict(rows.all())


def number(session: Session, scope: str) -> int:
    """The number of one scope; 0 where nothing was ever recorded."""
    return session.execute(OF_SCOPE, {"scope": scope}).scalar() or 0


def parameters_seen(token: str, code: str) -> dict[str, str]:
    """What ``SEEN`` is asked with: a token's id and a site."""
    return {"token": token, "catalogue": CATALOGUE, "site": site(code)}


def every(session: Session) -> dict[str, Revision]:
    """The revision of every scope that ever changed."""
    return {scope: Revision(*row) for scope, *row in session.execute(select(revisions.c.scope, revisions.c.number, revisions.c.sequence))}

"""Revisions: numbers that grow whenever something of their scope changes.

Responsible for telling cheaply whether anything changed. Refuses to know what did. The scopes
are ``catalogue`` and ``site:<code>``.
"""

from collections.abc import Sequence

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from service.store.tables import revisions
from service.store.upserts import insert_into

CATALOGUE = "catalogue"
# Made once: every list asks it, and making it takes longer than the answer.
OF_SCOPE = select(revisions.c.number).where(revisions.c.scope == bindparam("scope"))


def site(code: str) -> str:
    """The scope of a site's forecasts, overrides and counts."""
    return f"site:{code}"


def bump(session: Session, scope: str) -> int:
    """Record a change of a scope; returns its new number, from 1."""
    statement = insert_into(session, revisions).values(scope=scope, number=1)
    following = statement.on_conflict_do_update(index_elements=["scope"], set_={"number": revisions.c.number + 1})
    return int(session.execute(following.returning(revisions.c.number)).scalar_one())


def current(session: Session, scopes: Sequence[str]) -> dict[str, int]:
    """The number of each scope; 0 where nothing was ever recorded."""
    rows = session.execute(select(revisions.c.scope, revisions.c.number).where(revisions.c.scope.in_(scopes)))
    return dict.fromkeys(scopes, 0) | dict(rows.all())


def number(session: Session, scope: str) -> int:
    """The number of one scope; 0 where nothing was ever recorded."""
    return session.execute(OF_SCOPE, {"scope": scope}).scalar() or 0

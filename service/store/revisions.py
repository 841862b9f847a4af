"""Revisions: numbers that grow whenever something of their scope changes.

Responsible for telling cheaply whether anything changed. Refuses to know what did. The scopes
are ``catalogue`` and ``site:<code>``. Over all scopes, ``sequence`` tells in which order they last changed, once
somebody has asked for it.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from sqlalchemy import ColumnElement, bindparam, func, select, update
from sqlalchemy.orm import Session

from service.store.tables import revisions, tokens
from service.store.upserts import INSERTS, dialect_of

CATALOGUE = "catalogue"
# Made once: every list asks it, and making it takes longer than the answer.
OF_SCOPE = select(revisions.c.number).where(revisions.c.scope == bindparam("scope"))


def _of(scope: str) -> ColumnElement[int]:
    return func.coalesce(select(revisions.c.number).where(revisions.c.scope == bindparam(scope)).scalar_subquery(), 0)


# The numbers of the catalogue and of a site, for a token; no row for one that is not there or revoked.
SEEN = select(_of("catalogue"), _of("site")).where(tokens.c.id == bindparam("token"), tokens.c.revoked_at.is_(None))
# What has changed since anybody asked for the order of changes has no place in it yet: there is the last place that it had, with
# a minus, so that no place is given twice.
UNPLACED = revisions.c.sequence <= 0
ANY_UNPLACED = select(revisions.c.scope).where(UNPLACED).limit(1)
LAST = select(func.max(func.abs(revisions.alias().c.sequence))).scalar_subquery()
PLACE = update(revisions).where(UNPLACED).values(sequence=LAST + 1)
GROW = {
    dialect: insert(revisions)
    .values(scope=bindparam("scope"), number=1, sequence=0)
    .on_conflict_do_update(index_elements=["scope"], set_={"number": revisions.c.number + 1, "sequence": -func.abs(revisions.c.sequence)})
    .returning(revisions.c.number)
    for dialect, insert in INSERTS.items()
}


class Revision(NamedTuple):
    """The number of a scope, and the place of its last change among those of all scopes: at most 0 where it has none yet."""

    number: int
    sequence: int

    def after(self, sequence: int) -> bool:
        """Whether the scope may have changed since a place in the order of changes: what has none yet counts as changed.

        >>> [Revision(2, 7).after(6), Revision(2, 7).after(7), Revision(3, -7).after(7), NEVER.after(7)]
        [True, False, True, False]
        """
        return self.number > 0 and not 0 < self.sequence <= sequence


NEVER = Revision(0, 0)


def site(code: str) -> str:
    """The scope of a site's forecasts, overrides and counts."""
    return f"site:{code}"


def bump(session: Session, scope: str) -> int:
    """Record a change of a scope; returns its new number, from 1.

    Its place among all changes it gets later, by ``place``: writers of two sites need not wait for each other's.
    """
    return int(session.execute(GROW[dialect_of(session)], {"scope": scope}).scalar_one())


def any_unplaced(session: Session) -> bool:
    """Whether anything has changed that has no place in the order of changes yet."""
    return session.execute(ANY_UNPLACED).first() is not None


def place(session: Session) -> None:
    """Give all that has changed since the last time one place, behind all others; the session must be the only one that writes.

    So whoever has seen a place in the order has seen all that came before it.
    """
    session.execute(PLACE)


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


def last_place(revisions: Iterable[Revision]) -> int:
    """The last place in the order of changes that was ever given, by the revisions of all scopes; 0 where none was."""
    return max((abs(each.sequence) for each in revisions), default=0)


def every(session: Session) -> dict[str, Revision]:
    """The revision of every scope that ever changed."""
    return {scope: Revision(*row) for scope, *row in session.execute(select(revisions.c.scope, revisions.c.number, revisions.c.sequence))}

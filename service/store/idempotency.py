"""Answers kept under an Idempotency-Key.

Responsible for the rows, and for letting go of old ones. Refuses to know keys themselves (it has their
hashes) and what a repetition is answered.
"""

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.portions import remove
from service.store.tables import idempotency_keys
from service.store.upserts import upsert

# Each new answer lets go of more old ones than itself.
AT_ONCE = 100


class KeptUnder(NamedTuple):
    """Where an answer is kept: the token's id, and the hashes of the route and of the key."""

    token: str
    route_hash: str
    key_hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """An answer: of which request (its hash), when, its status, headers and text (None: it held a secret, or is kept as a thing)."""

    request_hash: str
    answered_at: datetime
    status: int
    headers: dict[str, str]
    answer: str | None


def find(session: Session, under: KeptUnder, after: datetime) -> Kept | None:
    """The answer kept under a key, if it was given after a moment."""
    wanted = select(idempotency_keys).where(
        idempotency_keys.c.token == under.token,
        idempotency_keys.c.route_hash == under.route_hash,
        idempotency_keys.c.key_hash == under.key_hash,
        idempotency_keys.c.answered_at > after,
    )
    columns = session.execute(wanted).mappings().first()
    return None if columns is None else Kept(**{name: value for name, value in columns.items() if name not in KeptUnder._fields})


def keep(session: Session, under: KeptUnder, kept: Kept) -> None:
    """Keep an answer; an older one under the same key gives way."""
    upsert(session, idempotency_keys, [under._asdict() | asdict(kept)])


def forget(session: Session, until: datetime) -> None:
    """Remove answers given up to a moment, of very many only some."""
    remove(session, idempotency_keys, idempotency_keys.c.answered_at <= until, AT_ONCE)

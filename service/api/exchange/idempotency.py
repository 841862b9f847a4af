"""Repeated requests: what a POST under an Idempotency-Key is answered the second time.

Responsible for reading the key, for telling the same request from another, and for twins in flight. The
answer is kept in the transaction of the work itself, so that a crash leaves both or none; a refusal leaves
nothing, and the key free. Refuses to keep or log the key (only its hash is kept), and to keep a secret.
"""

import gzip
import hashlib
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock
from typing import Any

import simplejson
from flask import Request, Response
from sqlalchemy.orm import Session

from service.api.wire.answers import pack, wants_gzip
from service.api.wire.json import render
from service.api.wire.refusals import InFlight, ShownOnce
from service.errors import Fault, Invalid
from service.limits import IDEMPOTENCY_HOURS, IDEMPOTENCY_KEY_PATTERN
from service.store import idempotency
from service.store.engine import ALONE, SITE, TwinInFlight
from service.store.idempotency import Kept, KeptUnder

HEADER = "Idempotency-Key"
REPLAYED = "Idempotent-Replayed"
SHAPE = re.compile(IDEMPOTENCY_KEY_PATTERN)
Read = Callable[[str, int], Any]
# An answer is kept as it is unpacked, and packed again as whoever repeats the request takes it.
MADE_ANEW = ("Content-Encoding", "Content-Length")


@dataclass(frozen=True, slots=True)
class Keyed:
    """One request under a key: where its answer is kept, and the hash of what was asked."""

    under: KeptUnder
    request_hash: str

    @property
    def lock(self) -> tuple[int, int]:
        """Two whole numbers of 32 bits that stand for the key."""
        # Locks of PostgreSQL are named by such numbers. Of two keys that share them by chance one is told to repeat.
        digest = hashlib.sha256("\n".join(self.under).encode()).digest()
        return int.from_bytes(digest[:4], signed=True), int.from_bytes(digest[4:8], signed=True)


def key_faults(header: str | None) -> list[Fault]:
    """What is wrong with the header."""
    if header is None or SHAPE.fullmatch(header):
        return []
    return [Fault("", "wrong_type", "a key is 1 to 255 printable ASCII characters, such as a UUID", parameter=HEADER)]


def read_key(request: Request, token_id: str, value: Any, media_type: str) -> Keyed | None:
    """The key of a request, or None where it has none. The same body is the same value, however it is spaced or ordered."""
    header = request.headers.get(HEADER)
    if header is None:
        return None
    # A list as a sheet is another answer than the list itself: under one key that is another request.
    asked = [sorted(request.args.items(multi=True)), media_type, value]
    text = simplejson.dumps(asked, use_decimal=True, sort_keys=True)
    return Keyed(KeptUnder(token_id, digest(f"{request.method} {request.path}"), digest(header)), digest(text))


def digest(text: str) -> str:
    """A text as 64 hex digits that do not tell it."""
    return hashlib.sha256(text.encode()).hexdigest()


def recall(keyed: Keyed, session: Session, request: Request, now: datetime, read: Read | None) -> Response | None:
    """What was answered under the key; None the first time. Raises Invalid for another request, ShownOnce for a secret.

    What was made and is kept itself, ``read`` gives by its Location and the status of the answer.
    """
    kept = idempotency.find(session, keyed.under, now - timedelta(hours=IDEMPOTENCY_HOURS))
    if kept is None:
        return None
    if kept.request_hash != keyed.request_hash:
        detail = "this key was used for another request to this route: take a new key for a new request"
        raise Invalid([Fault("", "key_reused", detail, parameter=HEADER)])
    if kept.answer is not None:
        content = kept.answer.encode()
    elif read is not None:
        content = render(read(kept.headers["Location"], kept.status))
    else:
        raise ShownOnce("The first request under this key was answered, and the secret of what it made was shown in that answer alone.")
    headers = dict(kept.headers)
    response = pack(content, kept.status, headers.pop("Content-Type"), gzipped=wants_gzip(request))
    response.headers.update(headers)
    response.headers[REPLAYED] = "true"
    return response


def remember(keyed: Keyed, session: Session, response: Response, now: datetime, *, whole: bool) -> None:
    """Keep an answer under the key for repetitions, its content only if it is to be kept ``whole``; and let go of some too old ones."""
    content = response.get_data() if whole else b""
    if whole and "Content-Encoding" in response.headers:
        content = gzip.decompress(content)
    headers = {name: text for name, text in response.headers if name not in MADE_ANEW}
    # Nothing in the service runs by the clock: what is too old goes when something new comes.
    idempotency.forget(session, now - timedelta(hours=IDEMPOTENCY_HOURS))
    kept = Kept(
        request_hash=keyed.request_hash,
        answered_at=now,
        status=response.status_code,
        headers=headers,
        answer=content.decode() if whole else None,
    )
    idempotency.keep(session, keyed.under, kept)


class Twins:
    """The keys whose first request this process is answering."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.answering: set[KeptUnder] = set()

    @contextmanager
    def alone(self, keyed: Keyed | None) -> Iterator[None]:
        """No other request under the same key in this process, for as long as the block runs; raises InFlight."""
        if keyed is None:
            yield
            return
        with self.lock:
            if keyed.under in self.answering:
                raise twin()
            self.answering.add(keyed.under)
        try:
            yield
        finally:
            with self.lock:
                self.answering.discard(keyed.under)


def begin(keyed: Keyed | None, session: Session, site: str | None = None) -> None:
    """Begin a session's transaction, of a request under a key with no other under the same key anywhere; raises InFlight.

    A writer waits for its turn: of a ``site`` for those of that site and of the group alone, as ``session_factory`` says.

    PostgreSQL tells at once of a twin that another process answers, whether that still reads or writes by now. On SQLite the
    twin waits for its turn to write, and finds the answer.
    """
    try:
        session.connection(execution_options={ALONE: keyed and keyed.lock, SITE: site})
    except TwinInFlight:
        raise twin() from None


def twin() -> InFlight:
    """The refusal of a request whose twin is in flight."""
    return InFlight("A request under this key is being answered; repeat it in a moment to get that answer.")

"""Standing answers: what was answered before is said again for as long as it stands, without being asked of a view.

Responsible for answers to the same request, header by header, of the same token, with an id, a place in the limit and a line in the log
of their own. Refuses to refuse: whatever is not as it was goes on to the application.
"""

import hashlib
import time
from collections.abc import Iterable
from dataclasses import dataclass
from threading import Lock
from typing import Any
from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

from service.api.exchange.auth import counted, token_limit
from service.api.exchange.exchange import REFUSED, name_request, record
from service.api.exchange.interior import Interior
from service.api.wire.kept import Key
from service.operations.standing import Standing
from service.store.engine import asker
from service.store.revisions import SEEN
from service.store.troubles import TROUBLES

# Of about 1 kB each; their bodies are the application's kept bytes.
ANSWERS_KEPT = 4_000
# Under this key of the environment a view's answer says that it stands.
STANDS = "kitchen_prep.stands"
# What an answer is made from, besides the state of the database and the clock.
ASKED = (
    *("PATH_INFO", "QUERY_STRING", "HTTP_AUTHORIZATION", "HTTP_ACCEPT", "HTTP_ACCEPT_ENCODING"),
    *("HTTP_IF_NONE_MATCH", "HTTP_ORIGIN"),
)
# What each answer has of its own.
OWN = frozenset({"X-Request-Id", "RateLimit", "RateLimit-Policy"})
Header = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Stands:
    """That an answer stands: for how long, the rule of its route, and where its bytes are kept (None: it has none)."""

    standing: Standing
    route: str
    kept: Key | None


@dataclass(frozen=True, slots=True)
class Known:
    """An answer that was given."""

    stands: Stands
    status: str
    headers: list[Header]


class StandingAnswers:
    """An application that asks another one only for what it does not know."""

    def __init__(self, app: WSGIApplication, interior: Interior) -> None:
        self._app = app
        self._interior = interior
        self._ask = asker(interior.engine, SEEN)
        self._known: dict[bytes, Known] = {}
        self._lock = Lock()

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer a request of WSGI (PEP 3333)."""
        if environ["REQUEST_METHOD"] != "GET" or REFUSED in environ:
            return self._app(environ, start_response)
        key = hashlib.sha256(repr([environ.get(name) for name in ASKED]).encode()).digest()
        known = self._known.get(key)
        again = known and self._again(known, environ, start_response)
        if again:
            return again

        def remember(status: str, headers: list[Header], *more: Any) -> Any:
            # A crash may have come after it.
            if STANDS in environ and status[:3] in ("200", "304"):
                self._keep(key, Known(environ[STANDS], status, [header for header in headers if header[0] not in OWN]))
            return start_response(status, headers, *more)

        return self._app(environ, remember)

    def _again(self, known: Known, environ: WSGIEnvironment, start_response: StartResponse) -> list[bytes] | None:
        """A known answer, if it stands and the token may ask so often; else None."""
        began = time.monotonic()
        interior, stands = self._interior, known.stands
        content = b"" if stands.kept is None else interior.kept.get(stands.kept)
        if content is None or not self._holds(stands.standing):
            return None
        seconds, allowance = counted(interior, *token_limit(interior, stands.standing.token_id))
        if seconds is not None:
            return None
        request_id = name_request(environ.get("HTTP_X_REQUEST_ID", ""))
        start_response(known.status, [*known.headers, ("X-Request-Id", request_id), *allowance.headers().items()])
        record(
            interior,
            time.monotonic() - began,
            route=stands.route,
            method="GET",
            status=int(known.status[:3]),
            token=stands.standing.token_id,
            request_id=request_id,
        )
        return [content]

    def _holds(self, standing: Standing) -> bool:
        try:
            return standing.holds(self._ask, self._interior.config.now())
        except TROUBLES:
            # The application meets them too, and says so.
            return False

    def _keep(self, key: bytes, known: Known) -> None:
        with self._lock:
            self._known[key] = known
            if len(self._known) > ANSWERS_KEPT:
                # The oldest: whoever still asks it has it remembered anew.
                del self._known[next(iter(self._known))]

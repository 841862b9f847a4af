"""Silence: how long one waits for a PostgreSQL server that does not answer.

Responsible for connections that end where nobody answers any more, since a server that hangs keeps to no time limit of its own.
Whoever waits for another's lock waits on: the server answers whoever else asks meanwhile. Refuses to know statements.
"""

from collections.abc import Generator
from time import monotonic
from typing import Any

import psycopg
from psycopg.abc import RV, PQGen
from psycopg.errors import ConnectionTimeout

CONNECT_SECONDS = 2
# After so long, and then again and again, whoever waits asks on another line whether anybody is there.
DOUBT_SECONDS = 1.0


class Silent(psycopg.OperationalError):
    """The server answers nobody."""


class Doubting(psycopg.Connection[Any]):
    """A connection that is closed where its server does not answer; raises Silent then."""

    def wait(self, gen: PQGen[RV], interval: float = 0.1, timeout: float | None = None) -> RV:
        """What the server answers."""
        return super().wait(self._doubting(gen), interval, timeout)

    def _doubting(self, gen: PQGen[RV]) -> Generator[Any, Any, RV]:
        """The same exchange with the server, with a question on another line now and then while it says nothing."""
        asked = monotonic()
        try:
            wanted = next(gen)
            while True:
                ready = yield wanted
                if ready:
                    asked = monotonic()
                elif monotonic() - asked > DOUBT_SECONDS:
                    self._ask()
                    asked = monotonic()
                wanted = gen.send(ready)
        except StopIteration as end:
            answer: RV = end.value
            return answer

    def _ask(self) -> None:
        try:
            psycopg.connect(self.info.dsn, password=self.info.password, connect_timeout=CONNECT_SECONDS).close()
        except ConnectionTimeout:
            self.close()
            raise Silent("the database does not answer") from None
        except psycopg.Error:
            # It says why not: it is there.
            return

"""Readiness: whether the database answers and takes what is written, asked in a thread of its own.

Responsible for an answer in time, whatever the database does, and for writing to it, and waiting in vain, no more than once a
second. Refuses to know who asks and what for.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from concurrent.futures import TimeoutError as Unanswered
from threading import Lock
from time import monotonic
from typing import TypeVar

import structlog
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.api.wire.refusals import Unavailable
from service.store import request_windows
from service.store.migration import is_current
from service.store.troubles import LOCKED, TROUBLES, UNREACHABLE, trouble

Told = TypeVar("Told")
log = structlog.get_logger("service.api")
ANSWER_SECONDS = 1.5
KEPT_SECONDS = 1.0
SUBJECT = "readiness"


def refusal(word: str) -> Unavailable:
    """The refusal of a request that a database in trouble cannot answer."""
    return Unavailable(f"The database is {word}.")


class Readiness:
    """What is known of one application's database; ``writers`` makes sessions that hardly wait for their turn."""

    def __init__(self, engine: Engine, writers: Callable[[], Session]) -> None:
        self.engine, self.writers = engine, writers
        self.asking = ThreadPoolExecutor(1, thread_name_prefix="readiness")
        self.turn = Lock()
        self.written_at = self.refused_at = float("-inf")
        self.refused = refusal(UNREACHABLE)

    def check(self) -> None:
        """Raise Unavailable unless the database is up to date and takes what is written."""
        with self.turn:
            if monotonic() - self.refused_at < KEPT_SECONDS:
                raise self.refused
            try:
                self.within(self._look)
            except Unavailable as error:
                self.refused, self.refused_at = error, monotonic()
                raise

    def within(self, question: Callable[[], Told]) -> Told:
        """The answer to a question about the database; raises Unavailable where there is none in time, or trouble is the answer."""
        asked = self.asking.submit(question)
        try:
            return asked.result(ANSWER_SECONDS)
        except (Unanswered, *TROUBLES) as error:
            asked.cancel()
            word, reason = UNREACHABLE if isinstance(error, Unanswered) else trouble(error), error
        log.warning("database in trouble", database=word, error=type(reason).__name__)
        raise refusal(word) from reason

    def _look(self) -> None:
        if not is_current(self.engine):
            raise Unavailable("The database is not up to date: run kitchen-prep migrate.")
        if monotonic() - self.written_at < KEPT_SECONDS:
            return
        try:
            with self.writers() as session:
                # It changes nothing for anybody, and finds a full disk and a standby that only reads.
                request_windows.add(session, 0, {SUBJECT: 1})
                session.commit()
        except TROUBLES as error:
            # Others write: then it can be written.
            if trouble(error) != LOCKED:
                raise
        self.written_at = monotonic()

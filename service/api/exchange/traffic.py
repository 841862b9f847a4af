"""Traffic: how many requests each token, and failed authentications each address, made in this clock minute.

Responsible for holding the limits of a minute over all workers without making anybody wait for it. Refuses
to know what a request asks.

Each worker counts by itself, and adds what it counted to the sums in the database once a second, or as soon as it
counted a hundredth of a limit for one subject; the answer is the sums of all workers. So a limit is exceeded by what
the other workers have not added yet: at most (workers - 1) x (limit / 100) requests. Where the database takes nothing
(another writer holds it), a worker goes by its own count until it does.
"""

import ipaddress
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import structlog
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.orm import Session

from service.store import request_windows

MINUTE = 60
SUM_SECONDS = 1.0
SHARE = 100
KEPT_MINUTES = 2
log = structlog.get_logger("service.api")


@dataclass(slots=True)
class Minute:
    """What a worker knows of one clock minute: the totals last summed up, and what it counted since."""

    number: int
    totals: dict[str, int] = field(default_factory=dict)
    fresh: dict[str, int] = field(default_factory=dict)

    def seen(self, subject: str) -> int:
        """All that is known of a subject."""
        return self.totals.get(subject, 0) + self.fresh.get(subject, 0)


class Traffic:
    """The counts of one worker, shared by its threads; ``clock`` gives seconds since the epoch."""

    def __init__(self, sessions: Callable[[], Session], clock: Callable[[], float] = time.time) -> None:
        self.sessions = sessions
        self.clock = clock
        self.minute = Minute(0)
        self.summed_at = 0.0
        self.silent_until = 0.0
        self.counting = threading.Lock()
        self.summing = threading.Lock()

    def refuse(self, subject: str, limit: int) -> int | None:
        """Count one more of a subject: None while it is within the limit, else the seconds until the next minute."""
        now = self.clock()
        with self.counting:
            if self.minute.number != int(now // MINUTE):
                self.minute = Minute(int(now // MINUTE))
            minute = self.minute
            if minute.seen(subject) >= limit:
                return self.wait(now)
            minute.fresh[subject] = minute.fresh.get(subject, 0) + 1
            due = minute.fresh[subject] >= max(1, limit // SHARE) or now - self.summed_at >= SUM_SECONDS
            due = due and now >= self.silent_until
        # Of a small limit every request counts, so that it waits for the sums; of a large one it goes by what is known.
        if due and self.summing.acquire(blocking=limit < SHARE):
            try:
                self.sum_up(minute, now)
            finally:
                self.summing.release()
        return self.wait(now) if minute.seen(subject) > limit else None

    def left(self, subject: str, limit: int) -> tuple[int, int]:
        """How many requests a subject may still make in this minute, as far as this worker knows, and the seconds until the next one."""
        now = self.clock()
        with self.counting:
            seen = self.minute.seen(subject) if self.minute.number == int(now // MINUTE) else 0
        return max(0, limit - seen), self.wait(now)

    @staticmethod
    def wait(now: float) -> int:
        """The seconds until the next clock minute, at least one."""
        return MINUTE - int(now % MINUTE)

    def sum_up(self, minute: Minute, now: float) -> None:
        """Add what was counted to the database, and take over the totals of all workers."""
        with self.counting:
            taken, minute.fresh = minute.fresh, {}
            for subject, number in taken.items():
                minute.totals[subject] = minute.totals.get(subject, 0) + number
            starts = self.summed_at < minute.number * MINUTE
            self.summed_at = now
        try:
            with self.sessions() as session:
                totals = request_windows.add(session, minute.number, taken)
                if starts:
                    request_windows.forget(session, minute.number - KEPT_MINUTES)
                session.commit()
        except (DBAPIError, PoolTimeout) as error:
            log.warning("requests of this minute not reported", error=type(error).__name__)
            with self.counting:
                # While nobody can write, not every request is to try.
                self.silent_until = now + SUM_SECONDS
                for subject, number in taken.items():
                    minute.totals[subject] -= number
                    minute.fresh[subject] = minute.fresh.get(subject, 0) + number
            return
        with self.counting:
            minute.totals |= totals


def address_of(text: str | None) -> str:
    """The subject that an address stands for: of IPv6 the network of 64 bits, which one host has to itself.

    >>> address_of("192.0.2.7"), address_of("2001:db8::a:1"), address_of(None)
    ('address:192.0.2.7', 'address:2001:db8::/64', 'address:unknown')
    """
    try:
        address = ipaddress.ip_address(text or "")
    except ValueError:
        return "address:unknown"
    return f"address:{ipaddress.ip_network((address, 64), strict=False) if address.version == 6 else address}"

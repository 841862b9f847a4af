"""Slots: how many requests of one worker do what takes long at the same time: plan, or check an import.

Responsible for refusing the next one at once, so that pushes and reads keep their threads and the worker its memory. Refuses
to know what takes long.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from secrets import randbelow
from threading import BoundedSemaphore

from service.api.wire.refusals import Busy

LONGEST_WAIT = 3


class Slots:
    """So many slots; ``taken_by`` tells whoever is refused what they are taken by."""

    def __init__(self, number: int, taken_by: str) -> None:
        self.number = number
        self.taken_by = taken_by
        self.free = BoundedSemaphore(number)

    @contextmanager
    def taken(self) -> Iterator[None]:
        """One slot, for as long as the block runs; raises Busy where none is free.

        Those who are refused together are told different seconds, so that they do not come back together.
        """
        # Waiting would keep a thread of the worker, which pushes and reports need.
        if not self.free.acquire(blocking=False):
            raise Busy(f"{self.taken_by}; ask again.", 1 + randbelow(LONGEST_WAIT))
        try:
            yield
        finally:
            self.free.release()

"""Kept bytes: answers as they were sent, for those who ask for the same again in the same state.

Responsible for a bound on memory. Refuses to know what an answer says, and when its state changes.
"""

from collections import OrderedDict
from collections.abc import Hashable
from threading import Lock
from typing import NamedTuple

BYTES_KEPT = 24 * 1024 * 1024


class Key(NamedTuple):
    """What was asked, by whom and in which form, and the state that it was answered in."""

    question: Hashable
    state: str


class KeptBytes:
    """The newest answers of one application, together no longer than ``most`` bytes; of a question, that of the last state alone."""

    def __init__(self, most: int = BYTES_KEPT) -> None:
        self._most = most
        self._length = 0
        self._contents: OrderedDict[Hashable, tuple[str, bytes]] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Key) -> bytes | None:
        """What was sent under a key, if it is still there."""
        with self._lock:
            state, content = self._contents.get(key.question, (None, None))
            if state != key.state:
                return None
            self._contents.move_to_end(key.question)
            return content

    def put(self, key: Key, content: bytes) -> None:
        """Keep what is sent under a key; what is longer than all room is not kept.

        It takes the place of the same question's other state, which does not come back, and of what nobody asked for longest.
        """
        if len(content) > self._most:
            return
        with self._lock:
            _, before = self._contents.pop(key.question, (None, b""))
            self._length += len(content) - len(before)
            self._contents[key.question] = (key.state, content)
            while self._length > self._most:
                _, (_, oldest) = self._contents.popitem(last=False)
                self._length -= len(oldest)

"""Kept bytes: answers as they were sent, by their tag, for those who ask for the same again.

Responsible for a bound on memory. Refuses to know what an answer says, and when its tag changes.
"""

from collections import OrderedDict
from collections.abc import Hashable
from threading import Lock

BYTES_KEPT = 24 * 1024 * 1024


class KeptBytes:
    """The newest answers of one application, together no longer than ``most`` bytes."""

    def __init__(self, most: int = BYTES_KEPT) -> None:
        self._most = most
        self._length = 0
        self._contents: OrderedDict[Hashable, bytes] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable) -> bytes | None:
        """What was sent under a key, if it is still there."""
        with self._lock:
            content = self._contents.get(key)
            if content is not None:
                self._contents.move_to_end(key)
            return content

    def put(self, key: Hashable, content: bytes) -> None:
        """Keep what is sent under a key, in place of what nobody asked for longest; what is longer than all room is not kept."""
        if len(content) > self._most:
            return
        with self._lock:
            self._length += len(content) - len(self._contents.pop(key, b""))
            self._contents[key] = content
            while self._length > self._most:
                _, oldest = self._contents.popitem(last=False)
                self._length -= len(oldest)

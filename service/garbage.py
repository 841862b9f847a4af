"""Garbage: how seldom a process that serves or plans searches its memory for circles that nobody reaches.

Responsible for the one setting of both. Refuses to know what the process does.
"""

import gc

# A plan makes hundreds of thousands of small values, and no circles of them. Looking for circles as often as is usual took
# half the time of planning 400 menu items.
VALUES_BETWEEN_SEARCHES = (100_000, 20, 50)


def search_seldom() -> None:
    """Search seldom from now on, and never through what is loaded by now: it stays for the life of the process."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*VALUES_BETWEEN_SEARCHES)

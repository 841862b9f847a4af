"""Steps: how many calls a piece of work makes, whatever machine it runs on.

Responsible for counting. Refuses to know what is counted.
"""

import gc
import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import pytest


def steps(work: Callable[[], Any], most: float = 1e9) -> int:
    """How many calls a piece of work makes; fails as soon as they are more than so many."""
    made = 0

    def count(_: FrameType, event: str, __: Any) -> None:
        nonlocal made
        made += event == "call"
        if made > most:
            sys.setprofile(None)
            pytest.fail(f"more than {most:.0f} steps")

    # What is called when garbage is searched for, at whatever moment, is none of the work.
    gc.disable()
    sys.setprofile(count)
    try:
        work()
    finally:
        sys.setprofile(None)
        gc.enable()
    return made

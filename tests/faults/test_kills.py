"""A few kills on each database; ``python -m tests.faults`` does many."""

import pytest

from tests.faults.places import KINDS
from tests.faults.rounds import run


@pytest.mark.parametrize("kind", KINDS)
def test_a_kill_in_the_middle_loses_nothing_acknowledged_and_leaves_nothing_half_done(kind: str) -> None:
    told: list[str] = []
    run(kind, 3 if kind == "postgresql" else 2, 7, told.append)
    assert told[-1].startswith(f"{kind}: ")

"""Trouble that kills nobody is told of in time, in a word, and over when it ends."""

import pytest

from tests.faults.places import KINDS
from tests.faults.troubles import ON, run


@pytest.mark.parametrize("kind", KINDS)
def test_trouble_is_told_of_in_time_and_over_when_it_ends(kind: str) -> None:
    told: list[str] = []
    run(kind, told.append)
    assert len(told) == 2 + len(ON[kind])

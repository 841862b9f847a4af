"""The history in small: each day is lived, and a list is timed on the days that are told."""

from pathlib import Path

from tests.load.history import measure
from tests.load.scene import fresh


def test_a_history_of_two_days_is_lived_and_its_lists_are_timed(tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path) as url:
        told = measure(url, 1, reports=True)
    assert [day for day, _ in told] == [0, 1]
    assert all(seconds > 0 for _, seconds in told)

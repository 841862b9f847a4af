"""The history in small: each day is lived, lists are timed, every kitchen gets its list, and all lists are read page by page."""

import re
from pathlib import Path

import pytest

from tests.load.history import measure, opened
from tests.load.scene import fresh

DAY_BYTES = 28_400
"""What a site and day may take on SQLite: a tenth of what it took on PostgreSQL when it was first measured."""


def test_a_history_of_two_days_is_lived_and_what_it_costs_is_told(tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path) as url:
        told = "\n".join(measure(url, tmp_path, 2, 2, 1, 60, reports=True))
    assert re.findall(r"day +(\d+): a list takes", told) == ["0", "1"]
    taken = re.findall(r"(?:a site and day takes|of the second half) ([\d.]+) kB \(.*\bprints ([\d.]+)", told)
    assert [float(whole) > 1 < float(prints) for whole, prints in taken] == [True, True]
    assert "nothing lost, no failure" in told
    assert re.findall(r"(\d+) lists on a page", told) == ["1", "10", "50"]
    assert re.search(r"at most: \d+ MB$", told)


@pytest.mark.parametrize(("reports", "told"), [(True, 1), (False, 0)])
def test_in_a_history_all_work_is_reported_or_nothing_is(tmp_path: Path, reports: bool, told: int) -> None:  # noqa: FBT001 - a case
    with fresh("sqlite", tmp_path) as url, opened(url, 1) as history:
        history.live(0, reports=reports)
        with history.readers() as session:
            said = session.connection().exec_driver_sql("SELECT count(*) > 0 FROM work_reports").scalar_one()
    assert said == told


def test_a_site_and_day_takes_a_tenth_of_what_it_took_once(tmp_path: Path) -> None:
    """After the first days, which bring what each site has once."""
    with fresh("sqlite", tmp_path) as url, opened(url, 1) as history:
        sizes = []
        for day in range(10):
            history.live(day)
            sizes.append(sum(history.bytes().values()))
    assert (sizes[9] - sizes[4]) / 5 < DAY_BYTES

"""The load test in small, on both databases: everything acknowledged is there, and what is refused says when to come back."""

from pathlib import Path

import pytest

from tests.load import together
from tests.load.morning import Book, run
from tests.load.report import lines
from tests.load.scene import NOW, prepare
from tests.serving import serving


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_a_small_morning_loses_nothing(request: pytest.FixtureRequest, tmp_path: Path, database: str) -> None:
    url: str = request.getfixturevalue(f"{database}_url")
    scene = prepare(url, 12)
    with serving(url, tmp_path, workers=2, KITCHEN_PREP_NOW=NOW.isoformat(), KITCHEN_PREP_PLANS_AT_ONCE="1") as served:
        book = run(served, scene, pushes=8, polls=2, seconds=60, pace=0.02)
    assert book.faults == []
    assert len(book.seconds["list"]) + len(book.seconds["list, unchanged"]) == 12 * 3
    # Eight pushes of each of two tills, and the seventh twice.
    assert len(book.seconds["push"]) == 2 * 9
    assert {status for _, status in book.statuses} <= {200, 304, 503}
    # Twelve kitchens come at once for two slots.
    assert book.statuses["list, refused", 503] > 0
    assert len(book.acknowledged) > 0


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_cooks_who_report_together_wait_for_no_plan_of_a_list_that_was_printed(
    request: pytest.FixtureRequest, tmp_path: Path, database: str
) -> None:
    url: str = request.getfixturevalue(f"{database}_url")
    scene = prepare(url, 2)
    with serving(url, tmp_path, KITCHEN_PREP_NOW=NOW.isoformat(), KITCHEN_PREP_PLANS_AT_ONCE="1") as served:
        book = together.run(served, scene, rounds=3, cooks=3, printed=True, seconds=60)
        told = together.turns(served.send("GET", "/metrics").content.decode())
    assert book.faults == []
    assert (book.statuses["report", 200], book.statuses["push", 200]) == (9, 4)
    # One slot, which another kitchen has nearly all the time: nobody who reports is refused for it.
    assert book.statuses["report, refused", 503] == 0
    assert {line.split()[0] for line in told[1:]} == {"waited", "held"}


def test_a_report_names_each_fault() -> None:
    book = Book()
    book.note("push", 200, 0.001)
    assert lines(book)[-1] == "nothing lost, no failure"
    book.fault("3 counts that were acknowledged are not there")
    assert lines(book)[-1] == "FAULT: 3 counts that were acknowledged are not there"

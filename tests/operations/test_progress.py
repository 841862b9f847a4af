"""Taking a kitchen's word (P15 a): which tasks can be reported, what is fixed, and which amounts a report can have."""

from typing import Any, NoReturn

import pytest
from sqlalchemy.orm import Session

from service.errors import Invalid, NotFound
from service.operations.lists import ListRequest
from service.operations.progress import _lately, read_report
from service.operations.progress import prepare as prepare_report
from service.store import reports, revisions
from tests.operations.pot import DICE, MON, PULL, SOUP, STOCK, THU, TUE, WED, clock, expect, listed, prepare, print_on, report

SITE = "quay"
EIGHT = clock(TUE, 8)


@pytest.fixture
def session(session: Session) -> Session:
    prepare(session)
    return session


def litres(number: float) -> dict[str, Any]:
    return {"amount": number, "unit": "L"}


def fixed(session: Session, work: str) -> dict[str, Any]:
    """A run or pull as a report fixed it."""
    (row,) = reports.fixed(session, SITE, [work])
    return row.document


def fixed_litres(session: Session, work: str = STOCK) -> float:
    return float(fixed(session, work)["outputs"][0]["quantity"]) / 1000


def test_p15_a_report_fixes_its_run_as_listed_where_nothing_was_printed(session: Session) -> None:
    expect(session, WED, 60)
    said = report(session, TUE, f"{STOCK}.1", EIGHT)
    assert said == {
        "id": f"{STOCK}.1",
        "date": "2026-12-01",
        "state": "done",
        "made": None,
        "begun": None,
        "drawn": None,
        "at": "2026-12-01T08:00:00+00:00",
        "note": "",
    }
    assert fixed_litres(session) == pytest.approx(12)


def test_p15_a_report_fixes_its_run_as_on_the_newest_print_that_has_it(session: Session) -> None:
    print_on(session, TUE, EIGHT)
    expect(session, WED, 60)
    print_on(session, WED, clock(TUE, 9))
    expect(session, WED, 80)
    report(session, TUE, f"{STOCK}.1", clock(TUE, 10))
    # Wednesday's print is the newer one: 12 L.
    assert fixed_litres(session) == pytest.approx(12)


def test_p15_a_further_report_leaves_the_run_as_it_was_fixed(session: Session) -> None:
    report(session, TUE, f"{STOCK}.1", EIGHT)
    expect(session, WED, 60)
    print_on(session, WED, clock(TUE, 9))
    report(session, WED, f"{STOCK}.2", clock(WED, 11))
    report(session, TUE, f"{STOCK}.1", clock(WED, 11), "doing")
    assert fixed_litres(session) == 10


def test_p15_a_run_of_which_every_report_was_taken_back_is_fixed_anew(session: Session) -> None:
    report(session, TUE, f"{STOCK}.1", EIGHT)
    report(session, TUE, f"{STOCK}.1", EIGHT, "open")
    expect(session, WED, 60)
    report(session, TUE, f"{STOCK}.1", EIGHT)
    assert fixed_litres(session) == pytest.approx(12)


def test_p15_saying_that_a_task_is_open_fixes_nothing(session: Session) -> None:
    report(session, TUE, f"{STOCK}.1", EIGHT, "open")
    assert reports.fixed(session, SITE, [STOCK]) == []


def test_p15_pulls_are_fixed_too(session: Session) -> None:
    said = report(session, TUE, PULL, EIGHT, made={"amount": 2500, "unit": "g"})
    assert said["made"] == {"amount": 2500, "unit": "g"}
    assert fixed(session, PULL)["amount"] == 2000


def test_a_tasks_date_is_that_of_a_list_that_has_it(session: Session) -> None:
    for on, task in ((WED, f"{STOCK}.1"), (TUE, f"{STOCK}.2"), (TUE, f"{STOCK}-2.1"), (TUE, STOCK), (TUE, f"{STOCK}.3"), (TUE, "make")):
        with pytest.raises(NotFound):
            report(session, on, task, EIGHT)
    # On Wednesday, the first stage is late and stands on Wednesday's list.
    assert report(session, WED, f"{STOCK}.1", clock(WED, 5))["date"] == "2026-12-02"


def test_p15_a_late_task_can_be_reported_again_where_it_was_reported_and_on_its_own_date(session: Session) -> None:
    report(session, WED, f"{STOCK}.1", clock(WED, 5), "doing")
    report(session, WED, f"{STOCK}.1", clock(WED, 6), "done")
    assert read_report(session, SITE, f"{STOCK}.1")["date"] == "2026-12-02"
    report(session, TUE, f"{STOCK}.1", clock(WED, 7), "doing")
    found = read_report(session, SITE, f"{STOCK}.1")
    assert (found["date"], found["state"]) == ("2026-12-01", "doing")
    assert [row.number for row in reports.of_work(session, SITE, STOCK)] == [1, 2, 3]


def test_p15_what_a_list_showed_between_two_reports_can_be_reported_after_both(session: Session) -> None:
    # Wednesday's pull is named by its first need, the dice at 11:00; once they are cut, by Thursday's stock at 20:30.
    expect(session, THU, 24)
    report(session, WED, f"{DICE}.1", clock(WED, 11))
    pull, stock = "pull.quay.onion.2026-12-02T2030", "make.quay.stock.2026-12-03T1100"
    assert listed(session, WED, clock(WED, 12))[pull]["quantity"]["amount"] == pytest.approx(2_000)
    report(session, WED, f"{stock}.1", clock(WED, 21))
    assert pull not in listed(session, WED, clock(WED, 21))
    report(session, WED, pull, clock(WED, 22))
    assert listed(session, WED, clock(WED, 22))[pull]["quantity"]["amount"] == pytest.approx(2_000)


def test_p15_what_a_list_showed_can_be_reported_after_what_was_reported_of_later_dates(session: Session) -> None:
    assert f"{STOCK}.1" in listed(session, TUE, EIGHT)
    report(session, WED, f"{SOUP}.1", EIGHT)
    # The soup has had its stock from somewhere: nobody asks for it any more.
    assert f"{STOCK}.1" not in listed(session, TUE, EIGHT)
    report(session, TUE, f"{STOCK}.1", EIGHT)
    assert listed(session, TUE, EIGHT)[f"{STOCK}.1"]["progress"]["state"] == "done"


@pytest.mark.parametrize("number", [0, 1, 2, 7, 30, 400])
def test_reports_are_left_out_all_one_and_all_but_one_at_least(number: int) -> None:
    tried = _lately(number)
    assert len(tried) == len(set(tried))
    assert {each for each in (number, 1, 2, number - 1, number - 2) if 0 < each <= number} <= set(tried)
    assert all(0 < each <= number for each in tried)
    assert len(tried) <= 20


@pytest.mark.parametrize("task", ["make.hill.soup.2026-12-02T1200.1", "make.quay.stew.2026-12-02T1200.1", "make.quay.soup", "soup"])
def test_for_a_task_that_cannot_be_nothing_is_planned(session: Session, task: str) -> None:
    def never() -> NoReturn:
        raise AssertionError

    body = {"state": "done", "made": None, "begun": None, "drawn": None, "at": None, "note": ""}
    with pytest.raises(NotFound):
        prepare_report(session, ListRequest(site=SITE, on=WED), task, body, EIGHT, never)


def test_p15_any_print_of_the_date_will_do(session: Session) -> None:
    print_on(session, TUE, EIGHT)
    expect(session, WED, 0)
    print_on(session, TUE, clock(TUE, 9))
    assert report(session, TUE, f"{STOCK}.1", clock(TUE, 10))["state"] == "done"
    with pytest.raises(NotFound):
        report(session, WED, f"{SOUP}.1", clock(TUE, 10))


def test_p15_what_was_printed_can_be_reported_after_its_date(session: Session) -> None:
    print_on(session, TUE, EIGHT)
    assert report(session, TUE, f"{STOCK}.1", clock(THU, 9), "open")["state"] == "open"


def test_amounts_are_recorded_in_the_stock_kind(session: Session) -> None:
    assert report(session, WED, f"{STOCK}.2", EIGHT, made=litres(0))["made"] == {"amount": 0, "unit": "mL"}
    said = report(session, WED, f"{DICE}.1", EIGHT, made={"amount": "9/10", "unit": "kg"}, drawn={"amount": 1.2, "unit": "kg"})
    assert (said["made"], said["drawn"]) == ({"amount": 900, "unit": "g"}, {"amount": 1200, "unit": "g"})
    assert report(session, WED, f"{SOUP}.1", EIGHT, made={"amount": 44, "unit": "portion"})["made"] == {"amount": 11_000, "unit": "mL"}


@pytest.mark.parametrize(
    ("on", "task", "said", "faults"),
    [
        (TUE, f"{STOCK}.1", {"made": {"amount": 1, "unit": "kg"}}, [("/made/unit", "missing_equivalent")]),
        (TUE, f"{STOCK}.1", {"made": {"amount": 1, "unit": "portion"}}, [("/made/unit", "wrong_kind")]),
        (TUE, f"{STOCK}.1", {"drawn": litres(1)}, [("/drawn/unit", "missing_equivalent")]),
        (WED, f"{STOCK}.2", {"drawn": litres(1)}, [("/drawn", "rule_not_allowed")]),
        (
            WED,
            f"{SOUP}.1",
            {"made": {"amount": 1, "unit": "pot"}, "drawn": litres(1)},
            [("/made/unit", "unknown_unit"), ("/drawn", "rule_not_allowed")],
        ),
        (TUE, PULL, {"drawn": {"amount": 1, "unit": "kg"}}, [("/drawn", "rule_not_allowed")]),
    ],
)
def test_amounts_that_the_work_cannot_have_are_refused_and_nothing_is_recorded(
    session: Session, on: Any, task: str, said: dict[str, Any], faults: list[tuple[str, str]]
) -> None:
    before = revisions.current(session, [f"site:{SITE}"])
    with pytest.raises(Invalid) as refused:
        report(session, on, task, EIGHT, **said)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == faults
    assert reports.since(session, SITE, MON, []) == []
    assert revisions.current(session, [f"site:{SITE}"]) == before


def test_a_task_that_nobody_reported_has_no_report(session: Session) -> None:
    with pytest.raises(NotFound):
        read_report(session, SITE, f"{STOCK}.1")


def test_a_report_is_a_new_state_of_the_sites_lists(session: Session) -> None:
    before = revisions.current(session, [f"site:{SITE}", "site:hill"])
    report(session, TUE, f"{STOCK}.1", EIGHT)
    after = revisions.current(session, [f"site:{SITE}", "site:hill"])
    assert (after[f"site:{SITE}"], after["site:hill"]) == (before[f"site:{SITE}"] + 1, before["site:hill"])

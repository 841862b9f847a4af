"""What stands of prints and reports in later plans (P15), between the store and the kitchen."""

from datetime import date, time

import pytest
from sqlalchemy.orm import Session

from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import FOREVER, ONE_DAY, Calendar
from service.kitchen.planning.names import work_of
from service.operations.counts import count_page, delete_count
from service.operations.lists import ListRequest
from service.operations.loading import load_catalogue
from service.operations.prints import changes
from service.store import reports, work_reports
from tests.operations.pot import (
    DICE,
    FRI,
    PULL,
    SOUP,
    STOCK,
    THU,
    TUE,
    WED,
    clock,
    count,
    expect,
    listed,
    prepare,
    print_on,
    report,
    reported,
    states,
)
from tests.stockpot import SITE

DAYS = Calendar.of("UTC", time(4))


@pytest.fixture
def session(session: Session) -> Session:
    prepare(session)
    return session


@pytest.mark.parametrize(
    ("task", "work"),
    [
        ("make.quay.stock.2026-12-02.2", ("run", "make.quay.stock.2026-12-02", 2)),
        ("make.quay.stock.2026-12-02-3.12", ("run", "make.quay.stock.2026-12-02-3", 12)),
        ("prep.quay.onion.dice.2026-12-02.1", ("run", "prep.quay.onion.dice.2026-12-02", 1)),
        ("pull.quay.onion.2026-12-02-2", ("pull", "pull.quay.onion.2026-12-02-2", 0)),
        ("use.quay.soup.2026-12-02.20261204T040000", ("use", "use.quay.soup.2026-12-02.20261204T040000", 0)),
        ("make.quay.stock.2026-12-02", ("run", "make.quay.stock", 0)),
        ("make.quay.stock.2026-12-02.²", ("run", "make.quay.stock.2026-12-02", 0)),
        ("nonsense", ("run", "", 0)),
    ],
)
def test_a_tasks_id_names_its_work(task: str, work: tuple[str, str, int]) -> None:
    assert work_of(task) == work


def test_p15_where_nothing_was_printed_or_reported_nothing_stands(session: Session) -> None:
    found = reported(session, WED)
    assert (found.runs, found.pulls, found.lots, found.needs, dict(found.said)) == ((), (), (), (), {})


def test_p15_what_was_printed_counts_as_done_once_its_date_is_past(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    print_on(session, WED, clock(TUE, 8))
    assert states(reported(session, TUE)) == {}
    # Tuesday's stage of the stock; Wednesday's print is not yet past.
    assert states(reported(session, WED)) == {"stock 02": {1: "done, assumed"}}
    assert states(reported(session, THU)) == {
        "stock 02": {1: "done, assumed", 2: "done, assumed"},
        "onion/dice 02": {1: "done, assumed"},
        "soup 02": {1: "done, assumed"},
    }
    assert [each.pull.amount for each in reported(session, THU).pulls] == [2_000, 1_250]


def test_p15_what_was_printed_was_done_as_planned_however_late_it_was_printed(session: Session) -> None:
    print_on(session, TUE, clock(WED, 5))
    (stock,) = reported(session, WED).runs
    assert [taking.done for taking in stock.takings(DAYS)] == [clock(TUE, 20, 30)]


def test_p15_what_was_late_on_a_print_stays_late_while_nobody_reports_it(session: Session) -> None:
    # On Wednesday's list the first stage is late: nobody said that it was begun, and a print is no word of it.
    print_on(session, WED, clock(WED, 5))
    assert states(reported(session, THU)) == {
        "stock 02": {2: "done, assumed"},
        "onion/dice 02": {1: "done, assumed"},
        "soup 02": {1: "done, assumed"},
    }


def test_p15_only_the_newest_print_of_a_date_counts(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    expect(session, WED, 60)
    print_on(session, TUE, clock(TUE, 9))
    (stock,) = reported(session, WED).runs
    # 60 bowls are 15 L of soup, 12 L of stock.
    assert stock.run.main.quantity == pytest.approx(12_000)
    expect(session, WED, 0)
    print_on(session, TUE, clock(TUE, 10))
    assert reported(session, WED).runs == ()


def test_p15_what_was_reported_is_as_reported_and_the_rest_as_printed(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    print_on(session, WED, clock(TUE, 8))
    report(session, TUE, f"{STOCK}.1", clock(TUE, 21), "doing")
    report(session, WED, f"{SOUP}.1", clock(WED, 11, 50), made={"amount": 9, "unit": "L"})
    found = reported(session, THU)
    assert states(found) == {
        "stock 02": {1: "doing", 2: "done, assumed"},
        "onion/dice 02": {1: "done, assumed"},
        "soup 02": {1: "done"},
    }
    assert {lot.item.label: lot.amount for lot in found.lots if lot.use_by != FOREVER} == {
        # Guests had 6 of 9 L; 8 of 10 L of stock and all dice went into the pot, of which 10 L were begun.
        "soup": pytest.approx(3_000),
        "stock": pytest.approx(2_000),
    }
    assert {task: said.state for task, said in found.said.items()} == {f"{STOCK}.1": "doing", f"{SOUP}.1": "done"}


def test_p15_open_undoes_what_counts_as_done(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    print_on(session, WED, clock(TUE, 8))
    report(session, WED, f"{DICE}.1", clock(THU, 6), "open")
    report(session, WED, f"{STOCK}.2", clock(THU, 6), "open")
    report(session, TUE, PULL, clock(THU, 6), "open")
    found = reported(session, THU)
    # The stock was begun as printed, and is still to be strained; nobody diced.
    assert states(found) == {"stock 02": {1: "done, assumed"}, "soup 02": {1: "done, assumed"}}
    assert [each.pull.on for each in found.pulls] == [WED]
    assert found.said[f"{DICE}.1"].state == "open"


def test_p15_a_report_that_was_taken_back_leaves_nothing(session: Session) -> None:
    report(session, TUE, f"{STOCK}.1", clock(TUE, 21))
    assert states(reported(session, TUE)) == {"stock 02": {1: "done"}}
    report(session, TUE, f"{STOCK}.1", clock(TUE, 22), "open")
    assert reported(session, TUE).runs == ()
    assert [row.work for row in reports.fixed(session, "quay", [STOCK])] == [STOCK]


def test_p15_two_prints_of_two_dates_show_one_run(session: Session) -> None:
    """The run stands as on the newest print that has it; each print tells of its own date's stages."""
    print_on(session, WED, clock(TUE, 7))
    expect(session, WED, 60)
    print_on(session, TUE, clock(TUE, 8))
    (stock,) = [each for each in reported(session, THU).runs if each.run.item == Item.recipe("stock")]
    assert stock.run.main.quantity == pytest.approx(12_000)
    assert sorted(stock.reports) == [1, 2]


def test_p15_a_run_is_as_on_the_print_of_the_first_date_that_counts_whatever_a_later_dates_print_says(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    expect(session, WED, 60)
    # Wednesday's sheet shows 12 L of stock to strain; on Tuesday's, 10 L were begun.
    print_on(session, WED, clock(TUE, 9))
    for first in (WED, THU):
        (stock,) = [each for each in reported(session, first).runs if each.run.item == Item.recipe("stock")]
        assert stock.run.main.quantity == 10_000


def test_p15_f_late_work_takes_no_id_of_what_a_closed_date_has_finished(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    listed(session, WED, clock(WED, 5))
    expect(session, WED, 64)
    # 2.8 L more of stock are asked for, late, of 2 kg more: the first 2 kg were pulled on Tuesday, which is closed.
    assert {f"{STOCK}.2", f"{STOCK}-2.1", f"{PULL}-2"} < set(listed(session, WED, clock(WED, 6)))


def test_p15_what_was_said_of_late_work_is_told_though_its_date_is_closed(session: Session) -> None:
    report(session, TUE, f"{STOCK}.1", clock(TUE, 21), "open", note="no onions")
    for hour in (5, 6):
        stock = listed(session, WED, clock(WED, hour))[f"{STOCK}.1"]
        assert (stock["late"], stock["progress"]["note"]) == (True, "no onions")


def test_p15_late_work_was_done_when_that_was_said_on_the_list_that_shows_it_late(session: Session) -> None:
    # Tuesday night's count finds 5 kg of onions; on Wednesday the stock is late, and takes 2 kg.
    count(session, {"ingredient": "onion"}, {"amount": 5, "unit": "kg"}, clock(TUE, 22))
    for on, left in ((WED, 3_000), (TUE, 5_000)):
        # On Tuesday's own list, it was done as planned, before the count.
        report(session, on, f"{STOCK}.1", clock(WED, 6), "doing")
        onions = sum(lot.amount for lot in reported(session, WED).lots if lot.item.raw)
        assert onions - sum(need.amount for need in reported(session, WED).needs if need.settled) == left


def test_p3_a_deleted_count_leaves_no_trace_on_the_dates_that_were_closed_since(session: Session) -> None:
    expect(session, THU, 24)
    asked = listed(session, THU, clock(THU, 5))
    count(session, {"recipe": "soup"}, {"amount": 5, "unit": "L"}, clock(WED, 13))
    assert listed(session, THU, clock(THU, 5)) != asked
    catalogue = load_catalogue(session)
    (soup,) = count_page(session, catalogue, "quay", (WED, WED), None, 2)
    delete_count(session, "quay", soup["id"], catalogue, clock(THU, 5))
    assert listed(session, THU, clock(THU, 5)) == asked


@pytest.mark.parametrize("then", ["reported", "printed again"])
def test_p15_soup_that_was_counted_in_the_evening_is_as_counted_in_the_morning_whatever_is_said_of_it_afterwards(
    session: Session, then: str
) -> None:
    expect(session, THU, 24)
    print_on(session, WED, clock(WED, 8))
    count(session, {"recipe": "soup"}, {"amount": 500, "unit": "mL"}, clock(WED, 20, 30))
    if then == "reported":
        report(session, WED, f"{SOUP}.1", clock(WED, 21))
    else:
        print_on(session, WED, clock(WED, 21))
    # 24 bowls are 6 L; of the 10 L that were made half a litre was left.
    soup = "make.quay.soup.2026-12-03T1200.1"
    assert listed(session, THU, clock(THU, 5))[soup]["have"]["amount"] == 500


def test_p15_g_soup_of_fewer_guests_than_it_was_made_for_is_left_in_the_evening_and_in_the_morning(session: Session) -> None:
    expect(session, WED, 40)
    for on in (TUE, WED):
        print_on(session, on, clock(TUE, 8))
    report(session, WED, f"{SOUP}.1", clock(WED, 11, 55))
    expect(session, WED, 16)
    expect(session, THU, 24)
    # 40 bowls are 10 L; 16 of them had 4 L. The other 6 L are Thursday's 24 bowls: nothing is to be made.
    for now in (clock(WED, 22), clock(THU, 5)):
        shown = listed(session, THU, now)
        amounts = {id_: each["quantity"]["amount"] for id_, each in shown.items()}
        assert amounts == {"use.quay.soup.2026-12-03T1200.20261204T040000": 6_000}


def told(session: Session) -> list[object]:
    """Lists of dates that are over, of today and to come, and what changed since each print."""
    lists = [listed(session, on, clock(WED, 20)) for on in (TUE, WED, THU)]
    return [*lists, *(changes(session, ListRequest(site=SITE, on=on), 1, clock(WED, 20)) for on in (TUE, WED))]


@pytest.mark.parametrize("dates", [(TUE,), (TUE, WED), (FRI,)])
def test_p15_lists_and_changes_are_the_same_once_reports_are_gathered_whatever_is_said_afterwards(
    session: Session, dates: tuple[date, ...]
) -> None:
    for on in (TUE, WED):
        expect(session, on + ONE_DAY, 24)
        print_on(session, on, clock(on, 8))
        for task in sorted(listed(session, on, clock(on, 9)))[1:]:
            report(session, on, task, clock(on, 16))

    def lived() -> list[list[object]]:
        """Before and after Tuesday's pull is reported late, as less than it was; then that is undone."""
        with session.begin_nested() as trial:
            before = told(session)
            report(session, TUE, PULL, clock(WED, 19), made={"amount": 1, "unit": "kg"})
            found = [before, told(session)]
            trial.rollback()
        return found

    apart = lived()
    assert apart[0] != apart[1]
    for on in dates:
        work_reports.gather(session, SITE, on, 1_000)
        assert lived() == apart

"""What stands of prints and reports in later plans (P15), between the store and the kitchen."""

from datetime import datetime, timedelta

import pytest
from sqlalchemy.orm import Session

from service.api.schemas.imports import ImportBody
from service.api.wire.json import parse, render
from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import FOREVER
from service.operations.imports import import_catalogue, prepare_import
from service.operations.reports import work_of
from service.store import progress
from tests.operations.pot import DICE, FRI, PULL, SOUP, STOCK, THU, TUE, WED, clock, expect, prepare, print_on, report, reported, states
from tests.stockpot import CATALOGUE


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


@pytest.mark.parametrize(
    ("printed_at", "done_at"),
    [
        (clock(TUE, 8), clock(WED, 10, 40)),  # As planned: it simmers until 10:40.
        (clock(WED, 11), clock(WED, 11)),  # Late on Wednesday's list, at the time of the print at the earliest,
        (clock(THU, 9), clock(THU, 4)),  # and at the end of the list's date at the latest.
    ],
)
def test_p15_it_was_done_by_its_planned_end_unless_it_was_late_then(session: Session, printed_at: datetime, done_at: datetime) -> None:
    print_on(session, TUE if printed_at < clock(TUE, 12) else WED, printed_at)
    stock = next(each for each in reported(session, THU).runs if each.run.item == Item.recipe("stock"))
    assert (stock.reports[1].assumed, stock.reports[1].at) == (True, done_at)


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
        "onion/dice": pytest.approx(1_000),
        "soup": pytest.approx(9_000),
        "stock": pytest.approx(10_000),
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
    assert progress.fixed(session, "quay", STOCK) is not None


def test_p15_two_prints_of_two_dates_show_one_run(session: Session) -> None:
    """The run stands as on the newest print that has it; each print tells of its own date's stages."""
    print_on(session, WED, clock(TUE, 7))
    expect(session, WED, 60)
    print_on(session, TUE, clock(TUE, 8))
    (stock,) = [each for each in reported(session, THU).runs if each.run.item == Item.recipe("stock")]
    assert stock.run.main.quantity == pytest.approx(12_000)
    assert sorted(stock.reports) == [1, 2]


def test_p15_a_use_gave_what_the_newest_print_says_although_it_was_reported_before(session: Session) -> None:
    expect(session, THU, 12)
    print_on(session, WED, clock(WED, 5))
    # Wednesday's 10 L of soup leave 4 L; Thursday's 12 bowls take 3 L of them.
    thursday = print_on(session, THU, clock(WED, 6))
    use = next(
        task["id"] for station in thursday["stations"] for task in station["tasks"] if task["kind"] == "use" and "soup" in task["id"]
    )
    report(session, THU, use, clock(THU, 12, 30))
    expect(session, THU, 16)
    print_on(session, THU, clock(THU, 12, 40))
    eaten = [need.amount for need in reported(session, FRI).needs if need.outlet is not None and need.outlet.on == THU]
    assert eaten == [pytest.approx(4_000)]


def test_p15_prints_and_reports_hold_as_long_as_a_list_reaches_back(session: Session) -> None:
    print_on(session, TUE, clock(TUE, 8))
    report(session, TUE, PULL, clock(TUE, 21))
    for days in (62, 63):
        found = reported(session, TUE + timedelta(days=days))
        assert [each.pull.on for each in found.pulls] == ([TUE] if days == 62 else []), days
        assert [lot.item.label for lot in found.lots] == (["stock", "onion"] if days == 62 else []), days


def test_p15_what_was_reported_holds_as_long_as_something_of_it_can_be_used(session: Session) -> None:
    keeping = next(each for each in CATALOGUE["recipes"] if each["code"] == "stock")
    body = {**{noun: [] for noun in CATALOGUE}, "recipes": [{**keeping, "keeps": "P100D", "publish_from": "2026-12-01"}]}
    import_catalogue(session, prepare_import(session, ImportBody().load(parse(render(body))), clock(TUE, 7), None))
    report(session, TUE, f"{STOCK}.1", clock(TUE, 21))
    report(session, WED, f"{STOCK}.2", clock(WED, 11))
    # Ready on Wednesday at 11:00, it may be used until the hundredth date after ends, at 04:00 of the one after that.
    for days, stages in ((100, {"stock 02": {1: "done", 2: "done"}}), (101, {}), (102, {})):
        found = reported(session, WED + timedelta(days=days))
        assert states(found) == stages, days
        assert [lot.amount for lot in found.lots if lot.use_by.covers(clock(WED, 12) + timedelta(days=days))] == [10_000] * len(stages)

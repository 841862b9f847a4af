"""Freezing a list: every task and pull of it, and nothing else, has its work among what a print keeps (P15)."""

from service.kitchen.lists.frozen import thaw_run
from service.kitchen.planning.runs import Run
from tests.kitchen.larder import THU, TUE, WED, at, near
from tests.kitchen.planning.test_reported import KITCHEN, SOUP, STOCK, stock_run
from tests.kitchen.plans import counted, forecast, list_of, only_run, plan_forecasts, runs_of, tasks_of
from tests.kitchen.reports import fixed_pull, plan_after, said, shown, stored

WANTS = [forecast(WED, "bowl", 24), forecast(THU, "bowl", 30)]
STORED = [counted(SOUP, "2 L", at(TUE, "08:00"), TUE), counted("onion", "1 kg", at(TUE, "08:00"))]


def test_p15_a_print_keeps_the_work_behind_every_task_and_pull_of_the_list() -> None:
    planned = plan_forecasts(KITCHEN, WANTS, STORED, on=THU)
    for on in (TUE, WED, THU):
        document = list_of(planned, KITCHEN, on)
        listed = [task["id"] for task in tasks_of(document)] + [pull["id"] for pull in document["pulls"]]
        kept = [task for _, tasks, _ in shown(planned, KITCHEN, on).values() for task in tasks]
        assert sorted(kept) == sorted(listed)
    kinds = {kind for on in (TUE, WED, THU) for kind, _, _ in shown(planned, KITCHEN, on).values()}
    assert kinds == {"run", "use", "pull"}


def test_p15_work_is_kept_whole_with_the_stages_that_the_list_shows() -> None:
    planned = plan_forecasts(KITCHEN, WANTS, STORED, on=THU)
    work = "make.mill-street.stock.2026-12-02T1100"
    (tuesday, wednesday) = (shown(planned, KITCHEN, on)[work] for on in (TUE, WED))
    assert (tuesday[1], wednesday[1]) == ((f"{work}.1",), (f"{work}.2",))
    assert tuesday[2] == wednesday[2]
    run = thaw_run(stored(tuesday[2]), KITCHEN, work)
    assert isinstance(run, Run)
    assert (len(run.stages), run.main.quantity) == (2, near(runs_of(planned, STOCK)[0].main.quantity))


def test_p15_reported_work_is_kept_as_it_was_fixed_on_its_own_date() -> None:
    begun = stock_run({1: said(at(TUE, "21:00"), "doing", made=9_000)})
    planned = plan_after(KITCHEN, [forecast(WED, "bowl", 64)], begun, on=WED)
    work = "make.mill-street.stock.2026-12-02T1100"
    assert set(shown(planned, KITCHEN, TUE)) >= {work, f"{work}-2"}
    assert shown(planned, KITCHEN, TUE)[work][2]["outputs"][0]["quantity"] == near(10_000)
    # On the day after, the reported stage does not stand on the first list again; the other one stands there.
    later = plan_after(KITCHEN, [forecast(WED, "bowl", 64)], begun, first=WED, on=WED)
    assert shown(later, KITCHEN, WED)[work][1] == (f"{work}.2",)


def test_p15_late_work_is_kept_with_the_list_that_it_stands_on() -> None:
    planned = plan_forecasts(KITCHEN, WANTS, first=WED, on=WED)
    work = "make.mill-street.stock.2026-12-02T1100"
    assert shown(planned, KITCHEN, WED)[work][1] == (f"{work}.1", f"{work}.2")
    assert only_run(plan_forecasts(KITCHEN, WANTS[:1], first=WED, on=WED), STOCK).stages[0].on == TUE


def test_p15_a_reported_pull_is_kept_on_its_own_date_alone() -> None:
    (pull, *_) = plan_forecasts(KITCHEN, WANTS, on=WED).pulls
    assert pull.on == TUE
    planned = plan_after(KITCHEN, WANTS, fixed_pull(pull, said(at(TUE, "20:00"))), on=WED)
    again = plan_after(KITCHEN, WANTS, fixed_pull(pull, said(at(TUE, "20:00"))), first=WED, on=WED)
    id_ = "pull.mill-street.onion.2026-12-01T2030"
    assert id_ in shown(planned, KITCHEN, TUE)
    assert id_ not in shown(again, KITCHEN, WED)

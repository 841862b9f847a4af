"""Cooks who report and an import beside a till are all answered; ``python -m tests.load.writers`` measures them."""

from service.kitchen.planning.names import work_of
from tests.load.cooks import OWN, Paper, shares
from tests.load.writers import run


def test_cooks_who_report_at_once_and_an_import_beside_a_till_are_all_answered() -> None:
    told: list[str] = []
    assert run("sqlite", 2, 3, 20, 1, told.append) == []
    rates = [line for line in told if "a second, after" in line]
    assert ["of 1 kitchens" in rates[0], "of 3 kitchens" in rates[1]] == [True, True]
    assert all(f", {OWN} " in line and " report 0 a second" not in line for line in rates)
    assert len([line for line in told if "an import of 20 recipes" in line]) == 3


def test_cooks_of_one_kitchen_report_work_of_their_own_as_long_as_there_is_any() -> None:
    papers = [Paper("", "", [f"make.{site}.soup-{work}.x.{stage}" for work in range(5) for stage in (1, 2)]) for site in ("a", "b")]
    for cooks in (1, 2, 7, 10):
        works = [{work_of(task)[1] for task in tasks} for tasks in shares(papers, cooks)]
        assert len(works) == cooks
        assert sum(len(each) for each in works) == len(set().union(*works))
    assert all(shares(papers, 12))

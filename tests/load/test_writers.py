"""Cooks, an import and a till beside it are all answered; ``python -m tests.load.writers`` measures them."""

from tests.load.writers import run


def test_cooks_who_report_at_once_and_an_import_beside_a_till_are_all_answered() -> None:
    told: list[str] = []
    assert run("sqlite", 2, 3, 20, 1, told.append) == []
    rates = [line for line in told if "report" in line]
    assert ["of 1 kitchens" in rates[0], "of 3 kitchens" in rates[1]] == [True, True]
    assert not any(" 0 tasks" in line for line in rates)
    assert len([line for line in told if "an import of 20 recipes" in line]) == 3

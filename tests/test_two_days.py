"""Two days at the stockpot and the morning after (rule P15): what the kitchen said and printed stays, and nothing is asked for twice.

The kitchen is described in ``tests/stockpot.py``; every number is worked out by hand beside it.
"""

from collections.abc import Iterator

import pytest

from tests.stockpot import (
    THU,
    TUE,
    UNCHANGED,
    WED,
    Stockpot,
    balance,
    kilos,
    left,
    litres,
    pulls,
    tasks,
    uses,
    work,
)

STOCK_WED, STOCK_THU = "make.stock.2026-12-02T1100", "make.stock.2026-12-03T1100"
SOUP_WED, SOUP_THU = "make.soup.2026-12-02T1200", "make.soup.2026-12-03T1200"
DICE_WED, DICE_THU = "prep.onion.dice.2026-12-02T1100.1", "prep.onion.dice.2026-12-03T1100.1"
SOUP = {"recipe": "soup"}


@pytest.fixture
def kitchen(database_url: str) -> Iterator[Stockpot]:
    """The stockpot on Tuesday morning: 24 bowls on Wednesday (6 L), 30 on Thursday (7.5 L)."""
    made = Stockpot(database_url)
    made.push(WED=24, THU=30)
    yield made
    made.close()


def test_p15_two_days_of_a_kitchen_that_reports(kitchen: Stockpot) -> None:
    tuesday_prints_and_begins_the_stock(kitchen)
    more_guests_ask_for_more_stock_and_the_pot_stays(kitchen)
    wednesday_is_smaller_than_feared(kitchen)
    strained_less_and_cooked_more_than_planned(kitchen)
    an_afternoon_count_finds_less_soup(kitchen)
    thursday_counts_what_was_printed_as_done(kitchen)
    the_dice_were_never_cut(kitchen)


def tuesday_prints_and_begins_the_stock(kitchen: Stockpot) -> None:
    # Wednesday's soup of 6 L is made as 10 L, and takes 8 L of stock, made as 10 L, of 2 kg of onions at 20:30.
    printed = kitchen.printed(TUE)
    assert (printed["print"], work(printed), pulls(printed)) == (1, {f"{STOCK_WED}.1": 10}, {"pull.onion.2026-12-01T2030": 2})
    kitchen.strike(f"{TUE} 20:35")
    kitchen.report(TUE, "pull.onion.2026-12-01T2030")
    kitchen.report(TUE, f"{STOCK_WED}.1", "doing")
    assert kitchen.changes(TUE) == UNCHANGED


def more_guests_ask_for_more_stock_and_the_pot_stays(kitchen: Stockpot) -> None:
    # 64 bowls are 16 L of soup, 12.8 L of stock. 10 L are in the pot; the 2.8 L that lack are made as 10 L of 2 kg more.
    kitchen.push(WED=64)
    tuesday = kitchen.list_of(TUE)
    assert work(tuesday) == {f"{STOCK_WED}.1": 10, f"{STOCK_WED}-2.1": 10}
    assert balance(tasks(tuesday)[f"{STOCK_WED}.1"]) == [8, 0, 10, 2]
    assert balance(tasks(tuesday)[f"{STOCK_WED}-2.1"]) == [12.8, 10, 10, 7.2]
    assert pulls(tuesday) == {"pull.onion.2026-12-01T2030": 2, "pull.onion.2026-12-01T2030-2": 2}
    # Had nothing been reported, the one pot would be larger.
    asked = {f"{STOCK_WED}.1": ("10 L", "12.8 L"), "pull.onion.2026-12-01T2030": ("2 kg", "2.6 kg")}
    assert kitchen.changes(TUE) == {"added": [], "dropped": [], "changed": asked}


def wednesday_is_smaller_than_feared(kitchen: Stockpot) -> None:
    kitchen.strike(f"{WED} 05:00")
    late = tasks(kitchen.list_of(WED))[f"{STOCK_WED}-2.1"]
    # Nobody began the second pot: it is late now, and puts 2.8 of 12.8 L at risk, 14 of 64 bowls.
    assert (late["late"], late["at_risk"]) == (
        True,
        [{"menu_item": "bowl", "date": WED, "period": "lunch", "event": None, "portions": 14}],
    )
    # 40 bowls are 10 L of soup and 8 L of stock: the pot does, 2 L are left, and Thursday's 8 L need 6 L more.
    kitchen.push(WED=40)
    printed = kitchen.printed(WED)
    assert work(printed) == {f"{STOCK_WED}.2": 10, f"{SOUP_WED}.1": 10, DICE_WED: 1, f"{STOCK_THU}.1": 10}
    assert balance(tasks(printed)[f"{SOUP_WED}.1"]) == [10, 0, 10, 0]
    assert balance(tasks(printed)[f"{STOCK_THU}.1"]) == [8, 2, 10, 4]
    assert uses(printed) == {"stock.2026-12-02T1100": 8}
    # 1.25 kg to dice and 2 kg for Thursday's stock; Tuesday's 2 kg went into the pot.
    assert pulls(printed) == {"pull.onion.2026-12-02T1100": 3.25}
    assert left(printed) == {"Stock": 2}


def strained_less_and_cooked_more_than_planned(kitchen: Stockpot) -> None:
    kitchen.strike(f"{WED} 11:55")
    kitchen.report(WED, f"{STOCK_WED}.2", made=litres(9))
    kitchen.report(WED, f"{SOUP_WED}.1", made=litres(12))
    wednesday, thursday = kitchen.list_of(WED), kitchen.list_of(THU)
    # 12 L of soup took 8 × 1.2 = 9.6 L of stock: all 9 L; what they lacked asks for nothing. 2 L of soup are left.
    assert left(wednesday) == {"Soup": 2}
    assert balance(tasks(thursday)[f"{SOUP_THU}.1"]) == [7.5, 2, 10, 4.5]
    # Thursday's soup takes 8 L of stock again, none of them there: 10 L, 2 of them left.
    assert balance(tasks(wednesday)[f"{STOCK_THU}.1"]) == [8, 0, 10, 2]
    assert uses(thursday) == {"soup.2026-12-03T1200": 2}
    assert uses(wednesday) == {"soup.2026-12-02T1200": 10}
    # The dice of the soup are not asked for, although nobody said that they were cut.
    assert work(wednesday) == {f"{STOCK_WED}.2": 10, f"{SOUP_WED}.1": 10, f"{STOCK_THU}.1": 10}
    # A report alone is no change of the sheet.
    assert kitchen.changes(WED) == UNCHANGED


def an_afternoon_count_finds_less_soup(kitchen: Stockpot) -> None:
    kitchen.strike(f"{WED} 14:30")
    kitchen.count(f"{WED} 14:00", {"item": SOUP, "quantity": litres(1.5)})
    # 1.5 L are there, counted on the date that they were made.
    assert balance(tasks(kitchen.list_of(THU))[f"{SOUP_THU}.1"]) == [7.5, 1.5, 10, 4]
    kitchen.strike(f"{WED} 20:40")
    kitchen.report(WED, f"{STOCK_THU}.1")
    assert balance(tasks(kitchen.list_of(WED))[f"{STOCK_THU}.1"]) == [8, 2, 10, 4]


def thursday_counts_what_was_printed_as_done(kitchen: Stockpot) -> None:
    kitchen.strike(f"{THU} 05:00")
    thursday = kitchen.list_of(THU)
    # Thursday's stock is fixed as Wednesday's print has it; its last stage is to do. Soup is made as 10 L of 1 kg of dice.
    assert work(thursday) == {f"{STOCK_THU}.2": 10, f"{SOUP_THU}.1": 10, DICE_THU: 1}
    assert balance(tasks(thursday)[f"{SOUP_THU}.1"]) == [7.5, 1.5, 10, 4]
    assert uses(thursday) == {"soup.2026-12-03T1200": 1.5, "stock.2026-12-03T1100": 8}
    # Wednesday's dice count as cut: the soup took all of them (1.2 kg of 1 kg). The pull of 3.25 kg counts as done, and
    # went into dice (1.25 kg) and stock (2 kg). Thursday's dice take 1.25 kg.
    assert pulls(thursday) == {"pull.onion.2026-12-03T1100": 1.25}
    assert left(thursday) == {"Soup": 4, "Stock": 2}
    assert not any(task["late"] for task in tasks(thursday).values())


def the_dice_were_never_cut(kitchen: Stockpot) -> None:
    kitchen.report(WED, DICE_WED, "open", note="We had some from the canteen.")
    thursday = kitchen.list_of(THU)
    # The 1.25 kg that were pulled for them are still there, and do for Thursday's dice.
    assert (work(thursday)[DICE_THU], pulls(thursday)) == (1, {})
    # Nor is the pull of Wednesday true: then nothing is there, and the stock had its onions from elsewhere.
    kitchen.report(WED, "pull.onion.2026-12-02T1100", "open")
    assert pulls(kitchen.list_of(THU)) == {"pull.onion.2026-12-03T1100": 1.25}


def test_p15_two_days_of_a_kitchen_that_only_prints(kitchen: Stockpot) -> None:
    kitchen.printed(TUE)
    # More guests are announced after the print: the sheet on the wall says 10 L.
    kitchen.push(WED=36)
    kitchen.strike(f"{WED} 05:00")
    printed = kitchen.printed(WED)
    # 36 bowls are 9 L, made as 10 L: the stock as printed does. Nothing of Tuesday is asked for again.
    assert work(printed) == {f"{STOCK_WED}.2": 10, f"{SOUP_WED}.1": 10, DICE_WED: 1, f"{STOCK_THU}.1": 10}
    assert not any(task["late"] for task in tasks(printed).values())
    assert pulls(printed) == {"pull.onion.2026-12-02T1100": 3.25}
    foreseen = kitchen.list_of(THU)
    kitchen.strike(f"{THU} 05:00")
    thursday = kitchen.list_of(THU)
    # Of Wednesday's 10 L of soup 9 were eaten: 1 L is left for Thursday's 7.5 L. Of the stock 2 L were left.
    assert balance(tasks(thursday)[f"{SOUP_THU}.1"]) == [7.5, 1, 10, 3.5]
    assert uses(thursday) == {"soup.2026-12-03T1200": 1, "stock.2026-12-03T1100": 8}
    assert work(thursday) == work(foreseen) == {f"{STOCK_THU}.2": 10, f"{SOUP_THU}.1": 10, DICE_THU: 1}
    assert pulls(thursday) == pulls(foreseen) == {"pull.onion.2026-12-03T1100": 1.25}
    # Stock: 2 L of Wednesday and 10 L of Thursday less 8 L; soup: 3.5 L of the new run.
    assert left(thursday) == left(foreseen) == {"Soup": 3.5, "Stock": 4}


def test_p15_a_kitchen_that_neither_prints_nor_reports_is_asked_again(kitchen: Stockpot) -> None:
    kitchen.strike(f"{WED} 05:00")
    wednesday = kitchen.list_of(WED)
    assert [id_ for id_, task in tasks(wednesday).items() if task["late"]] == [f"{STOCK_WED}.1"]
    assert pulls(wednesday) == {"pull.onion.2026-12-01T2030": 2, "pull.onion.2026-12-02T1100": 3.25}


def test_p15_a_late_task_is_begun_and_done_on_the_list_that_shows_it(kitchen: Stockpot) -> None:
    kitchen.strike(f"{WED} 05:00")
    kitchen.printed(WED)
    kitchen.report(WED, f"{STOCK_WED}.1", "doing")
    # It has left the list, being begun; that is no change of what the sheet asks for.
    assert f"{STOCK_WED}.1" not in work(kitchen.list_of(WED))
    assert kitchen.changes(WED) == UNCHANGED
    kitchen.report(WED, f"{STOCK_WED}.1", "done", made=litres(9))
    assert tasks(kitchen.list_of(TUE))[f"{STOCK_WED}.1"]["progress"]["state"] == "done"
    # On Tuesday's own list it can be taken back, and stands on Wednesday's again.
    kitchen.report(TUE, f"{STOCK_WED}.1", "open")
    assert tasks(kitchen.list_of(WED))[f"{STOCK_WED}.1"]["late"]


def test_p15_a_late_task_on_a_print_of_the_day_was_done_that_day_whatever_was_counted_the_evening_before(kitchen: Stockpot) -> None:
    # Tuesday night's count finds no stock; Wednesday's sheet has the late pot, and nobody reports.
    kitchen.strike(f"{TUE} 22:00")
    kitchen.count(f"{TUE} 22:00", {"item": {"recipe": "stock"}, "quantity": litres(0)})
    kitchen.strike(f"{WED} 05:00")
    printed = kitchen.printed(WED)
    assert tasks(printed)[f"{STOCK_WED}.1"]["late"]
    kitchen.strike(f"{THU} 05:00")
    # As of a kitchen that only prints: 10 L of stock were made and 8 L taken, 4 L of soup are left of 10.
    thursday = kitchen.list_of(THU)
    assert uses(thursday) == {"soup.2026-12-03T1200": 4, "stock.2026-12-03T1100": 8}
    assert left(thursday)["Stock"] == 4


def test_p15_an_evening_count_goes_before_all_that_was_printed(kitchen: Stockpot) -> None:
    kitchen.printed(TUE)
    kitchen.strike(f"{WED} 05:00")
    kitchen.printed(WED)
    kitchen.strike(f"{WED} 21:00")
    kitchen.count(
        f"{WED} 20:45",
        {"item": SOUP, "quantity": litres(5)},
        {"item": {"recipe": "stock"}, "quantity": litres(0)},
        {"item": {"ingredient": "onion", "form": "dice"}, "quantity": kilos(0.3)},
        {"item": {"ingredient": "onion"}, "quantity": kilos(4), "in": "kitchen"},
    )
    kitchen.strike(f"{THU} 05:00")
    thursday = kitchen.list_of(THU)
    # 5 L of soup of 7.5; all 10 L of Thursday's stock are in the pot, which a count cannot have found; 0.3 kg of dice of 1.
    assert balance(tasks(thursday)[f"{SOUP_THU}.1"]) == [7.5, 5, 10, 7.5]
    assert uses(thursday) == {"soup.2026-12-03T1200": 5, "stock.2026-12-03T1100": 8, "onion.dice.2026-12-03T1100": 0.3}
    assert work(thursday)[DICE_THU] == 0.7
    # 0.7 kg of dice take 0.875 kg of the 4 kg; the stock had its 2 kg at 20:30, before the count.
    assert pulls(thursday) == {}
    assert left(thursday) == {"Soup": 7.5, "Stock": 2, "Onion": 3.125}


def test_p15_the_day_ends_where_the_site_says(kitchen: Stockpot) -> None:
    kitchen.printed(TUE)
    # At 03:59 of Wednesday it is still Tuesday's business: what was printed is not yet past.
    kitchen.strike(f"{WED} 03:59")
    kitchen.push(WED=0)
    assert (work(kitchen.list_of(TUE)), STOCK_WED in str(kitchen.list_of(WED))) == ({}, False)
    kitchen.strike(f"{WED} 04:00")
    assert work(kitchen.list_of(WED)) == {f"{STOCK_WED}.2": 10}

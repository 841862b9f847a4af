"""Counted stock: rule P3 on what a count found, and the part of P13 on stock in store."""

from datetime import timedelta

import pytest

from service.errors import KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.measures.calendar import FOREVER, UseBy
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.stock import ALWAYS, Lot
from tests.kitchen.larder import MON, THU, TUE, WED, at, form, ingredient, item, kitchen, recipe, site
from tests.kitchen.plans import counted, counts

CALENDAR = site().calendar()
CATALOGUE = kitchen(
    ingredient("onion", form("dice", keeps="P1D")),
    ingredient("bones", keeps="P2D"),
    ingredient("salt"),
    recipe("soup", "20 L", portion="250 mL", keeps="P2D"),
    recipe("mash", "5 kg", keeps="PT4H"),
)


def lots(*found: Counted, catalogue: Catalogue = CATALOGUE) -> list[Lot]:
    """What of a count is on hand on Tuesday."""
    return list(counts(catalogue, site(), found, TUE).lots)


def test_p3_a_counted_lot_is_ready_always() -> None:
    (lot,) = lots(counted("recipe soup", "3 L", at(TUE, "20:00"), TUE))
    assert lot.ready == ALWAYS
    assert lot.amount == 3000


def test_p3_days_count_from_the_date_of_making() -> None:
    # Made on Monday and keeping two days: until the end of Wednesday, which is Thursday 04:00, excluded.
    (lot,) = lots(counted("recipe soup", "3 L", at(TUE, "05:00"), MON))
    assert lot.use_by == UseBy(at(THU, "04:00"), included=False)


def test_p3_without_a_date_of_making_days_count_from_the_business_date_of_the_count() -> None:
    # Counted at 02:00 of Tuesday, which is Monday's business date.
    (lot,) = lots(counted("recipe soup", "3 L", at(TUE, "02:00")))
    assert lot.use_by.moment == at(THU, "04:00")


def test_p3_hours_count_from_the_moment_of_counting_even_with_a_date_of_making() -> None:
    (lot,) = lots(counted("recipe mash", "2 kg", at(TUE, "05:00"), MON))
    assert lot.use_by == UseBy(at(TUE, "09:00"), included=True)


def test_p3_a_lot_whose_use_by_is_before_the_first_date_is_not_on_hand() -> None:
    # Dice keeps one day: made on Sunday it is past at Tuesday's beginning, made on Monday it serves all of Tuesday.
    assert lots(counted("onion/dice", "2 kg", at(MON, "20:00"), MON - timedelta(days=1))) == []
    (lot,) = lots(counted("onion/dice", "2 kg", at(MON, "20:00"), MON))
    assert lot.use_by.moment == at(WED, "04:00")


def test_p3_a_use_by_at_the_very_beginning_of_the_first_date_counts_if_it_is_included() -> None:
    # Mash counted at midnight serves until 04:00 included, when Tuesday begins; counted a minute before, it does not.
    assert len(lots(counted("recipe mash", "2 kg", at(TUE, "00:00")))) == 1
    assert lots(counted("recipe mash", "2 kg", at(MON, "23:59"))) == []


def test_p3_the_keeping_time_is_that_of_the_version_in_force_when_it_was_made() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", keeps="P1D"),
        recipe("soup", "20 L", number=2, starts_on=TUE, keeps="P5D"),
    )
    (old,) = lots(counted("recipe soup", "3 L", at(TUE, "05:00"), MON), catalogue=catalogue)
    assert (old.version, old.use_by.moment) == (1, at(WED, "04:00"))
    (new,) = lots(counted("recipe soup", "3 L", at(TUE, "05:00"), TUE), catalogue=catalogue)
    assert (new.version, new.use_by.moment) == (2, CALENDAR.end(TUE + timedelta(days=5)))


def test_p3_a_lot_made_before_any_version_was_in_force_is_taken_for_the_first() -> None:
    catalogue = kitchen(recipe("soup", "20 L", keeps="P3D", starts_on=THU))
    (lot,) = lots(counted("recipe soup", "3 L", at(TUE, "05:00"), MON), catalogue=catalogue)
    assert (lot.version, lot.use_by.moment) == (1, CALENDAR.end(THU))


def test_p3_an_ingredient_that_states_no_keeping_time_keeps_and_one_that_does_does_not() -> None:
    (salt,) = lots(counted("salt", "2 kg", at(MON, "05:00")))
    assert salt.use_by == FOREVER
    (bones,) = lots(counted("bones", "2 kg", at(MON, "20:00"), MON))
    assert bones.use_by.moment == CALENDAR.end(WED)


def test_p13_stock_in_store_is_no_lot() -> None:
    assert lots(counted("salt", "2 kg", at(MON, "20:00"), in_store=True)) == []


def test_p3_a_count_of_nothing_is_no_lot() -> None:
    assert lots(counted("salt", "0 kg", at(MON, "20:00"))) == []


def test_p3_a_count_in_portions_is_kept_in_the_recipes_kind() -> None:
    (lot,) = lots(counted("recipe soup", "4 portion", at(TUE, "05:00")))
    assert lot.amount == 1000


def test_p3_a_count_of_something_gone_from_the_catalogue_is_told() -> None:
    with pytest.raises(KitchenError, match="leek was counted"):
        lots(counted("leek", "2 kg", at(TUE, "05:00")))


def test_p3_a_count_keeps_the_item_it_was_of() -> None:
    (lot,) = lots(counted("onion/dice", "2 kg", at(TUE, "05:00")))
    assert lot.item == item("onion/dice")
    assert lot.version is None

"""Kept dates: a closed date that was stored is the same closed date (P15)."""

from dataclasses import replace
from datetime import date

from service.kitchen.lists.kept import freeze_closed, thaw_closed
from service.kitchen.measures.calendar import FOREVER
from service.kitchen.planning.past import Closed
from service.kitchen.planning.stock import ALWAYS, Lot, PastRun
from tests.kitchen.larder import MON, TUE, WED, at, form, ingredient, item, kitchen, recipe, site
from tests.kitchen.reports import stored

CALENDAR = site().calendar()
KITCHEN = kitchen(ingredient("salt"), ingredient("onion", form("dice")), recipe("soup", "10 L", keeps="P1D"))
MADE = PastRun(
    "make.mill-street.soup.2026-12-01T1200",
    frozenset({"make.mill-street.stew.2026-12-01T1800"}),
    (frozenset({"milk"}), frozenset({"egg", "soy"})),
)
LOTS = (
    Lot(
        item=item("recipe soup"),
        amount=10_000 / 3,
        ready=at(TUE, "12:00"),
        use_by=CALENDAR.use_by_date(TUE, 1),
        version=2,
        made=TUE,
        source=MADE,
        done=at(TUE, "11:40"),
    ),
    Lot(
        item=item("onion/dice"),
        amount=1_250.0,
        ready=ALWAYS,
        use_by=CALENDAR.use_by_date(TUE, 0)._replace(included=True),
        version=None,
        made=TUE,
        done=at(TUE, "08:00"),
    ),
    Lot(item=item("salt"), amount=0.1 + 0.2, done=at(TUE, "08:00")),
)
CLOSED = Closed(
    on=TUE,
    lots=LOTS,
    store=(Lot(item=item("salt"), amount=25_000.0, made=TUE, done=at(TUE, "08:00")),),
    expired=(replace(LOTS[1], use_by=CALENDAR.use_by_date(MON, 0), made=MON),),
    counted={item("salt"): at(TUE, "08:00"), item("onion/dice"): at(TUE, "08:00"), item("recipe soup"): at(WED, "01:30")},
)


def kept(closed: Closed, on: date = TUE) -> Closed:
    return thaw_closed(stored(freeze_closed(closed)), on, KITCHEN)


def test_p15_a_closed_date_that_was_stored_is_the_same() -> None:
    assert LOTS[2].use_by == FOREVER
    assert kept(CLOSED) == CLOSED
    assert kept(kept(CLOSED)) == CLOSED


def test_p15_a_closed_date_is_of_its_own_date_whatever_its_lots_are_of() -> None:
    assert kept(CLOSED, WED).on == WED


def test_p15_a_date_that_left_nothing_is_kept_as_such() -> None:
    assert kept(Closed(on=TUE)) == Closed(on=TUE)


def test_p15_a_lot_of_something_that_was_removed_since_is_left_out() -> None:
    without = kitchen(ingredient("onion", form("dice")), recipe("soup", "10 L", keeps="P1D"))
    known = thaw_closed(stored(freeze_closed(CLOSED)), TUE, without)
    assert known.lots == CLOSED.lots[:2]
    assert known.store == ()
    # A form may go as well.
    formless = kitchen(ingredient("onion"), ingredient("salt"), recipe("soup", "10 L", keeps="P1D"))
    assert thaw_closed(stored(freeze_closed(CLOSED)), TUE, formless).lots == (CLOSED.lots[0], CLOSED.lots[2])


def test_h2_a_date_that_an_older_release_closed_tells_of_nothing_past_its_use() -> None:
    document = stored(freeze_closed(CLOSED))
    del document["expired"]
    assert thaw_closed(document, TUE, KITCHEN) == replace(CLOSED, expired=())

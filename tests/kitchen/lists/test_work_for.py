"""Everything that the guests of a date, or of an event, hang on, day by day (P7, P11, P14)."""

from datetime import date, datetime, time

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item, ItemWithTitle
from service.kitchen.lists.prep_list import Asked
from service.kitchen.lists.work_for import WorkFor, work_for
from service.kitchen.planning.guests import Event, Forecast
from tests.kitchen.larder import FRI, THU, TUE, WED, at, form, ingredient, kitchen, line, menu_item, only_site, recipe, step
from tests.kitchen.plans import counted, forecast, plan_forecasts

GALA = Event("gala", time(19))
STOCK = [counted("recipe jus", "5 L", at(TUE, "05:00"))]


def banquets() -> Catalogue:
    """Roasts of meat that thaws for two days and is brined for one, with onions; bread beside them for lunch alone."""
    return kitchen(
        ingredient("meat", thaw="P2D"),
        ingredient("onion", form("dice")),
        ingredient("flour"),
        recipe("roast", "1 kg", line("meat", "1 kg", 1), line("onion/dice", "100 g", 2), steps=[step("PT10M", "P1D"), step("PT1H")]),
        recipe("bread", "1 kg", line("flour", "1 kg"), steps=[step("PT1H")]),
        recipe("jus", "1 L", keeps="P6D"),
        menu_item("banquet", ("roast", "200 g"), ("jus", "50 mL")),
        menu_item("toast", ("bread", "100 g")),
    )


WANTS = [forecast(FRI, "banquet", 40, "dinner", event=GALA), forecast(FRI, "toast", 30), forecast(THU, "toast", 20)]


def told(event: str | None, on: date = FRI, wants: list[Forecast] = WANTS, quarter: datetime | None = None) -> WorkFor:
    catalogue = banquets()
    planned = plan_forecasts(catalogue, wants, STOCK, on=on)
    asked = Asked(on=on, system="metric")
    return work_for(planned, catalogue, only_site(catalogue), asked, event, lambda day: quarter if day == TUE else None)


def named(reference: ItemWithTitle) -> str:
    """An item as the larder words it."""
    return Item.read(reference).label


def shown(found: WorkFor) -> dict[str, list[str]]:
    """The items of the work, tasks first, by date."""
    return {
        day["date"]: [
            *(named(task["item"]) for station in day["stations"] for task in station["tasks"]),
            *(named(pull["item"]) for pull in day["pulls"]),
        ]
        for day in found["days"]
    }


def test_p11_an_events_work_is_told_day_by_day_and_nothing_else() -> None:
    # Served on Friday at 19:00: brined from Thursday at 17:50, thawed from Tuesday at 17:50; the jus is in the kitchen.
    assert shown(told("gala")) == {
        "2026-12-01": ["meat"],
        "2026-12-03": ["roast"],
        "2026-12-04": ["onion/dice", "roast", "jus", "onion"],
    }


def test_p11_a_dates_work_is_that_of_all_its_guests() -> None:
    found = shown(told(None))
    assert found["2026-12-04"] == ["onion/dice", "bread", "roast", "jus", "flour", "onion"]
    assert shown(told(None, THU))["2026-12-03"] == ["bread", "flour"]


def test_p11_an_event_that_nobody_expects_has_no_work() -> None:
    assert (shown(told("wedding")), told("wedding")["cautions"]) == ({}, [])


def test_p11_an_event_that_nobody_expects_is_warned_of_with_those_that_somebody_pushed() -> None:
    told_of = "nobody has pushed guests of the event gahla for 2026-12-04, but of gala"
    assert told("gahla")["warnings"] == [{"code": "unknown_event", "detail": told_of}]
    assert told("gala")["warnings"] == told(None)["warnings"] == []


def test_p7_what_is_overdue_today_is_told_here_too() -> None:
    overdue = [pull["overdue"] for pull in told("gala", quarter=at(TUE, "18:00"))["days"][0]["pulls"]]
    assert overdue == [True]
    assert WED.isoformat() not in shown(told(None))

"""What a site states of its machines and cooks: the parts of rules K1, K2, K4 and K7 that no plan is needed for."""

from datetime import date, datetime
from typing import Any

from service.kitchen.book.capacity import read_capacity, read_equipment
from service.kitchen.book.site import Site
from tests.kitchen.larder import MON, SAT, TUE, quantity, recipe, site


def machines(code: str, count: int = 1, *loads: str) -> dict[str, Any]:
    return {
        "equipment": code,
        "count": count,
        "load": [quantity(each) for each in loads],
        "turn_round": "PT10M",
        "shared": False,
    }


def shift(name: str, hours: str, *stations: str, weekdays: tuple[int, ...] = (1, 2, 3, 4, 5)) -> dict[str, Any]:
    starts, until = hours.split("-")
    return {"name": name, "stations": list(stations), "weekdays": list(weekdays), "from": starts, "until": until, "cooks": 2}


OVENS = site(equipment=[machines("deck-oven", 2, "8 tray", "24 each")], equipment_map={"combi-oven": "deck-oven", "deck-oven": "kiln"})
EARLY = site(shifts=[shift("Early", "06:00-14:00", "hot-line", "veg"), shift("Late", "14:00-22:00", "hot-line", weekdays=(6, 7))])


def test_k7_a_site_does_in_another_equipment_what_it_has_not() -> None:
    assert OVENS.machines("deck-oven") == OVENS.machines("combi-oven") == OVENS.equipment["deck-oven"]


def test_k1_equipment_that_a_site_does_not_list_sets_no_limit() -> None:
    assert OVENS.machines("kettle") is None
    assert site(equipment_map={"combi-oven": "deck-oven"}).machines("combi-oven") is None


def test_k4_the_first_load_that_converts_for_the_recipe_counts() -> None:
    oven = OVENS.equipment["deck-oven"]
    assert oven.load(recipe("pie", "10 each", equivalents=["1 tray = 6 each"]).conversions) == 48
    assert oven.load(recipe("pie", "10 each").conversions) == 24
    assert oven.load(recipe("soup", "10 L").conversions) is None
    assert site(equipment=[machines("kettle")]).equipment["kettle"].load(recipe("soup", "10 L").conversions) is None


def test_k1_only_stations_that_a_shift_names_have_hours() -> None:
    assert EARLY.staffed == {"hot-line", "veg"}
    assert site().staffed == set()


def names(place: Site, on: date, different: dict[str, Any] | None = None) -> list[str]:
    usual = {"shifts": None, "equipment": None, "note": ""}
    return [each.name for each in place.shifts_on(on, None if different is None else read_capacity({**usual, **different}))]


def test_k2_shifts_are_those_of_the_weekday_of_the_business_date() -> None:
    assert (names(EARLY, MON), names(EARLY, SAT)) == (["Early"], ["Late"])


def test_k2_the_capacity_of_a_date_says_its_shifts_or_leaves_them_as_usual() -> None:
    spare = {"name": "Spare", "stations": ["veg"], "from": "08:00", "until": "12:00", "cooks": 1}
    assert names(EARLY, MON, {"shifts": [spare]}) == ["Spare"]
    assert names(EARLY, MON, {"shifts": []}) == []
    assert names(EARLY, MON, {"equipment": []}) == ["Early"]


def test_k7_the_capacity_of_a_date_says_how_many_machines_can_be_used() -> None:
    broken = read_capacity({"shifts": None, "equipment": [{"equipment": "deck-oven", "count": 1}], "note": ""})
    usual = read_capacity({"shifts": None, "equipment": None, "note": ""})
    found = [OVENS.machines("combi-oven", each) for each in (broken, usual)]
    assert [(each.count, len(each.loads)) for each in found if each] == [(1, 2), (2, 2)]
    assert OVENS.machines("kettle", broken) is None


def hours(starts: str, until: str, on: date = TUE) -> list[str]:
    place = site(time_zone="Europe/Paris", shifts=[shift("Bakers", f"{starts}-{until}", "bakery")])
    return [moment.astimezone(place.calendar().zone).strftime("%d %H:%M") for moment in place.shifts[0].hours(place.calendar(), on)]


def test_k2_a_shift_that_would_end_before_it_began_ends_on_the_next_business_date() -> None:
    assert hours("06:00", "14:00") == ["01 06:00", "01 14:00"]
    # Before day_starts, 04:00, it is still the same business date (T4).
    assert hours("18:00", "02:00") == ["01 18:00", "02 02:00"]
    assert hours("22:00", "06:00") == ["01 22:00", "02 06:00"]
    assert hours("02:00", "10:00") == ["02 02:00", "02 10:00"]
    assert hours("06:00", "06:00") == ["01 06:00", "02 06:00"]


def test_t3_the_hours_of_a_shift_are_those_of_the_clock() -> None:
    place = site(time_zone="Europe/Paris", shifts=[shift("Night", "22:00-06:00", "bakery")])
    starts, until = place.shifts[0].hours(place.calendar(), date(2026, 3, 28))
    assert (until - starts).seconds == 7 * 3600
    assert isinstance(starts, datetime)


def test_equipment_is_read_with_its_name_and_position() -> None:
    oven = read_equipment("deck-oven", {"name": "Deck oven", "position": 10})
    assert (oven.code, oven.name, oven.position) == ("deck-oven", "Deck oven", 10)

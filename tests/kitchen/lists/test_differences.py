"""What one list asks for that another did not: api §5 and §8."""

from decimal import Decimal
from typing import Any, cast

import pytest

from service.kitchen.lists.differences import entry_changes
from service.kitchen.lists.documents import PrepList

Json = dict[str, Any]


def quantity(amount: float | Decimal, display: str = "", unit: str = "g") -> Json:
    return {"amount": amount, "unit": unit, "display": display or f"{amount} {unit}"}


def entry(id_: str = "soup", amount: float = 10, **fields: Any) -> Json:
    return {"id": id_, "quantity": quantity(amount), "progress": None, **fields}


def document(*tasks: Json, pulls: tuple[Json, ...] = ()) -> PrepList:
    """As much of a list as a comparison looks at."""
    return cast(PrepList, {"stations": [{"code": "hot", "tasks": list(tasks)}], "pulls": list(pulls)})


def ids(old: PrepList, new: PrepList) -> tuple[list[str], list[str], list[str]]:
    """What is added, dropped and changed, by its id."""
    found = entry_changes(old, new)
    added, dropped = ([each["id"] for each in entries] for entries in (found["added"], found["dropped"]))
    return added, dropped, [each["id"] for each in found["changed"]]


UNCHANGED: tuple[list[str], ...] = ([], [], [])
CHANGED: tuple[list[str], ...] = ([], [], ["soup"])


class TestEntries:
    """What is added, dropped and changed."""

    def test_entries_are_added_dropped_and_changed_with_both(self) -> None:
        old = document(entry("soup"), entry("stew", 5), pulls=(entry("onion"),))
        new = document(entry("soup"), entry("stew", 6), entry("pie"), pulls=())
        assert ids(old, new) == (["pie"], ["onion"], ["stew"])
        (changed,) = entry_changes(old, new)["changed"]
        assert (changed["old"], changed["new"]) == ({"station": "hot", **entry("stew", 5)}, {"station": "hot", **entry("stew", 6)})

    @pytest.mark.parametrize(
        ("field", "old", "new"),
        [
            ("start_by", "10:00", "09:00"),
            ("version", 1, 2),
            ("version", None, 2),
            ("late", False, True),
            ("pieces", 2, 3),
            ("for", ["a"], ["a", "b"]),
            ("need", quantity(8), quantity(9)),
            ("need", quantity(1, unit="g"), quantity(1, unit="mL")),
            ("draw", [{"item": "onion", "quantity": quantity(8)}], [{"item": "onion", "quantity": quantity(9)}]),
            ("draw", [], [{"item": "onion", "quantity": quantity(9)}]),
        ],
    )
    def test_anything_that_is_asked_otherwise_is_a_change(self, field: str, old: Any, new: Any) -> None:
        before, after = ({**entry(), field: value} for value in (old, new))
        assert ids(document(before), document(after)) == CHANGED

    def test_another_station_is_a_change(self) -> None:
        old, new = document(entry()), document(entry())
        new["stations"][0]["code"] = "veg"
        assert ids(old, new) == CHANGED

    @pytest.mark.parametrize("field", ["progress", "stations", "overdue", "last_start", "at_risk"])
    def test_what_is_told_and_not_asked_for_is_no_change(self, field: str) -> None:
        assert ids(document({**entry(), field: "old"}), document({**entry(), field: "new"})) == UNCHANGED


class TestAmounts:
    """Amounts are equal that agree to 1e-9, or that no display tells apart."""

    @pytest.mark.parametrize(
        ("old", "new"),
        [
            # A print's numbers went through the store.
            (quantity(Decimal("3333.333333333"), "3.35 kg"), quantity(3333.333333334, "3.3 kg")),
            (quantity(Decimal(0), "0 g"), quantity(0.0, "0")),
            (quantity(3333.3, "3.35 kg"), quantity(3334.1, "3.35 kg")),
        ],
    )
    def test_what_no_display_tells_apart_is_no_change(self, old: Json, new: Json) -> None:
        assert ids(document(entry(need=old)), document(entry(need=new))) == UNCHANGED

    def test_what_a_display_tells_apart_is_a_change(self) -> None:
        old, new = quantity(3333.3, "3.35 kg"), quantity(3353.3, "3.4 kg")
        assert ids(document(entry(need=old)), document(entry(need=new))) == CHANGED


class TestReleases:
    """A print of an older release tells what that told, by its names."""

    def test_what_only_one_of_them_tells_is_no_change(self) -> None:
        old = entry(steps=[{"number": 1, "starts": "10:00", "safety": {"display": "74 °C"}}])
        new = entry(use_by_date=None, steps=[{"number": 1, "starts": "10:00", "set_to": None, "safety": {"display": "at least 74 °C"}}])
        assert ids(document(old), document(new)) == UNCHANGED
        new["steps"][0]["starts"] = "10:15"
        assert ids(document(old), document(new)) == CHANGED

    def test_work_that_was_named_by_its_date_is_the_work_that_is_named_by_its_hour(self) -> None:
        then = [f"make.quay.soup.2026-12-02{ordinal}.{stage}" for ordinal in ("", "-2") for stage in (1, 2)]
        now = [f"make.quay.soup.2026-12-02{hour}.{stage}" for hour in ("T1200", "T1800") for stage in (1, 2)]
        old = document(*(entry(id_, number) for number, id_ in enumerate(then, 1)), pulls=(entry("pull.quay.onion.2026-12-02"),))
        new = document(*(entry(id_, number) for number, id_ in enumerate(now, 1)), pulls=(entry("pull.quay.onion.2026-12-02T1100"),))
        assert ids(old, new) == UNCHANGED
        # Dinner's is not asked for any more, lunch's is another amount, and a third one is new.
        third = "make.quay.soup.2026-12-03T1200.1"
        new = document(entry(now[0], 7), entry(now[1], 2), entry(third), pulls=(entry("pull.quay.onion.2026-12-02T1100"),))
        assert ids(old, new) == ([third], then[2:], [now[0]])

    def test_two_runs_of_one_item_are_told_apart_by_their_ids(self) -> None:
        # Lunch's is dropped and dinner's is new: neither is of the first release.
        lunch, dinner = "make.quay.soup.2026-12-02T1200.1", "make.quay.soup.2026-12-02T1800.1"
        assert ids(document(entry(lunch)), document(entry(dinner))) == ([dinner], [lunch], [])


class TestSchedules:
    """What moved on two lists that both have a schedule (K17)."""

    def scheduled(self, starts: str, *, capacity: bool = True, **fields: Any) -> PrepList:
        load = {"number": 1, "starts": starts, "fits": True, "due": "a", "held": "b", "slack": "c", **fields}
        found = document(entry("soup", start_by=starts, loads=[load]))
        return cast(PrepList, {**found, "capacity": {}}) if capacity else found

    def test_a_load_that_moved_by_a_quarter_of_an_hour_or_less_is_where_it_was(self) -> None:
        old = self.scheduled("2026-12-01T08:05:00-06:00")
        assert ids(old, self.scheduled("2026-12-01T08:20:00-06:00")) == UNCHANGED
        assert ids(old, self.scheduled("2026-12-01T07:50:00-06:00")) == UNCHANGED
        assert ids(old, self.scheduled("2026-12-01T08:21:00-06:00")) == CHANGED
        assert ids(old, self.scheduled("2026-12-02T08:05:00-06:00")) == CHANGED

    def test_a_load_that_is_left_out_now_is_a_change(self) -> None:
        moment = "2026-12-01T08:05:00-06:00"
        assert ids(self.scheduled(moment), self.scheduled(moment, fits=False)) == CHANGED

    def test_who_has_it_and_how_it_lies_to_others_is_none(self) -> None:
        moment = "2026-12-01T08:05:00-06:00"
        assert ids(self.scheduled(moment), self.scheduled(moment, due="d", held="e", slack=None)) == UNCHANGED

    def test_without_a_schedule_every_minute_counts(self) -> None:
        old = self.scheduled("2026-12-01T08:05:00-06:00", capacity=False)
        assert ids(old, self.scheduled("2026-12-01T08:06:00-06:00")) == CHANGED
        assert ids(old, self.scheduled("2026-12-01T08:06:00-06:00", capacity=False)) == CHANGED

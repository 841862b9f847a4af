"""The window of a plan (P14): a longer one changes no list, and a later list is a slice of the one plan."""

from datetime import timedelta

from service.api.wire.json import render
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law


@law(kitchens())
def test_a_longer_window_changes_nothing_on_a_list(kitchen: Kitchen) -> None:
    for on in kitchen.dates:
        until = kitchen.reaches(on)
        listed = render(kitchen.listed(kitchen.plan(until), on))
        for more in (1, 11):
            assert render(kitchen.listed(kitchen.plan(until + timedelta(days=more)), on)) == listed


@law(kitchens())
def test_the_list_of_a_later_date_is_a_slice_of_the_same_plan(kitchen: Kitchen) -> None:
    dates = list(kitchen.dates)
    latest = kitchen.plan(kitchen.reaches(dates[-1]))
    for on in dates:
        assert render(kitchen.listed(latest, on)) == render(kitchen.listed(kitchen.plan(kitchen.reaches(on)), on))


@law(kitchens())
def test_reading_a_list_changes_no_other(kitchen: Kitchen) -> None:
    planned = kitchen.plan()
    forward = [render(kitchen.listed(planned, on)) for on in kitchen.dates]
    backward = [render(kitchen.listed(planned, on)) for on in reversed(list(kitchen.dates))]
    assert forward == backward[::-1]

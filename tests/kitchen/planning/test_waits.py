"""How long work may wait for its need by the hours of a site: rules K3 and P14."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from service.kitchen.book.capacity import Capacity
from service.kitchen.book.site import Site
from service.kitchen.planning.staffing import AS_USUAL, Staffing
from service.kitchen.planning.waits import Wait, Waits, without_hours
from tests.kitchen.larder import MON, SUN, WED, Document, kitchen, machines, menu_item, reading, recipe, shift, site, step
from tests.kitchen.plans import horizon_of

HOUR = 60 * 60
# Of what is needed within a minute.
PART = 59
DAYTIME = shift("hot-line", "06:00", "14:00")


def wait(where: Site, *steps: Document, different: Mapping[date, Capacity] = AS_USUAL, **fields: Any) -> Wait:
    """How long a recipe that keeps for long, unless said otherwise, may wait within a week."""
    version = recipe("soup", "10 L", steps=steps, **{"keeps": "P10D", **fields})
    return Waits(Staffing(where, different), MON, SUN).of_version(version)


def test_k3_the_longest_wait_is_from_the_end_of_a_shift_until_something_could_be_ready_again() -> None:
    found = wait(site(shifts=[DAYTIME]), step("PT1H"))
    # Ready at two, or at the earliest at seven of the next day: for 06:59 it waits longest.
    assert found == Wait(17 * HOUR - 60 + PART, ((HOUR, 18 * HOUR - 60 + PART),))


def test_k3_a_closing_day_makes_it_a_day_longer_and_one_at_another_time_nothing() -> None:
    where = site(shifts=[DAYTIME])
    longest = wait(where, step("PT1H")).early
    assert wait(where, step("PT1H"), different={WED: Capacity(shifts=())}).early == longest + 24 * HOUR
    assert wait(where, step("PT1H"), different={SUN + timedelta(days=3): Capacity(shifts=())}).early == longest


def test_k3_a_rest_may_be_as_long_or_as_short_as_it_may() -> None:
    rest = {"min": "PT1H", "target": "PT2H", "max": "PT5H"}
    early, before = wait(site(shifts=[shift("hot-line", "00:00", "00:00")]), step("PT1H", rest), step("PT30M"))
    assert early < HOUR
    assert before == ((int(2.5 * HOUR), int(6.5 * HOUR) + early), (HOUR // 2, HOUR // 2 + early))


def test_k3_what_must_be_emptied_by_somebody_waits_for_that() -> None:
    where = site(shifts=[DAYTIME], equipment=[machines("oven")])
    # In from one until two, out from six until seven of the next day.
    assert wait(where, step(None, "PT17H", equipment="oven")).early == 23 * HOUR - 60 + PART


def test_k1_without_a_limit_there_is_no_wait() -> None:
    version = recipe("soup", "10 L", steps=[step("PT90S", "PT1H", station="veg")])
    assert Waits(Staffing(site(shifts=[DAYTIME])), MON, SUN).of_version(version) == without_hours(version) == Wait(0, ((3690, 3690),))


def test_k3_what_never_has_a_place_is_at_its_lead() -> None:
    assert wait(site(shifts=[DAYTIME]), step("PT9H")) == Wait(0, ((9 * HOUR, 9 * HOUR),))


def test_k3_nothing_waits_longer_than_it_keeps() -> None:
    where = site(shifts=[shift("hot-line", "06:00", "14:00", weekdays=[1])])
    assert wait(where, step("PT1H"), keeps="PT4H").early == 4 * HOUR
    assert wait(where, step("PT1H"), keeps="P0D").early == 26 * HOUR
    assert wait(where, step("PT1H"), keeps="P10D").early > 6 * 24 * HOUR


def test_k3_a_pull_waits_for_anybody() -> None:
    where = site(shifts=[DAYTIME, shift("veg", "14:00", "20:00")])
    assert Waits(Staffing(where), MON, SUN).of_pull(timedelta(hours=3)) == (3 + 10) * HOUR - 60 + PART


def test_p14_a_list_looks_further_by_the_wait() -> None:
    def counts_before(*shifts: Document) -> str:
        soup = recipe("soup", "10 L", steps=[step("PT1H")], keeps="P3D")
        horizon = horizon_of(kitchen(soup, menu_item("bowl", ("soup", "1 L")), site(shifts=shifts)))
        return reading(horizon.moments[soup.item])

    # What Wednesday's guests eat begins on Wednesday, unless the cook is only there in the evening, of Tuesday then.
    assert counts_before() == "2026-12-02 04:00"
    assert counts_before(shift("hot-line", "18:00", "23:00")) == "2026-12-03 04:00"

"""How a run is cut into loads, and how long hands are needed for each (K4, K5)."""

from typing import Any

import pytest

from service.errors import TooManyLoads
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.capacity.loads import RunLoad, loads_of, prep_times
from service.kitchen.planning.runs import Run
from tests.kitchen.capacity.doable import minutes, staffed
from tests.kitchen.larder import TUE, form, ingredient, kitchen, line, machines, near, only_site, recipe, step
from tests.kitchen.plans import only_run, plan_needs, wanted


def bread(*steps: dict[str, Any], makes: str = "1 tray", batch: dict[str, str] | None = None, tray: str = "1") -> Version:
    return recipe("bread", makes, equivalents=[f"1 tray = {tray} each"], steps=steps or [step(None, "PT1H", equipment="oven")], batch=batch)


def run_of(made: Version, amount: float, *equipment: dict[str, Any]) -> tuple[Catalogue, Run]:
    catalogue = kitchen(made, staffed(equipment=equipment))
    planned = plan_needs(catalogue, [wanted(f"recipe {made.recipe}", amount, TUE, "12:00")])
    return catalogue, only_run(planned, f"recipe {made.recipe}")


def loads(made: Version, amount: float, *equipment: dict[str, Any]) -> list[RunLoad]:
    catalogue, run = run_of(made, amount, *equipment)
    return list(loads_of(run, catalogue, only_site(catalogue)))


def quantities(made: Version, amount: float, *equipment: dict[str, Any]) -> list[float]:
    return [load.quantity for load in loads(made, amount, *equipment)]


def hands(made: Version, found: list[RunLoad]) -> list[object]:
    return [made.steps[0].hands_on(load.quantity, load.batches, made.conversions) for load in found]


WHOLE_TRAYS = {"multiple": "1 tray"}
SIX = {"multiple": "1 tray", "largest": "6 tray"}
TWELVE = {"multiple": "1 tray", "largest": "12 tray"}


@pytest.mark.parametrize(
    ("batch", "amount", "load", "expected"),
    [
        (WHOLE_TRAYS, 22, "8 tray", [8, 8, 6]),
        (SIX, 22, "6 tray", [6, 6, 5, 5]),
        (SIX, 22, "12 tray", [12, 10]),
        (TWELVE, 36, "8 tray", [8, 8, 8, 8, 4]),
    ],
)
def test_full_loads_first_and_whole_batches_together(batch: dict[str, str], amount: float, load: str, expected: list[float]) -> None:
    """W9."""
    assert quantities(bread(batch=batch), amount, machines("oven", 1, load)) == near(expected)


def test_without_a_load_each_batch_is_one() -> None:
    """W9: three batches of 23.3333 L in a kettle."""
    soup = recipe("soup", "20 L", steps=[step(None, "PT1H", equipment="kettle")], batch={"largest": "30 L"})
    assert quantities(soup, 70_000, machines("kettle")) == near([70_000 / 3] * 3)


def test_a_load_is_in_whole_multiples() -> None:
    """W9: 50 of which 20 are a tray are two trays."""
    rolls = bread(batch=WHOLE_TRAYS, tray="20")
    assert quantities(rolls, 60, machines("oven", 1, "50 each")) == [40, 20]


def test_a_load_is_at_least_one_multiple() -> None:
    rolls = bread(batch=WHOLE_TRAYS, tray="20")
    assert quantities(rolls, 60, machines("oven", 1, "15 each")) == [20, 20, 20]


def test_the_smallest_load_of_its_steps_counts() -> None:
    """W9: 10 trays, 8 to a prover and 6 to an oven."""
    made = bread(step(None, "PT1H", equipment="prover"), step(None, "PT1H", equipment="oven"), batch=WHOLE_TRAYS)
    assert quantities(made, 10, machines("prover", 1, "8 tray"), machines("oven", 1, "6 tray")) == [6, 4]


def test_equipment_that_the_site_does_not_list_sets_no_limit() -> None:
    assert quantities(bread(batch=WHOLE_TRAYS), 22, machines("kettle", 1, "8 tray")) == [22]


def test_hands_are_needed_for_each_batch_of_a_load_and_for_its_part_of_one_that_is_cut() -> None:
    """W9."""
    made = bread(step("PT15M", "PT1H", equipment="oven"), batch=TWELVE)
    assert hands(made, loads(made, 36, machines("oven", 1, "8 tray"))) == [minutes(each) for each in (10, 10, 10, 10, 5)]
    made = bread(step("PT15M", "PT1H", equipment="oven"), batch=SIX)
    assert hands(made, loads(made, 22, machines("oven", 1, "12 tray"))) == [minutes(30), minutes(30)]


def test_hands_at_a_rate_are_set_up_for_every_load() -> None:
    """W9."""
    rate = {"set_up": "PT5M", "per": {"amount": 1, "unit": "tray"}, "time": "PT2M"}
    made = bread(step(rate, "PT1H", equipment="oven"), batch=WHOLE_TRAYS)
    assert hands(made, loads(made, 22, machines("oven", 1, "8 tray"))) == [minutes(each) for each in (21, 21, 17)]


def diced(amount: float, **fields: Any) -> tuple[Catalogue, Run]:
    rate = {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"}
    onion = ingredient("onion", form("small-dice", **{"active": rate, **fields}))
    soup = recipe("soup", "1 kg", line("onion/small-dice", "1 kg", step=1), steps=[step(None, "PT1H")])
    catalogue = kitchen(onion, soup, staffed())
    return catalogue, only_run(plan_needs(catalogue, [wanted("recipe soup", amount, TUE, "12:00")]), "onion/small-dice")


def test_making_ready_above_two_hours_is_cut_into_equal_loads_each_with_its_set_up() -> None:
    """W9: 23.5 kg of onion take 146 min; two loads of 76 min."""
    catalogue, run = diced(23_500)
    found = loads_of(run, catalogue, only_site(catalogue))
    assert [load.quantity for load in found] == near([11_750, 11_750])
    assert [prep_times(run, catalogue, load) for load in found] == [(minutes(76), minutes(0))] * 2


def test_making_ready_of_just_two_hours_is_one_load() -> None:
    catalogue, run = diced(115_000 / 6)
    (load,) = loads_of(run, catalogue, only_site(catalogue))
    assert prep_times(run, catalogue, load) == (minutes(120), minutes(0))


def test_making_ready_lasts_as_long_as_its_lead_hands_first() -> None:
    catalogue, run = diced(5_000, lead="PT4H")
    (load,) = loads_of(run, catalogue, only_site(catalogue))
    assert prep_times(run, catalogue, load) == (minutes(35), minutes(205))


def test_a_run_of_more_loads_than_can_be_scheduled_is_refused() -> None:
    with pytest.raises(TooManyLoads, match="5,000 loads"):
        loads(bread(batch=WHOLE_TRAYS), 40_008, machines("oven", 1, "8 tray"))

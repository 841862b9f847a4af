"""The food code: rule H1, which section and which figures hold for a kind of step and a class of food."""

import pytest

from service.kitchen.measures.calendar import write_duration
from service.kitchen.safety.foodcode import standard
from service.limits import SAFETY_CLASSES, SAFETY_KINDS
from tests.kitchen.larder import safety


def asked(kind: str, food: str | None = None, temperature: str | None = None) -> tuple[str, int | None, str | None]:
    """Section, temperature in degrees Fahrenheit, and time."""
    found = standard(safety(kind, food, temperature))
    degrees = None if found.temperature is None else int(found.temperature.fahrenheit)
    return (found.section, degrees, None if found.time is None else write_duration(found.time))


@pytest.mark.parametrize("kind", SAFETY_KINDS)
@pytest.mark.parametrize("food", [None, *SAFETY_CLASSES])
def test_h1_every_kind_of_step_and_class_of_food_has_its_section(kind: str, food: str | None) -> None:
    assert standard(safety(kind, food)).section.startswith("3-")


def test_h1_a_cooking_step_that_names_no_class_is_held_to_the_strictest() -> None:
    assert asked("cook") == asked("cook", "poultry") == ("3-401.11(A)(3)", 165, "PT0S")
    assert "No class of food" in str(standard(safety("cook")).note)


def test_h1_eggs_of_work_ahead_come_under_the_paragraph_of_pooled_eggs() -> None:
    assert asked("cook", "egg") == ("3-401.11(A)(2)", 155, "PT17S")


@pytest.mark.parametrize(
    ("temperature", "time"),
    [("145 degF", "PT3M"), ("149 degF", "PT3M"), ("150 degF", "PT1M"), ("68 degC", "PT17S"), ("70 degC", "PT0S"), ("90 degC", "PT0S")],
)
def test_h1_a_table_asks_for_the_time_of_the_hottest_row_not_above_the_stated_temperature(temperature: str, time: str) -> None:
    assert asked("cook", "ground", temperature)[2] == time


def test_h1_a_roast_that_states_nothing_takes_the_row_of_whole_cuts() -> None:
    assert asked("cook", "roast") == ("3-401.11(B)(2)", 145, "PT4M")


def test_h1_a_roast_between_two_rows_is_held_as_long_as_the_cooler_one() -> None:
    # 62 °C lies between the rows of 142 °F (61.1 °C, 8 min) and 144 °F (62.2 °C, 5 min).
    assert asked("cook", "roast", "62 degC")[2] == "PT8M"
    assert asked("cook", "roast", "62.2 degC")[2] == "PT5M"


def test_h1_time_as_control_is_six_hours_only_where_the_food_never_rises_above_70_f() -> None:
    assert asked("time_control") == ("3-501.19(B)", None, "PT4H")
    assert asked("time_control", None, "21 degC") == ("3-501.19(C)", None, "PT6H")
    assert asked("time_control", None, "71 degF") == ("3-501.19(B)", None, "PT4H")


def test_h1_thawing_above_the_cold_is_under_running_water_and_limited_in_time() -> None:
    assert asked("thaw") == ("3-501.13(A)", 41, None)
    assert asked("thaw", None, "5 degC") == ("3-501.13(A)", 41, None)
    assert asked("thaw", None, "6 degC") == ("3-501.13(B)", 70, "PT4H")


def test_h1_a_roast_may_be_held_hot_at_less_than_other_food() -> None:
    assert asked("hold_hot", "roast") == ("3-501.16(A)(1)", 130, None)
    assert asked("hold_hot", "poultry") == ("3-501.16(A)(1)", 135, None)

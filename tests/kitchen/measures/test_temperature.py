"""Temperatures: rule D2 on degrees of two scales."""

from decimal import Decimal

import pytest

from service.kitchen.measures.temperature import setting
from service.kitchen.measures.units import System


@pytest.mark.parametrize(
    ("amount", "unit", "metric", "us"),
    [
        ("180", "degC", "180 °C", "356 °F"),
        ("62.5", "degC", "62.5 °C", "145 °F"),
        ("350", "degF", "177 °C", "350 °F"),
        ("-18", "degC", "-18 °C", "0 °F"),
        # 27.5 °C are 81.5 °F: halves go up. 31.1 °F are half a degree below nothing.
        ("27.5", "degC", "27.5 °C", "82 °F"),
        ("31.1", "degF", "0 °C", "31.1 °F"),
    ],
)
def test_d2_a_setting_is_as_authored_and_in_the_other_scale_to_whole_degrees(amount: str, unit: str, metric: str, us: str) -> None:
    systems: list[System] = ["metric", "us"]
    assert [setting({"amount": Decimal(amount), "unit": unit}).shown(each)["display"] for each in systems] == [metric, us]

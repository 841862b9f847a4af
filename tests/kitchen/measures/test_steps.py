"""Steps: where floats decide how an amount is rounded, and where they leave it to exact arithmetic (D2, D3)."""

from fractions import Fraction

import pytest

from service.kitchen.measures.display import display
from service.kitchen.measures.steps import Rounded, clearly, exactly, rounded, tables
from service.kitchen.measures.units import Kind, System, factor


@pytest.mark.parametrize(
    ("amount", "kind", "system", "shown"),
    [
        (43.775, "mass", "metric", Rounded(Fraction(44), "g")),
        (998.0, "mass", "metric", Rounded(Fraction(1000), "kg")),
        (11_363.636, "volume", "metric", Rounded(Fraction(11_400), "L")),
        (1006.41, "mass", "us", Rounded(Fraction("35.5") * factor("oz"), "lb")),
        (160.0, "volume", "us", Rounded(factor("cup") * 2 / 3, "cup")),
        # A quarter ounce would err by 20 %, so that it is read in eighths.
        (8.9, "mass", "us", Rounded(factor("oz") * Fraction(5, 16), "oz")),
    ],
)
def test_d2_floats_decide_away_from_bounds_and_half_steps(amount: float, kind: Kind, system: System, shown: Rounded) -> None:
    step = clearly(amount, kind, system, critical=False)
    assert step is not None
    assert exactly(step) == shown == rounded(Fraction(str(amount)), tables(kind, system, critical=False))


@pytest.mark.parametrize("amount", [10.0, 9.95, 100.0, 102.5, 1000.0, 10_050.0])
def test_d3_floats_do_not_decide_at_a_bound_or_a_half_step(amount: float) -> None:
    assert clearly(amount, "mass", "metric", critical=False) is None
    assert clearly(amount * (1 + 1e-9), "mass", "metric", critical=False) is None


def test_d3_floats_do_not_decide_between_two_steps_that_come_about_equally_near() -> None:
    # 3 7/24 cups lie half way between 3 1/4 and 3 1/3; a hair more is nearer to 3 1/3.
    middle = float(factor("cup") * 79 / 24)
    assert clearly(middle, "volume", "us", critical=False) is None
    assert clearly(middle * (1 + 4e-9), "volume", "us", critical=False) is None
    assert display(middle, "volume", "us").text == "3 1/4 cup"
    assert display(middle * (1 + 4e-9), "volume", "us").text == "3 1/3 cup"

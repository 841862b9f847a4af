"""Steps: an amount in grains of a ladder, at and about bounds and half steps (D2, D3)."""

from fractions import Fraction

import pytest

from service.kitchen.measures.steps import ladder, measures, rounded
from service.kitchen.measures.units import Kind, System, factor


def in_units(amount: float, kind: Kind, system: System, *, up: bool = False) -> Fraction:
    """What an amount is rounded to, in g or mL."""
    on, grains = rounded(amount, ladder(kind, system), up=up)
    return grains * on.grain


@pytest.mark.parametrize(
    ("amount", "kind", "system", "told"),
    [
        (43.775, "mass", "metric", Fraction(44)),
        (998.0, "mass", "metric", Fraction(1000)),
        (11_363.636, "volume", "metric", Fraction(11_400)),
        (1006.41, "mass", "us", Fraction("35.5") * factor("oz")),
        (160.0, "volume", "us", factor("cup") * 2 / 3),
        # Too little for a portion scale, and for a spoon.
        (8.94, "mass", "us", Fraction("8.9")),
        (0.333, "volume", "us", Fraction("0.33")),
    ],
)
def test_d2_an_amount_is_a_whole_number_of_grains(amount: float, kind: Kind, system: System, told: Fraction) -> None:
    assert in_units(amount, kind, system) == told


@pytest.mark.parametrize("off", [0, 1e-10, -1e-10])
def test_d3_a_hair_about_a_half_step_or_a_bound_is_on_it(off: float) -> None:
    assert in_units(102.5 * (1 + off), "mass", "metric") == 105
    assert in_units(float(factor("oz")) * (1 + off), "mass", "us") == factor("oz")
    assert in_units(2.5 * (1 + off), "volume", "metric", up=True) == Fraction("2.5")


def test_d3_what_goes_up_is_never_short() -> None:
    assert in_units(2501, "mass", "metric", up=True) == 2550
    assert in_units(2501, "mass", "metric") == 2500
    assert in_units(0.001, "mass", "us", up=True) == Fraction(1, 100)


def test_d2_measures_take_an_amount_apart_from_the_largest_down() -> None:
    spoons = ladder("volume", "us")
    found = [(Fraction(taken, rung.size), rung.unit) for taken, rung in measures(spoons, 8 * (192 + 36 + 3) + 5)]
    assert found == [(1, "quart"), (Fraction(3, 4), "cup"), (1, "tbsp"), (Fraction(1, 2), "tsp"), (Fraction(1, 8), "tsp")]

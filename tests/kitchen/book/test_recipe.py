"""Recipe versions: rules S2, T1 and T2 as far as one version holds them."""

from datetime import timedelta
from fractions import Fraction

import pytest

from service.errors import WrongKind
from service.kitchen.book.recipe import Scaling, read_scaling
from service.kitchen.measures.units import Quantity
from tests.kitchen.larder import line, recipe, step

DOUBLE_THEN_HALF = Scaling("tested", points=((1, 1), (2, 2), (10, 6)))


def test_s2_a_linear_line_follows_the_factor() -> None:
    assert Scaling().multiple(2.5) == 2.5


def test_s2_a_per_batch_line_stays_whatever_the_factor() -> None:
    assert [Scaling("per_batch").multiple(factor) for factor in (0.1, 1, 7)] == [1, 1, 1]


def test_s2_a_power_line_follows_a_power_of_the_factor() -> None:
    # 4^0.5 = 2, and (70/60)^0.585 = e^(0.585 × 0.1541507) = e^0.0901782 = 1.0943692.
    assert Scaling("power", exponent=0.5).multiple(4) == pytest.approx(2, rel=1e-12)
    assert Scaling("power", exponent=0.585).multiple(70 / 60) == pytest.approx(1.0943692, rel=1e-7)


@pytest.mark.parametrize(
    ("factor", "multiple"),
    # "Double it, then add half the original for each further batch": from (2, 2) to (10, 6) the slope is 4 ÷ 8 = 0.5.
    [(1, 1), (2, 2), (3, 2.5), (4, 3), (6, 4), (10, 6)],
)
def test_s2_a_tested_line_is_linear_between_what_was_tried(factor: float, multiple: float) -> None:
    assert DOUBLE_THEN_HALF.multiple(factor) == pytest.approx(multiple, rel=1e-12)


def test_s2_below_the_first_tested_point_a_line_starts_from_nothing() -> None:
    # From (0, 0) to (2, 3) the slope is 1.5.
    assert Scaling("tested", points=((2, 3), (4, 4))).multiple(1) == pytest.approx(1.5, rel=1e-12)


def test_s2_beyond_the_last_tested_point_the_last_slope_holds_and_is_warned_of() -> None:
    assert DOUBLE_THEN_HALF.multiple(14) == pytest.approx(8, rel=1e-12)  # 6 + 4 × 0.5
    assert DOUBLE_THEN_HALF.beyond(10.1)
    assert not DOUBLE_THEN_HALF.beyond(10)
    assert not Scaling("power", exponent=0.5).beyond(1000)


def test_s2_one_tested_point_gives_the_slope_from_nothing() -> None:
    assert Scaling("tested", points=((2, 3),)).multiple(4) == pytest.approx(6, rel=1e-12)


def test_s2_a_rule_is_read_with_what_it_takes() -> None:
    assert read_scaling({"rule": "power", "exponent": "0.8"}) == Scaling("power", 0.8)
    assert read_scaling({"rule": "percent", "of": [1, 2]}) == Scaling("percent", of=(1, 2))
    assert read_scaling({"rule": "tested", "points": [[1, 1], ["2", "1.5"]]}) == Scaling("tested", points=((1, 1), (2, 1.5)))


def test_u2_a_portion_of_a_recipe_that_is_counted_is_each_one_unless_it_states_another() -> None:
    forty = Quantity(Fraction(40), "portion")
    assert recipe("roll", "12 each").conversions.to_stock(forty) == 40
    assert recipe("roll", "1 dozen", portion="2 each").conversions.to_stock(forty) == 80
    with pytest.raises(WrongKind, match="states no portion"):
        recipe("soup", "12 L").conversions.to_stock(forty)


def test_t2_the_lead_is_the_sum_of_active_and_passive_targets() -> None:
    # 15 min + (10 min + 1 h of a window from 50 to 90 min) + 12 h = 13 h 25 min.
    soup = recipe(
        "soup",
        "20 L",
        steps=[
            step("PT15M"),
            step("PT10M", {"min": "PT50M", "target": "PT1H", "max": "PT90M"}),
            step(None, "PT12H"),
        ],
    )
    assert soup.lead == timedelta(hours=13, minutes=25)


def test_t1_a_passive_window_keeps_its_least_and_its_most() -> None:
    (rest,) = recipe("steak", "1 kg", steps=[step(None, {"min": "PT40M", "target": "PT1H", "max": "PT2H"})]).steps
    assert (rest.passive.least, rest.passive.target, rest.passive.most) == (
        timedelta(minutes=40),
        timedelta(hours=1),
        timedelta(hours=2),
    )


def test_t2_a_recipe_without_steps_has_no_lead() -> None:
    assert recipe("salad", "5 kg", line("lettuce", "5 kg")).lead == timedelta(0)


BY_RATE = {"set_up": "PT5M", "per": {"amount": 1, "unit": "tray"}, "time": "PT100S"}


def test_t2_a_step_at_a_rate_counts_with_what_the_authored_yield_takes() -> None:
    # 24 rolls are 3 trays: 5 min + 3 x 100 s = 10 min, and an hour in the oven; of 20 rolls 9 min 10 s, up to 10.
    for authored in ("24 each", "20 each"):
        rolls = recipe("roll", authored, equivalents=["1 tray = 8 each"], steps=[step(BY_RATE, "PT1H")])
        assert rolls.lead == timedelta(minutes=70)
        assert rolls.steps[0].active == timedelta(minutes=10)


def test_k5_hands_on_time_of_a_load_is_that_of_its_batches_or_follows_its_rate() -> None:
    rolls = recipe("roll", "24 each", equivalents=["1 tray = 8 each"], steps=[step(BY_RATE), step("PT15M")])
    by_rate, by_batch = rolls.steps
    # 40 rolls are 5 trays: 5 min + 500 s = 13 min 20 s, up to 14; 2 1/2 batches of 15 min are 37 min 30 s, up to 38.
    assert by_rate.hands_on(40, 2.5, rolls.conversions) == timedelta(minutes=14)
    assert by_batch.hands_on(40, 2.5, rolls.conversions) == timedelta(minutes=38)


def test_k5_a_rate_that_means_nothing_of_the_recipe_is_read_with_its_set_up_alone() -> None:
    assert recipe("roll", "24 each", steps=[step(BY_RATE)]).lead == timedelta(minutes=5)
    assert recipe("roll", "24 tin", steps=[step(BY_RATE)]).lead == timedelta(minutes=5)


def test_k5_no_rate_comes_to_more_than_can_be_reckoned_with() -> None:
    endless = {"set_up": None, "per": {"amount": "0.000000001", "unit": "g"}, "time": "P14D"}
    assert recipe("roll", "1000 kg", steps=[step(endless)]).lead == timedelta(days=3650)


def test_k7_a_step_names_its_equipment_and_k14_a_recipe_how_long_it_may_be_held() -> None:
    pie = recipe("pie", "10 each", hold="PT2H", steps=[step("PT5M", equipment="deck-oven"), step("PT5M")])
    assert [each.equipment for each in pie.steps] == ["deck-oven", None]
    assert pie.hold == timedelta(hours=2)
    assert recipe("pie", "10 each").hold is None

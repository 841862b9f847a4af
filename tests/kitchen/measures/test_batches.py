"""Batches: rule S3, on plain numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.measures.batches import Batch, BatchSizes, in_batches, round_down, round_up

QUANTITIES = st.floats(min_value=0.01, max_value=100_000)


def sizes_of(batches: tuple[Batch, ...]) -> list[float]:
    """Every batch on its own."""
    return [batch.quantity for batch in batches for _ in range(batch.count)]


def test_s3_without_a_largest_batch_a_run_is_one_batch_of_the_quantity() -> None:
    assert in_batches(70.0, BatchSizes()) == (Batch(1, 70.0),)


def test_s3_equal_batches_are_as_few_as_fit_the_largest() -> None:
    # 70 ÷ 30 = 2.33: three batches, 70 ÷ 3 = 23.3333 each.
    (batch,) = in_batches(70.0, BatchSizes(largest=30.0))
    assert batch.count == 3
    assert batch.quantity == pytest.approx(23.3333333333, rel=1e-9)


def test_s3_full_batches_come_first_and_the_rest_last() -> None:
    # 70 = 30 + 30 + 10.
    assert in_batches(70.0, BatchSizes(largest=30.0, split="full")) == (Batch(2, 30.0), Batch(1, 10.0))


def test_s3_full_batches_without_a_rest_are_all_full() -> None:
    assert in_batches(90.0, BatchSizes(largest=30.0, split="full")) == (Batch(3, 30.0),)
    assert in_batches(90.00000001, BatchSizes(largest=30.0, split="full")) == (Batch(3, 30.0),)
    # A billionth of the quantity may be more than one of a batch: 3000.000002 is 3000 batches of 1, and none of 1.000002.
    assert in_batches(3000.000002, BatchSizes(largest=1.0, split="full")) == (Batch(3000, 1.0),)


def test_s3_a_run_that_fits_one_batch_is_that_batch_and_none_of_another_size() -> None:
    assert in_batches(20.0, BatchSizes(largest=30.0, split="full")) == (Batch(1, 20.0),)
    # Two multiples of 12 in a batch of at most two, dealt out or full; four are two batches alike.
    assert in_batches(24.0, BatchSizes(multiple=12.0, largest=24.0)) == (Batch(1, 24.0),)
    assert in_batches(20.0, BatchSizes(multiple=12.0, largest=30.0, split="full")) == (Batch(1, 24.0),)
    assert in_batches(48.0, BatchSizes(multiple=12.0, largest=24.0)) == (Batch(2, 24.0),)


def test_s3_the_quantity_is_first_rounded_up_to_whole_multiples() -> None:
    # 50 ÷ 12 = 4.17: five multiples, 60.
    assert in_batches(50.0, BatchSizes(multiple=12.0)) == (Batch(1, 60.0),)


def test_s3_equal_batches_of_multiples_get_whole_multiples_larger_ones_first() -> None:
    # Five multiples of 12 over batches of at most 2: three batches, 2 + 2 + 1 multiples.
    assert in_batches(50.0, BatchSizes(multiple=12.0, largest=24.0)) == (Batch(2, 24.0), Batch(1, 12.0))
    # Seven over at most three: three batches, 3 + 2 + 2.
    assert in_batches(84.0, BatchSizes(multiple=12.0, largest=36.0)) == (Batch(1, 36.0), Batch(2, 24.0))


def test_s3_full_batches_of_multiples_leave_the_rest_in_whole_multiples() -> None:
    # Seven multiples of 12, at most three a batch: 3 + 3 + 1.
    assert in_batches(80.0, BatchSizes(multiple=12.0, largest=36.0, split="full")) == (Batch(2, 36.0), Batch(1, 12.0))


def test_s3_the_largest_batch_is_floored_to_whole_multiples() -> None:
    # 30 holds two multiples of 12, so five multiples take three batches and none of them 30.
    assert BatchSizes(multiple=12.0, largest=30.0).fitting() == 24.0
    assert in_batches(60.0, BatchSizes(multiple=12.0, largest=30.0, split="full")) == (Batch(2, 24.0), Batch(1, 12.0))


def test_s3_a_largest_batch_of_whole_multiples_holds_them_all_whatever_decimals_make_of_them() -> None:
    # 0.3 is three times 0.1, and 2.1 three times 0.7; in binary, 0.3 / 0.1 and 3 * 0.7 / 0.7 fall short of 3, and 3 * 0.7 of 2.1.
    assert BatchSizes(multiple=0.1, largest=0.3).fitting() == pytest.approx(0.3, rel=1e-9)
    (batch,) = in_batches(2.1, BatchSizes(multiple=0.7, largest=2.1))
    assert batch.count == 1
    assert batch.quantity == pytest.approx(2.1, rel=1e-9)
    assert BatchSizes(multiple=0.1, smallest=0.3, largest=0.3).fits()
    assert BatchSizes(multiple=0.7, smallest=2.1, largest=2.1).fits()


def test_s3_a_batch_under_the_smallest_is_raised_to_it() -> None:
    assert in_batches(4.0, BatchSizes(smallest=15.0)) == (Batch(1, 15.0),)
    # The rest of 70 after two full batches is 10; it is raised to 15, and the run makes 75.
    assert in_batches(70.0, BatchSizes(largest=30.0, smallest=15.0, split="full")) == (Batch(2, 30.0), Batch(1, 15.0))
    # Equal batches are raised too: 32 over two batches would be 16 each.
    assert in_batches(32.0, BatchSizes(largest=30.0, smallest=20.0)) == (Batch(2, 20.0),)


def test_s3_the_smallest_is_looked_at_after_the_cut() -> None:
    # Raising 32 to whole batches of 20 first would give 40 and two batches of 20 only by chance; 61 shows the order:
    # three batches of 20.33, none of them under the smallest.
    assert sizes_of(in_batches(61.0, BatchSizes(largest=30.0, smallest=20.0))) == pytest.approx([61 / 3] * 3, rel=1e-9)


@pytest.mark.parametrize(("number", "whole"), [(3.0000000001, 3), (3.0, 3), (2.9999999999, 3), (3.00000001, 4), (3.1, 4), (0.2, 1)])
def test_s3_rounding_up_tolerates_a_billionth(number: float, whole: int) -> None:
    assert round_up(number) == whole


@pytest.mark.parametrize(("number", "whole"), [(2.9999999999, 3), (3.0, 3), (3.0000000001, 3), (2.99999999, 2), (2.9, 2), (0.2, 0)])
def test_s3_rounding_down_tolerates_a_billionth(number: float, whole: int) -> None:
    assert round_down(number) == whole


def test_s3_the_tolerance_is_relative() -> None:
    # A billionth of three million is 0.003.
    assert round_up(3_000_000.002) == 3_000_000
    assert round_up(3_000_000.004) == 3_000_001
    assert round_down(2_999_999.998) == 3_000_000
    assert round_down(2_999_999.996) == 2_999_999
    # A smallest batch of a million and 0.0005 multiples is in whole ones, one of a million and 0.005 is not.
    assert BatchSizes(multiple=1, smallest=1_000_000.0005).fits()
    assert not BatchSizes(multiple=1, smallest=1_000_000.005).fits()


def test_s3_the_tolerance_includes_a_billionth_itself() -> None:
    # A half is a billionth of five hundred million.
    assert round_up(500_000_000.5) == 500_000_000


def test_s3_nothing_asks_for_no_batch() -> None:
    assert round_up(0.0) == 0


@pytest.mark.parametrize("least", [1e-12, 1e-300])
def test_s3_a_positive_need_is_at_least_one_batch(least: float) -> None:
    assert round_up(least) == 1
    assert in_batches(least, BatchSizes(multiple=12.0)) == (Batch(1, 12.0),)
    assert in_batches(least, BatchSizes(largest=30.0)) == (Batch(1, least),)


def test_s3_a_hair_over_full_batches_asks_for_no_further_batch() -> None:
    assert in_batches(90.00000001, BatchSizes(largest=30.0))[0].count == 3
    assert in_batches(36.00000001, BatchSizes(multiple=12.0)) == (Batch(1, 36.0),)


@pytest.mark.parametrize(
    ("sizes", "fits"),
    [
        (BatchSizes(), True),
        (BatchSizes(multiple=12, smallest=12, largest=12), True),
        (BatchSizes(multiple=12, smallest=24, largest=30), True),
        (BatchSizes(multiple=12, smallest=24, largest=23), False),
        (BatchSizes(multiple=12, smallest=18, largest=36), False),
        (BatchSizes(multiple=12, smallest=6), False),
        (BatchSizes(multiple=12, largest=11), False),
        (BatchSizes(smallest=20, largest=19), False),
        (BatchSizes(smallest=20, largest=20), True),
        # The largest is floored to whole multiples before it is compared: 30 holds 24, less than the smallest of 30.
        (BatchSizes(multiple=12, smallest=36, largest=47), True),
        (BatchSizes(multiple=10, smallest=30, largest=29), False),
    ],
)
def test_s3_multiple_smallest_and_largest_rise_and_the_smallest_is_in_whole_multiples(sizes: BatchSizes, fits: bool) -> None:  # noqa: FBT001 - a column of the table
    assert sizes.fits() is fits


@given(QUANTITIES, st.floats(min_value=1, max_value=500), st.sampled_from(["equal", "full"]))
def test_s3_batches_make_the_quantity_and_none_is_over_the_largest(quantity: float, largest: float, split: str) -> None:
    batches = sizes_of(in_batches(quantity, BatchSizes(largest=largest, split=split)))
    assert sum(batches) == pytest.approx(quantity, rel=2e-9)
    assert all(0 < size <= largest * (1 + 2e-9) for size in batches)
    assert len(batches) == round_up(quantity / largest)


@given(QUANTITIES, st.integers(1, 40), st.integers(1, 9), st.sampled_from(["equal", "full"]))
def test_s3_batches_of_multiples_are_whole_enough_and_as_few_as_can_be(quantity: float, multiple: int, most: int, split: str) -> None:
    sizes = BatchSizes(multiple=float(multiple), largest=float(multiple * most), split=split)
    batches = sizes_of(in_batches(quantity, sizes))
    multiples = round_up(quantity / multiple)
    assert sum(batches) == multiples * multiple
    assert all(size % multiple == 0 and multiple <= size <= multiple * most for size in batches)
    assert batches == sorted(batches, reverse=True)
    assert len(batches) == -(-multiples // most)
    if split == "equal":
        assert batches[0] - batches[-1] <= multiple

"""Vessels: the part of rule S3 that joins a recipe's batch rule with a site's vessel."""

from service.kitchen.book.vessels import batch_sizes
from tests.kitchen.larder import recipe, site


def test_s3_a_vessel_smaller_than_the_largest_batch_takes_its_place() -> None:
    soup = recipe("soup", "20 L", batch={"largest": "30 L"})
    sizes, left_out = batch_sizes(soup, site(vessels={"soup": "25 L"}))
    assert (sizes.largest, left_out) == (25_000.0, False)


def test_s3_a_vessel_larger_than_the_largest_batch_changes_nothing() -> None:
    soup = recipe("soup", "20 L", batch={"largest": "30 L"})
    sizes, left_out = batch_sizes(soup, site(vessels={"soup": "60 L"}))
    assert (sizes.largest, left_out) == (30_000.0, False)


def test_s3_a_vessel_is_the_limit_where_the_recipe_states_none() -> None:
    soup = recipe("soup", "20 L")
    assert batch_sizes(soup, site(vessels={"soup": "25 L"}))[0].largest == 25_000.0
    assert batch_sizes(soup, site())[0].largest is None
    assert batch_sizes(soup, None)[0].largest is None


def test_s3_a_vessel_crosses_kinds_by_the_recipes_own_equivalents() -> None:
    # 1 L of soup weighs 1.05 kg, so a kettle of 21 kg holds 20 L.
    soup = recipe("soup", "20 L", equivalents=["1 L = 1.05 kg"])
    largest = batch_sizes(soup, site(vessels={"soup": "21 kg"}))[0].largest
    assert largest is not None
    assert abs(largest - 20_000) < 1e-6


def test_s3_a_counted_yield_has_a_multiple_of_one_unless_it_says_so() -> None:
    assert recipe("scone", "12 each").own_sizes.multiple == 1.0
    assert recipe("scone", "12 each", batch={"multiple": "6 each"}).own_sizes.multiple == 6.0
    assert recipe("soup", "20 L").own_sizes.multiple is None


def test_s3_a_vessel_that_breaks_the_batch_rule_is_left_out() -> None:
    soup = recipe("soup", "20 L", batch={"smallest": "10 L", "largest": "30 L"})
    sizes, left_out = batch_sizes(soup, site(vessels={"soup": "8 L"}))
    assert (sizes.largest, left_out) == (30_000.0, True)


def test_s3_a_vessel_in_a_measure_that_the_version_does_not_know_is_left_out() -> None:
    soup = recipe("soup", "20 L", batch={"largest": "30 L"})
    sizes, left_out = batch_sizes(soup, site(vessels={"soup": "2 kettle"}))
    assert (sizes.largest, left_out) == (30_000.0, True)

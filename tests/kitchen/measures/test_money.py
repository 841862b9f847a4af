"""Money is decimal, exact until it is written, and written with two to four decimals (C2)."""

from decimal import Decimal
from fractions import Fraction

import pytest

from service.kitchen.measures.money import Money, read_money, write_decimal


def test_money_is_read_as_the_decimal_it_was_written_as() -> None:
    assert read_money({"amount": "12.4000", "currency": "USD"}) == Money(Decimal("12.4"), "USD")
    assert read_money(None) is None


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        ("0", "0.00"),
        ("12.4", "12.40"),
        ("12.3456", "12.3456"),
        ("12.34565", "12.3457"),
        ("12.345649999", "12.3456"),
        ("-1.5", "-1.50"),
        ("-0.00001", "0.00"),
        ("1234567890123456789012345678901234567890.00005", "1234567890123456789012345678901234567890.0001"),
    ],
)
def test_c2_money_is_rounded_once_when_it_is_written_halves_away_from_zero(amount: str, text: str) -> None:
    assert Money(Decimal(amount), "EUR").document() == {"amount": text, "currency": "EUR"}


def test_c2_an_exact_third_stays_a_third_to_sixty_digits() -> None:
    third = Money.of(Fraction(1, 3), "EUR")
    assert abs(3 * third.exact - 1) < Fraction(1, 10**59)
    assert write_decimal(third.amount) == "0.3333"


def test_a_whole_number_needs_no_decimals() -> None:
    assert write_decimal(Fraction(7)) == "7"

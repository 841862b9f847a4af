"""Amounts: numbers as authored, read exactly and written back.

Responsible for what an amount may be written as (U4, U7). Refuses to know units.
"""

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, cast

from service.errors import BadAmount
from service.limits import AMOUNT, DECIMALS, FRACTION_PART, TOLD_AMOUNT

_AMOUNT_TEXT: Final = re.compile(r"(?P<decimal>[0-9]+(?:\.[0-9]+)?)|(?:(?P<whole>[0-9]+) )?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)")
_FINEST: Final = Decimal(1).scaleb(-DECIMALS)
_HOW: Final = 'write a number such as 2 or 2.5, or a text such as "1/3" or "2 1/2"'


def parse_amount(value: object, *, told: bool = False) -> Fraction:
    """The exact amount that a number or a text states (U4): 0 < amount ≤ 1e7, of at most nine decimals.

    What a kitchen has ``told`` of stock and work is 0 to 1e12; a number of more decimals is rounded to nine.

    Raises BadAmount, whose detail says what to write.

    >>> parse_amount("2 1/2"), parse_amount(0.1)
    (Fraction(5, 2), Fraction(1, 10))
    """
    if isinstance(value, bool):
        raise BadAmount(f"true and false are no amounts: {_HOW}")
    if isinstance(value, float):
        value = Decimal(float.__repr__(value))
    if not isinstance(value, (int, Decimal, str)):
        raise BadAmount(f"this is no amount: {_HOW}")
    if isinstance(value, Decimal) and not value.is_finite():
        raise BadAmount(f"NaN and infinity are no amounts: {_HOW}")
    return _read(value, told)


# Whoever checks a document and whoever reckons with it read the same amounts, most of which stand in many documents.
@lru_cache(maxsize=8_192)
def _read(value: int | Decimal | str, told: bool) -> Fraction:  # noqa: FBT001 - remembered by position
    """The amount of what may state one; raises BadAmount."""
    most = int(TOLD_AMOUNT.most if told else AMOUNT.most)
    if isinstance(value, str):
        amount = _read_text(value, most)
    elif isinstance(value, int):
        amount = Fraction(value)
    else:
        amount = _read_decimal(value, most, rounded=told)
    if amount > most:
        raise BadAmount(f"an amount is at most {most}: write it in a larger unit", "out_of_range")
    if amount < 0 or (amount == 0 and not told):
        raise BadAmount(f"an amount is {'0 or more' if told else 'more than 0'}: {_HOW}", "out_of_range")
    return amount


def _read_decimal(value: Decimal, most: int, *, rounded: bool = False) -> Fraction:
    """The exact value of a finite decimal; refused before it is expanded, so that 1e999999 costs nothing."""
    if value == 0:
        return Fraction(0)
    if value.adjusted() > Decimal(most).adjusted():
        raise BadAmount(f"an amount is at most {most}, and not negative: write it in a larger unit", "out_of_range")
    if rounded:
        return Fraction(value.quantize(_FINEST))
    _, digits, exponent = value.as_tuple()
    trailing_zeros = len(digits) - len(bytes(digits).rstrip(b"\0"))
    if cast(int, exponent) + trailing_zeros < -DECIMALS:
        raise BadAmount(f'an amount has at most {DECIMALS} decimals: round it, or write a fraction such as "1/3"', "out_of_range")
    return Fraction(value)


def _read_text(text: str, most: int) -> Fraction:
    """The value of ``2``, ``2.5``, ``1/3`` or ``2 1/2``, in ASCII digits and with one blank before the fraction."""
    match = _AMOUNT_TEXT.fullmatch(text) if len(text) <= 64 else None
    if match is None:
        raise BadAmount(f"{text[:40]!r} is no amount: {_HOW}, in the digits 0 to 9 and with no sign or exponent")
    if match["decimal"]:
        return _read_decimal(Decimal(match["decimal"]), most)
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise BadAmount(f"a fraction is not over 0: {_HOW}", "out_of_range")
    if max(top, bottom) > FRACTION_PART:
        raise BadAmount(f"the parts of a fraction are at most {FRACTION_PART}: shorten it, or write a decimal", "out_of_range")
    if match["whole"] and top >= bottom:
        meant = write_amount(whole + Fraction(top, bottom))
        raise BadAmount(f"the fraction of a mixed number is under 1: write {text!r} as {meant!r}")
    return whole + Fraction(top, bottom)


def write_amount(amount: Fraction) -> str:
    """An amount as text that ``parse_amount`` reads back: a decimal where one is exact in 9 places, else a mixed number (U4).

    >>> write_amount(Fraction(5, 2)), write_amount(Fraction(4, 3))
    ('2.5', '1 1/3')
    """
    scaled = amount * 10**DECIMALS
    if scaled.denominator == 1:
        whole, decimals = divmod(scaled.numerator, 10**DECIMALS)
        return f"{whole}.{decimals:0{DECIMALS}d}".rstrip("0").rstrip(".")
    whole, top = divmod(amount.numerator, amount.denominator)
    return f"{whole} {top}/{amount.denominator}" if whole else f"{top}/{amount.denominator}"

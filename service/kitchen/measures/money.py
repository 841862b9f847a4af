"""Money: a decimal amount of one currency.

Responsible for reading and writing it, and for the one place where it is rounded: when it is written
(domain C2). Refuses to know what costs it, and to change one currency into another.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import Any, Final

from service.limits import MONEY_DECIMALS

# Enough digits that an amount with a finite decimal of any sensible length is not rounded before it is written.
_CONTEXT: Final = Context(prec=60)


@dataclass(frozen=True, slots=True)
class Money:
    """An amount of a currency (ISO 4217)."""

    amount: Decimal
    currency: str

    @classmethod
    def read(cls, document: Mapping[str, Any]) -> "Money":
        """The money that ``{"amount", "currency"}`` states; its shape is already checked."""
        return cls(Decimal(str(document["amount"])), str(document["currency"]))

    @classmethod
    def of(cls, amount: Fraction, currency: str) -> "Money":
        """An exact amount as a decimal of 60 digits.

        >>> Money.of(Fraction(1136, 100), "EUR")
        Money(amount=Decimal('11.36'), currency='EUR')
        """
        return cls(to_decimal(amount), currency)

    @property
    def exact(self) -> Fraction:
        """The amount as an exact number."""
        return Fraction(self.amount)

    def document(self) -> dict[str, str]:
        """The money as the interface writes it."""
        return {"amount": write_decimal(self.exact, least=2), "currency": self.currency}


def read_money(document: Mapping[str, Any] | None) -> Money | None:
    """Money, or None where the document states none."""
    return None if document is None else Money.read(document)


def to_decimal(number: Fraction) -> Decimal:
    """A number as a decimal of 60 digits."""
    return _CONTEXT.divide(Decimal(number.numerator), Decimal(number.denominator))


def write_decimal(number: Fraction | Decimal, least: int = 0) -> str:
    """A number as a decimal text of at most four decimals, halves away from zero, and of at least ``least`` decimals.

    >>> write_decimal(Fraction(1240, 100), 2), write_decimal(Fraction(1, 3), 2), write_decimal(Fraction(-1, 20000))
    ('12.40', '0.3333', '-0.0001')
    """
    top, bottom = abs(Fraction(number)).as_integer_ratio()
    scaled = (2 * top * 10**MONEY_DECIMALS + bottom) // (2 * bottom)
    whole, rest = divmod(scaled, 10**MONEY_DECIMALS)
    decimals = f"{rest:0{MONEY_DECIMALS}d}".rstrip("0").ljust(least, "0")
    sign = "-" if number < 0 and scaled else ""
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"

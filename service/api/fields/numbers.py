"""Numbers and money.

Responsible for ranges and for exactness: a number is an int or a Decimal as authored, money is a
decimal text. Refuses to guess: a text is no number, a number is no money.
"""

import re
from decimal import Decimal
from typing import Any, ClassVar

from service.api.fields.faults import flaw
from service.api.fields.shape import Field
from service.limits import MONEY, MONEY_DECIMALS, Span

MONEY_TEXT = re.compile(rf"[0-9]{{1,10}}(\.[0-9]{{1,{MONEY_DECIMALS}}})?")
CURRENCY = re.compile(r"[A-Z]{3}")


class Number(Field):
    """A number within a span, exactly as authored."""

    def __init__(self, span: Span, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.span = span

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        least = "exclusiveMinimum" if self.span.above else "minimum"
        return {"type": "number", least: _plain(self.span.least), "maximum": _plain(self.span.most)}

    def read(self, value: Any) -> int | Decimal:
        """The value for the document; raises ValidationError."""
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            raise flaw("wrong_type", f"write a number {self.span}, without quotes")
        if value not in self.span:
            raise flaw("out_of_range", f"write a number {self.span}")
        return value


class WholeNumber(Number):
    """A whole number within a span; 2.0 is whole, 2.5 is refused."""

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {**super().describe(), "type": "integer"}

    def read(self, value: Any) -> int:
        """The value for the document; raises ValidationError."""
        number = super().read(value)
        if not isinstance(number, int):
            raise flaw("wrong_type", f"write a whole number {self.span}")
        return number


class MoneyText(Field):
    """An amount of money, as a decimal text."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": f"^{MONEY_TEXT.pattern}$", "examples": ["12.40"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        if not isinstance(value, str) or not MONEY_TEXT.fullmatch(value):
            raise flaw("wrong_type", f'write a decimal text with at most {MONEY_DECIMALS} decimals, for instance "12.40"')
        if Decimal(value) not in MONEY:
            raise flaw("out_of_range", f"write an amount {MONEY}")
        return value


class Currency(Field):
    """A currency of ISO 4217."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": f"^{CURRENCY.pattern}$", "examples": ["USD"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        if not isinstance(value, str) or not CURRENCY.fullmatch(value):
            raise flaw("wrong_type", "write the three capital letters of a currency, for instance USD")
        return value


def _plain(number: int | Decimal) -> int | float:
    return number if isinstance(number, int) else float(number)

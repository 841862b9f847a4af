"""Numbers and money.

Responsible for ranges and for exactness: a number is an int or a Decimal as authored, money is a
decimal text. Refuses to guess: a text is no number, a number is no money.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar

from service.api.fields.faults import Flaw, flaw, flaws_at
from service.api.fields.shape import NOT_NULL, REQUIRED, Field, expect_object
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


class Money(Field):
    """An amount of money: a decimal text and an ISO 4217 currency."""

    shape: ClassVar[dict[str, Any]] = {"$ref": "#/components/schemas/Money"}

    def read(self, value: Any) -> dict[str, str]:
        """The value for the document; raises ValidationError."""
        fields = expect_object(value, 'money as {"amount": "12.40", "currency": "USD"}')
        faults = list(_money_faults(fields))
        if faults:
            raise flaws_at(faults)
        return {"amount": fields["amount"], "currency": fields["currency"]}


def _money_faults(fields: Mapping[str, Any]) -> list[tuple[tuple[str, ...], str, str]]:
    faults: list[tuple[tuple[str, ...], str, str]] = [
        ((key,), "unknown_field", "money has amount and currency alone") for key in fields if key not in ("amount", "currency")
    ]
    for key in ("amount", "currency"):
        message = _missing(fields, key)
        if message:
            faults.append(((key,), message.code, str(message)))
    amount, currency = fields.get("amount"), fields.get("currency")
    if amount is not None:
        if not isinstance(amount, str) or not MONEY_TEXT.fullmatch(amount):
            faults.append((("amount",), "wrong_type", f'write a decimal text with at most {MONEY_DECIMALS} decimals, for instance "12.40"'))
        elif Decimal(amount) not in MONEY:
            faults.append((("amount",), "out_of_range", f"write an amount {MONEY}"))
    if currency is not None and not (isinstance(currency, str) and CURRENCY.fullmatch(currency)):
        faults.append((("currency",), "wrong_type", "write the three capital letters of a currency, for instance USD"))
    return faults


def _missing(fields: Mapping[str, Any], key: str) -> Flaw | None:
    if key not in fields:
        return REQUIRED
    return NOT_NULL if fields[key] is None else None


def _plain(number: int | Decimal) -> int | float:
    return number if isinstance(number, int) else float(number)

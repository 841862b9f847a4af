"""Temperature: degrees of both scales, and how they are shown in the scale of a site.

Responsible for crossing scales and for the text of a temperature (D2). Refuses to know what must be how hot.
"""

import math
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final, NamedTuple, TypedDict

from service.kitchen.measures.amounts import write_amount
from service.kitchen.measures.units import System

SCALES: Final[dict[System, str]] = {"metric": "degC", "us": "degF"}


class ShownTemperature(TypedDict):
    """A temperature in the scale of a list, with its text."""

    amount: float | Decimal
    unit: str
    display: str


class Degrees(NamedTuple):
    """One temperature as it is told in both scales."""

    celsius: Fraction
    fahrenheit: Fraction

    def among(self, unit: str) -> Fraction:
        """The figure in degC or degF."""
        return self.celsius if unit == "degC" else self.fahrenheit

    def shown(self, system: System) -> ShownTemperature:
        """In the scale of a list.

        >>> Degrees(Fraction(74), Fraction(165)).shown("us")
        {'amount': 165.0, 'unit': 'degF', 'display': '165 °F'}
        """
        unit = SCALES[system]
        amount = self.among(unit)
        sign = "-" if amount < 0 else ""
        return {"amount": float(amount), "unit": unit, "display": f"{sign}{write_amount(abs(amount))} °{unit[-1]}"}


def degrees(amount: Fraction, unit: str, other: Fraction) -> Degrees:
    """A figure in one scale with that of the other."""
    return Degrees(amount, other) if unit == "degC" else Degrees(other, amount)


def crossed(amount: Fraction, unit: str) -> Fraction:
    """Exactly what a figure is in the other scale.

    >>> crossed(Fraction(180), "degC"), crossed(Fraction(350), "degF")
    (Fraction(356, 1), Fraction(530, 3))
    """
    return amount * 9 / 5 + 32 if unit == "degC" else (amount - 32) * 5 / 9


def setting(document: Mapping[str, Any]) -> Degrees:
    """What an oven, a fryer or a bath is set to: as authored, in the other scale to the nearest whole degree, halves up (D2).

    >>> setting({"amount": 350, "unit": "degF"}).shown("metric")["display"]
    '177 °C'
    """
    amount, unit = Fraction(str(document["amount"])), document["unit"]
    return degrees(amount, unit, Fraction(math.floor(crossed(amount, unit) + Fraction(1, 2))))

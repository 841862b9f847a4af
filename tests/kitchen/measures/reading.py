"""Reading: rule D2 once more, straight from its text, in exact fractions and as plainly as it can be written.

Responsible for what a cook should read, so that the display can be put beside it. Refuses to know how the service rounds.
"""

import math
from decimal import Decimal
from fractions import Fraction

from service.kitchen.measures.units import Kind, System

# Handbook 44: an avoirdupois ounce in grams, a US gallon in millilitres.
OZ = Fraction("28.349523125")
GALLON = Fraction("3785.411784")
QUART, CUP, TBSP, TSP = GALLON / 4, GALLON / 16, GALLON / 256, GALLON / 768


def read(amount: Fraction, kind: Kind, system: System, *, up: bool = False) -> str:
    """The text of an amount above nothing, in g, mL or each."""
    if kind == "count":
        return f"{math.ceil(amount)} each"
    if system == "metric":
        return metric(amount, *("g", "kg") if kind == "mass" else ("mL", "L"), up=up)
    if kind == "mass":
        return ounces(amount / OZ, up=up) if amount >= OZ else metric(amount, "g", "kg", up=up)
    return spoons(amount, up=up) if amount >= TSP / 8 else metric(amount, "mL", "L", up=up)


def stepped(amount: Fraction, *steps: Fraction, up: bool) -> Fraction:
    """The nearest whole multiple of any step, halves up, or the next one up."""
    if up:
        return min(math.ceil(amount / step) * step for step in steps)
    about = {each(amount / step) * step for step in steps for each in (math.floor, math.ceil)}
    return max(each for each in about if abs(each - amount) == min(abs(other - amount) for other in about))


def metric(amount: Fraction, small: str, large: str, *, up: bool) -> str:
    if amount < 1:
        step = Fraction("0.01")
    elif amount < 10:
        step = Fraction("0.1")
    elif amount < 100:
        step = Fraction(1)
    elif amount < 1000:
        step = Fraction(5)
    elif amount < 10_000:
        step = Fraction(50)
    else:
        step = Fraction(100)
    shown = max(stepped(amount, step, up=up), step)
    return f"{decimal(shown)} {small}" if shown < 1000 else f"{decimal(shown / 1000)} {large}"


def ounces(amount: Fraction, *, up: bool) -> str:
    if amount < 4:
        shown = stepped(amount, Fraction(1, 10), up=up)
        if shown < 4:
            return f"{decimal(shown)} oz"
    elif amount < 16:
        shown = stepped(amount, Fraction(1, 4), up=up)
    elif amount < 160:
        shown = stepped(amount, Fraction(1, 2), up=up)
    elif amount < 800:
        shown = stepped(amount, Fraction(1), up=up)
    else:
        shown = stepped(amount, Fraction(4), up=up)
    pounds, rest = divmod(shown, 16)
    return " ".join(([f"{pounds} lb"] if pounds else []) + ([f"{mixed(rest)} oz"] if rest else []))


def measure(amount: Fraction) -> tuple[str, Fraction, tuple[Fraction, ...]]:
    """The measure that an amount is told in, its size, and the parts of it that exist."""
    quarter, third, half, eighth = Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1, 8)
    if amount >= 4 * GALLON:
        return "gallon", GALLON, (quarter,)
    if amount >= QUART:
        return "quart", QUART, (quarter,)
    if amount >= CUP / 4:
        return "cup", CUP, (quarter, third)
    if amount >= TBSP:
        return "tbsp", TBSP, (half,)
    return "tsp", TSP, (quarter,) if amount >= TSP / 2 else (eighth,)


def spoons(amount: Fraction, *, up: bool) -> str:
    unit, size, parts = measure(amount)
    alone = stepped(amount / size, *parts, up=up) * size
    if abs(alone - amount) * 20 <= amount:
        return after_rounding(alone)
    first = max(math.floor(amount / size / part) * part for part in parts) * size
    rest = amount - first
    _, smaller, smaller_parts = measure(rest)
    second = stepped(rest / smaller, *smaller_parts, up=up) * smaller
    if abs(first + second - amount) >= abs(alone - amount):
        return after_rounding(alone)
    return f"{mixed(first / size)} {unit} + {after_rounding(second)}"


def after_rounding(shown: Fraction) -> str:
    """One measure, in the unit that the rounded amount has."""
    unit, size, _ = measure(shown)
    return f"{mixed(shown / size)} {unit}"


def mixed(number: Fraction) -> str:
    above, part = divmod(number, 1)
    return f"{above} {part}" if above and part else str(part or above)


def decimal(number: Fraction) -> str:
    text = f"{Decimal(number.numerator) / Decimal(number.denominator):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text

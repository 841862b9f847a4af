"""Dice: the choices of a generated kitchen, each a draw that a failing example can shrink.

Responsible for drawing. Refuses to know what is drawn.
"""

from collections.abc import Sequence
from functools import cache
from typing import TypeVar

from hypothesis import strategies as st

T = TypeVar("T")


@cache
def _numbers(least: int, most: int) -> st.SearchStrategy[int]:
    return st.integers(least, most)


class Dice:
    """Choices drawn one by one; the first option, the least number and "no" are what a failing example shrinks to."""

    def __init__(self, draw: st.DrawFn) -> None:
        self._draw = draw

    def number(self, least: int, most: int) -> int:
        return self._draw(_numbers(least, most))

    def pick(self, *options: T) -> T:
        return options[self.number(0, len(options) - 1)]

    def chance(self, percent: int) -> bool:
        return self.number(1, 100) > 100 - percent

    def some(self, options: Sequence[T], least: int, most: int) -> list[T]:
        """Between ``least`` and ``most`` of the options, none twice."""
        left = list(options)
        wanted = self.number(min(least, len(left)), min(most, len(left)))
        return [left.pop(self.number(0, len(left) - 1)) for _ in range(wanted)]

    def between(self, least: float, most: float) -> float:
        """A number in hundredths of the way from one to the other."""
        return least + (most - least) * self.number(0, 100) / 100

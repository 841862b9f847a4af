"""What a law is: a property of everything that some strategies generate.

Responsible for how many examples a law is tried on. Refuses to know any law.
"""

from collections.abc import Callable
from typing import Any, cast

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from tests.profiles import examples

Test = Callable[..., None]
Decorator = Callable[[Test], Test]


def law(*strategies: st.SearchStrategy[Any]) -> Decorator:
    """A property, tested on fewer examples than the profile has: a whole kitchen takes as long as many numbers."""
    return with_settings(settings(max_examples=examples(40)), *strategies)


def surveyed(number: int, *strategies: st.SearchStrategy[Any]) -> Decorator:
    """As ``law``, but exactly over so many examples and without looking for small ones: for counting what occurs."""
    return with_settings(settings(max_examples=number, phases=[Phase.generate], database=None), *strategies)


def with_settings(chosen: settings, *strategies: st.SearchStrategy[Any]) -> Decorator:
    """A test of what the strategies generate, with these settings."""

    def tested(test: Test) -> Test:
        return cast(Decorator, chosen)(given(*strategies)(test))

    return tested

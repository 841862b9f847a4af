"""How long the laws are tested: the same examples on every run by default, or many new ones.

``HYPOTHESIS_PROFILE=deep pytest tests/laws`` looks at new examples and remembers those that failed.
"""

import os
from collections.abc import Callable
from typing import Any, cast

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

Test = Callable[..., None]
Decorator = Callable[[Test], Test]

# A whole kitchen is a large and slow example by nature.
LARGE = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]

settings.register_profile("laws", max_examples=40, derandomize=True, deadline=None, database=None, suppress_health_check=LARGE)
settings.register_profile("deep", max_examples=2_000, deadline=None, suppress_health_check=LARGE)
PROFILE = settings.get_profile(os.environ.get("HYPOTHESIS_PROFILE", "laws"))


def law(*strategies: st.SearchStrategy[Any], profile: settings = PROFILE) -> Decorator:
    """A property of everything that the strategies generate, tested as the chosen profile says."""

    def tested(test: Test) -> Test:
        return cast(Decorator, profile)(given(*strategies)(test))

    return tested


def surveyed(examples: int, *strategies: st.SearchStrategy[Any]) -> Decorator:
    """As ``law``, but exactly over so many examples and without looking for small ones: for counting what occurs."""
    return law(*strategies, profile=settings(PROFILE, max_examples=examples, phases=[Phase.generate], database=None))

"""How long properties are tested: on the same examples every run, or on many new ones.

Responsible for the profile of hypothesis, which ``tests/conftest.py`` loads for every test. ``HYPOTHESIS_PROFILE=deep`` looks at
new examples and remembers those that failed. No example has a deadline: on a busy machine it would fail for nothing.
Refuses to know properties; one that needs another number of examples says why beside it.
"""

import os

from hypothesis import HealthCheck, settings

# A whole kitchen is a large and slow example by nature.
LARGE = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]


def load() -> None:
    """Load the profile that ``HYPOTHESIS_PROFILE`` names."""
    settings.register_profile("same", max_examples=100, derandomize=True, deadline=None, database=None, suppress_health_check=LARGE)
    settings.register_profile("deep", max_examples=5_000, derandomize=False, deadline=None, suppress_health_check=LARGE)
    settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))


def examples(percent: int) -> int:
    """So many per cent of the profile's examples."""
    return settings().max_examples * percent // 100

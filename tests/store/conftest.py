"""Every test of the store runs on both databases."""

import pytest


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest) -> str:
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url

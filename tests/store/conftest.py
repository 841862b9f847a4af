"""Every test of the store runs on both databases, and reads what it stored as it stored it."""

import pytest

from service.store import documents


@pytest.fixture(autouse=True)
def as_stored(monkeypatch: pytest.MonkeyPatch) -> None:
    """The store has no defaults of its own: without any, a document comes back as it went in."""
    monkeypatch.setattr(documents, "_completions", dict.fromkeys(documents._completions, lambda stored: stored))


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest) -> str:
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url

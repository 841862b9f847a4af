from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.store import tokens
from service.store.tokens import TokenRow

NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)
TOKEN = TokenRow(
    id="a1",
    name="Pass, Mill Street",
    role="kitchen",
    token_hash="0" * 64,
    sites=("mill-street",),
    source=None,
    created_at=NOW,
    expires_at=NOW + timedelta(days=1),
)


def test_a_token_is_found_by_its_hash_alone(session: Session) -> None:
    tokens.add(session, TOKEN)
    assert tokens.find(session, TOKEN.token_hash) == TOKEN
    assert tokens.find(session, "1" * 64) is None


def test_a_token_for_every_site_comes_back_without_a_list(session: Session) -> None:
    everywhere = replace(TOKEN, sites=None)
    tokens.add(session, everywhere)
    assert tokens.find(session, TOKEN.token_hash) == everywhere


def test_two_tokens_never_share_a_hash(session: Session) -> None:
    tokens.add(session, TOKEN)
    with pytest.raises(IntegrityError):
        tokens.add(session, replace(TOKEN, id="a2"))


def test_the_first_revocation_stands(session: Session) -> None:
    tokens.add(session, TOKEN)
    assert tokens.revoke(session, "a1", NOW)
    assert tokens.revoke(session, "a1", NOW + timedelta(hours=1))
    assert not tokens.revoke(session, "b1", NOW)
    assert tokens.page(session, None, 10) == [replace(TOKEN, revoked_at=NOW)]


def test_pages_go_by_id(session: Session) -> None:
    for number in ("3", "1", "2"):
        tokens.add(session, replace(TOKEN, id=number, token_hash=number * 64))
    assert [token.id for token in tokens.page(session, None, 2)] == ["1", "2"]
    assert [token.id for token in tokens.page(session, "2", 2)] == ["3"]

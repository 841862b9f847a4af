import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from service.errors import Invalid, NotFound, Unauthenticated
from service.operations import tokens
from service.operations.tokens import Identity

NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)


def create(session: Session, **wishes: Any) -> tuple[str, dict[str, Any]]:
    wanted: dict[str, Any] = {"name": "Pass", "role": "kitchen", "sites": ["mill-street"], "source": None, "days": 365, "now": NOW}
    return tokens.create_token(session, **(wanted | wishes))


def test_a_token_is_its_prefix_and_43_characters_and_authenticates_as_what_it_was_made_for(session: Session) -> None:
    secret, shown = create(session, role="integration", source="till-east", sites=["mill-street", "harbour", "harbour"])
    assert re.fullmatch(r"kp_[A-Za-z0-9_-]{43}", secret)
    expected = Identity(
        token_id=shown["id"],
        name="Pass",
        role="integration",
        sites=("harbour", "mill-street"),
        source="till-east",
        expires_at=NOW + timedelta(days=365),
    )
    assert tokens.authenticate(session, secret, NOW) == expected


def test_what_is_shown_of_a_token_never_holds_its_secret(session: Session) -> None:
    secret, shown = create(session)
    assert shown == {
        "id": shown["id"],
        "name": "Pass",
        "role": "kitchen",
        "sites": ["mill-street"],
        "source": None,
        "created_at": "2026-12-02T12:00:00Z",
        "expires_at": "2027-12-02T12:00:00Z",
        "revoked_at": None,
    }
    assert tokens.list_tokens(session, None, 50) == [shown]
    stored = session.execute(text("SELECT * FROM tokens")).one()
    assert secret not in str(stored)
    assert secret[3:] not in str(stored)


def test_two_tokens_differ(session: Session) -> None:
    assert create(session)[0] != create(session)[0]


@pytest.mark.parametrize("secret", ["", "kp_", "kp_" + "A" * 43, "kp_" + "A" * 44, "Bearer", "kp_\ud800", "kp_" + "é" * 43])
def test_a_secret_that_nobody_was_given_is_refused(session: Session, secret: str) -> None:
    create(session)
    with pytest.raises(Unauthenticated):
        tokens.authenticate(session, secret, NOW)


def test_a_token_serves_until_its_expiry_and_not_at_it(session: Session) -> None:
    secret, _ = create(session, days=1)
    tokens.authenticate(session, secret, NOW + timedelta(days=1, microseconds=-1))
    with pytest.raises(Unauthenticated):
        tokens.authenticate(session, secret, NOW + timedelta(days=1))


def test_a_revoked_token_is_refused_at_once_in_the_words_for_an_unknown_one(session: Session) -> None:
    secret, shown = create(session)
    tokens.revoke_token(session, shown["id"], NOW)
    with pytest.raises(Unauthenticated) as revoked:
        tokens.authenticate(session, secret, NOW)
    with pytest.raises(Unauthenticated) as unknown:
        tokens.authenticate(session, "kp_" + "A" * 43, NOW)
    assert str(revoked.value) == str(unknown.value)
    assert tokens.list_tokens(session, None, 50)[0]["revoked_at"] == "2026-12-02T12:00:00Z"


def test_revoking_a_token_that_does_not_exist_is_refused(session: Session) -> None:
    with pytest.raises(NotFound):
        tokens.revoke_token(session, "a1", NOW)


def test_tokens_are_listed_page_by_page_by_id(session: Session) -> None:
    ids = sorted(create(session)[1]["id"] for _ in range(3))
    assert [token["id"] for token in tokens.list_tokens(session, None, 2)] == ids[:2]
    assert [token["id"] for token in tokens.list_tokens(session, ids[1], 2)] == ids[2:]


@pytest.mark.parametrize(
    ("wishes", "pointer"),
    [
        ({"name": " "}, "/name"),
        ({"name": "x" * 201}, "/name"),
        ({"name": "a\nb"}, "/name"),
        ({"role": "chef"}, "/role"),
        ({"sites": []}, "/sites"),
        ({"sites": ["mill-street", "Mill Street"]}, "/sites/1"),
        ({"sites": None}, "/sites"),
        ({"role": "director"}, "/sites"),
        ({"role": "integration"}, "/source"),
        ({"source": "till-east"}, "/source"),
        ({"role": "integration", "source": "Till"}, "/source"),
        ({"days": 0}, "/days"),
        ({"days": 3651}, "/days"),
    ],
)
def test_a_wish_for_a_token_that_makes_no_sense_is_refused_where_it_is_wrong(
    session: Session, wishes: dict[str, Any], pointer: str
) -> None:
    with pytest.raises(Invalid) as caught:
        create(session, **wishes)
    assert [fault.pointer for fault in caught.value.faults] == [pointer]

"""Tokens: creating, listing and revoking them, and who the caller is."""

from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.paging import page, room
from service.api.exchange.roles import ANYBODY
from service.api.exchange.views import ONCE, Described, Noun
from service.api.schemas.pages import page_of
from service.api.schemas.queries import IdPaging
from service.api.schemas.tokens import CreatedToken, Token, TokenBody, WhoAmI
from service.api.wire.answers import Answer
from service.operations.tokens import create_token, list_tokens, missing_sites, revoke_token, write

tokens = Noun("Tokens", "Who may call, as what, until when.")


@tokens.view(
    "GET", "/v1/whoami", name="get_identity", roles=ANYBODY, answers={200: Described("The token's name, role, sites and expiry.", WhoAmI)}
)
def tell_identity(call: Call) -> dict[str, Any]:
    """Tell who the caller is to the service."""
    who = call.identity
    return {
        "id": who.token_id,
        "name": who.name,
        "role": who.role,
        "sites": None if who.sites is None else list(who.sites),
        "source": who.source,
        "expires_at": write(who.expires_at),
    }


@tokens.view(
    "GET",
    "/v1/tokens",
    name="list_tokens",
    query=IdPaging,
    answers={200: Described("The tokens, without their secrets, by id.", page_of(Token))},
)
def list_all(call: Call) -> dict[str, Any]:
    """List the tokens in order of id; revoked and expired ones too."""
    return page(call, list_tokens(call.session, call.query["cursor"], room(call)), "id")


@tokens.view(
    "POST",
    "/v1/tokens",
    name="create_token",
    keyed=ONCE,
    body=TokenBody,
    example=examples.TOKEN,
    answers={201: Described("The token, with its secret, which is shown this once.", CreatedToken)},
)
def create(call: Call) -> Answer:
    """Create a token; its secret is in this answer and nowhere else.

    It may be for sites that are made later: a warning tells of each that there is not yet. A repetition under the same
    Idempotency-Key makes no second token and is refused (409): the secret cannot be shown again.
    """
    asked = call.body
    days = asked["days"] or call.config.token_days
    secret, token = create_token(call.session, asked["name"], asked["role"], asked["sites"], asked["source"], days, call.now)
    unknown = [{"code": "unknown_site", "detail": f"there is no site {site} yet"} for site in missing_sites(call.session, asked["sites"])]
    body = {**token, "token": secret} | ({"warnings": unknown} if unknown else {})
    return Answer(body=body, status=201, headers={"Cache-Control": "private, no-store"})


@tokens.view("DELETE", "/v1/tokens/{id}", name="revoke_token", answers={204: Described("The token is useless from now on.")})
def revoke(call: Call) -> Answer:
    """Revoke a token at once."""
    revoke_token(call.session, call.path["id"], call.now)
    return Answer(status=204)

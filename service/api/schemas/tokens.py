"""Tokens: who may do what, until when."""

from typing import Any

from marshmallow import validates_schema

from service.api.faults import flaws_at
from service.api.fields import Choice, Code, Document, Many, Moment, Text, WholeNumber
from service.limits import ROLES, TOKEN_DAYS

SITES = 500


class TokenBody(Document):
    """A token to create; sites null is all of them, source is that of an integration."""

    name = Text(required=True)
    role = Choice(ROLES, required=True)
    sites = Many(Code(), most=SITES, least=1, unique=(), load_default=None)
    source = Code(load_default=None)
    days = WholeNumber(TOKEN_DAYS, load_default=None)

    @validates_schema
    def check_role(self, data: dict[str, Any], **_: Any) -> None:
        """A kitchen works for named sites; an integration pushes as one source; nobody else has a source."""
        role, places = data["role"], []
        if role == "kitchen" and data["sites"] is None:
            places.append((("sites",), "required", "a kitchen's token names its sites"))
        if role == "director" and data["sites"] is not None:
            places.append((("sites",), "out_of_range", "a director's token is for all sites: write null"))
        if role == "integration" and data["source"] is None:
            places.append((("source",), "required", "an integration's token names the source that it pushes as"))
        if role != "integration" and data["source"] is not None:
            places.append((("source",), "out_of_range", "only an integration's token has a source: write null"))
        if places:
            raise flaws_at(places)


class Token(Document):
    """A token without its secret."""

    id = Text(required=True)
    name = Text(required=True)
    role = Choice(ROLES, required=True)
    sites = Many(Code(), most=SITES, allow_none=True, required=True)
    source = Code(allow_none=True, required=True)
    created_at = Moment(required=True)
    expires_at = Moment(required=True)
    revoked_at = Moment(allow_none=True, required=True)


class CreatedToken(Token):
    """A token with its secret, shown this once."""

    token = Text(required=True)


class WhoAmI(Document):
    """Who the caller is to the service."""

    id = Text(required=True)
    name = Text(required=True)
    role = Choice(ROLES, required=True)
    sites = Many(Code(), most=SITES, allow_none=True, required=True)
    source = Code(allow_none=True, required=True)
    expires_at = Moment(required=True)

"""Tokens: who may do what, until when."""

from service.api.fields import Choice, Code, Document, Many, Moment, Object, Text, WholeNumber
from service.api.schemas.versions import Warned
from service.limits import ROLES, TOKEN_DAYS

SITES = 500


class TokenBody(Document):
    """A token to create; sites null is all of them, source is that of an integration."""

    name = Text(required=True)
    role = Choice(ROLES, required=True)
    sites = Many(Code(), most=SITES, least=1, unique=(), load_default=None)
    source = Code(load_default=None)
    days = WholeNumber(TOKEN_DAYS, load_default=None)


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
    """A token with its secret, shown this once; warnings where it names sites that there are not."""

    token = Text(required=True)
    warnings = Many(Object(Warned), most=SITES)


class WhoAmI(Document):
    """Who the caller is to the service."""

    id = Text(required=True)
    name = Text(required=True)
    role = Choice(ROLES, required=True)
    sites = Many(Code(), most=SITES, allow_none=True, required=True)
    source = Code(allow_none=True, required=True)
    expires_at = Moment(required=True)

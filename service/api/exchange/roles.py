"""Roles: who may ask, as views declare it.

Responsible for the groups of roles, and for the identity of a caller whom an open view asks for no token. Refuses to
check anybody.
"""

from datetime import UTC, datetime

from service.operations.tokens import Identity

ANYBODY = ("director", "kitchen", "integration", "viewer")
DIRECTOR = ("director",)
READERS = ("director", "kitchen", "viewer")
KITCHENS = ("director", "kitchen")
PUSHERS = ("director", "integration")
NOBODY = Identity(
    token_id="", name="nobody in particular", role="nobody", sites=(), source=None, expires_at=datetime.max.replace(tzinfo=UTC)
)
OPEN = (NOBODY.role,)

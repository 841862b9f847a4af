"""Running: liveness, readiness and the published document.

Responsible for what an operator or a client's generator asks. Refuses to know the domain.
"""

from functools import partial
from typing import Any

from flask import current_app
from marshmallow import Schema

from service.api.answers import Answer
from service.api.auth import OPEN
from service.api.call import Call
from service.api.fields import Choice, Document, Many, Object, Text
from service.api.interior import Interior
from service.api.openapi import published
from service.api.refusals import Unavailable
from service.api.schemas.versions import Warned
from service.api.views import Described, Noun
from service.store.migration import is_current

running = Noun("Running", "Liveness, readiness and this document.")


class Alive(Document):
    """The process answers."""

    status = Choice(("alive",), required=True)


class Ready(Document):
    """The service can do its work; a pinned clock stands in the warnings."""

    status = Choice(("ready",), required=True)
    warnings = Many(Object(Warned), most=10, required=True)


class AnyDocument(Schema):
    """An OpenAPI 3.1 document."""

    openapi = Text(required=True)


@running.view("GET", "/livez", roles=OPEN, answers={200: Described("It does.", Alive, {"status": "alive"})})
def tell_alive(call: Call) -> dict[str, Any]:
    """Tell that the process answers."""
    del call
    return {"status": "alive"}


@running.view("GET", "/readyz", roles=OPEN, answers={200: Described("It can.", Ready, {"status": "ready", "warnings": []})})
def tell_ready(call: Call) -> dict[str, Any]:
    """Tell whether the service can do its work: its database answers and is up to date."""
    if not is_current(Interior.of(current_app).engine):
        raise Unavailable("The database is not up to date: run kitchen-prep migrate.")
    return {"status": "ready", "warnings": clock_warnings(call)}


def clock_warnings(call: Call) -> list[dict[str, str]]:
    """The warning that a pinned clock calls for."""
    if call.config.pinned is None:
        return []
    return [{"code": "clock_pinned", "detail": f"the clock stands still at {call.config.pinned.isoformat()}"}]


@running.view("GET", "/v1/openapi.json", roles=OPEN, answers={200: Described("An OpenAPI 3.1 document.", AnyDocument)})
def get_document(call: Call) -> Answer:
    """Get this document."""
    del call
    return Answer(partial(published, Interior.of(current_app)))

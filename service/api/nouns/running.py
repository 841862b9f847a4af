"""Running: liveness, readiness, metrics and the published document.

Responsible for what an operator or a client's generator asks. Refuses to know the domain.
"""

from datetime import datetime
from functools import partial
from typing import Any

from flask import current_app
from marshmallow import INCLUDE, Schema

from service import __version__
from service.api.document.openapi import published
from service.api.exchange.call import Call
from service.api.exchange.interior import Interior
from service.api.exchange.paths import names_in
from service.api.exchange.roles import OPEN
from service.api.exchange.trails import DOCS, DOCUMENT
from service.api.exchange.views import Described, Noun
from service.api.fields import Choice, Document, Many, Object, Text
from service.api.schemas.pages import Page
from service.api.schemas.versions import Warned
from service.api.wire.answers import JSON, Answer, Face
from service.api.wire.conditions import seed_of
from service.api.wire.refusals import Unavailable
from service.limits import ROLES
from service.operations.tokens import write
from service.store.forecasts import heard

PLAIN = "text/plain"
# The version is that of the text format; a scraper that asks for another one reads this one too.
PAGE = Face(lambda content: [content], {"Content-Type": "text/plain; version=0.0.4; charset=utf-8"})
running = Noun("Running", "Liveness, readiness, metrics and this document.")


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

    class Meta:
        """The standard names the rest."""

        unknown = INCLUDE


@running.view("GET", "/livez", name="check_liveness", roles=OPEN, answers={200: Described("It does.", Alive, {"status": "alive"})})
def tell_alive(call: Call) -> dict[str, Any]:
    """Tell that the process answers."""
    del call
    return {"status": "alive"}


@running.view(
    "GET", "/readyz", name="check_readiness", roles=OPEN, answers={200: Described("It can.", Ready, {"status": "ready", "warnings": []})}
)
def tell_ready(call: Call) -> dict[str, Any]:
    """Tell whether the service can do its work: its database answers, is up to date and takes what is written."""
    Interior.of(current_app).readiness.check()
    return {"status": "ready", "warnings": clock_warnings(call)}


def clock_warnings(call: Call) -> list[dict[str, str]]:
    """The warning that a pinned clock calls for."""
    if call.config.pinned is None:
        return []
    return [{"code": "clock_pinned", "detail": f"the clock stands still at {write(call.config.pinned)}"}]


@running.view("GET", "/metrics", roles=OPEN, produces=(PLAIN,), answers={200: Described("The page.", Page)})
def get_metrics(call: Call) -> Answer:
    """Get what the service counted and measured, as Prometheus reads it.

    Requests by route, method and status with their seconds; seconds of planning; entries of forecast pushes by what became of them; the age
    of the newest forecast of each source; whether the database could be read for it, which it does not wait for. It asks for no token, as
    /livez does, and names sources: keep it from the public at the proxy.
    """
    interior = Interior.of(current_app)
    try:
        ages = interior.readiness.within(partial(newest_forecasts, interior))
    except Unavailable:
        ages = None
    return Answer(body=interior.metrics.page(ages, call.now), faces={PLAIN: PAGE})


def newest_forecasts(interior: Interior) -> dict[str, datetime]:
    """The newest moment of each source."""
    with interior.readers() as session:
        return heard(session)


class EntryPoint(Document):
    """A route to begin with: its path, what it answers, and the roles that may ask."""

    href = Text(required=True)
    title = Text(required=True)
    roles = Many(Choice(ROLES), most=len(ROLES), required=True)


class EntryPoints(Document):
    """The interface: its release, where it is described, and the routes that take no path of another one."""

    release = Text(required=True)
    describedby = Text(required=True)
    service_doc = Text(required=True)
    entry_points = Many(Object(EntryPoint), most=1_000, required=True)


@running.view("GET", "/v1", roles=OPEN, answers={200: Described("Where to begin.", EntryPoints)})
def list_entry_points(call: Call) -> dict[str, Any]:
    """Get the entry points: every route that can be read without knowing another one, and who may."""
    del call
    views = [view for noun in Interior.of(current_app).nouns for view in noun.views]
    begun = [view for view in views if view.method == "GET" and not view.open and not names_in(view.path)]
    return {
        "release": __version__,
        "describedby": DOCUMENT,
        "service_doc": DOCS,
        "entry_points": [{"href": view.path, "title": view.summary, "roles": list(view.roles)} for view in begun],
    }


@running.view(
    "GET", "/v1/openapi.json", name="get_openapi_document", roles=OPEN, answers={200: Described("An OpenAPI 3.1 document.", AnyDocument)}
)
def get_document(call: Call) -> Answer:
    """Get this document."""
    content = published(Interior.of(current_app), call.now.date())
    return Answer(body=lambda: content, tag=seed_of(content), faces={JSON: Face(lambda told: [told])})

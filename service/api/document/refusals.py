"""Refusals in the published document: by which problems a view may refuse, each with an example.

Responsible for the answers that several views share, and for those whose causes are a view's own (409, 422). Refuses to
decide what a view refuses: declarations and the reader of its body say so.
"""

from typing import Any

from marshmallow import Schema

from service.api.document.codes import CODES
from service.api.exchange.idempotency import HEADER
from service.api.exchange.problems import MEDIA_TYPE, PROBLEMS, Problem, document
from service.api.exchange.routing import load
from service.api.exchange.views import ONCE, View
from service.api.schemas.problems import Problem as ProblemSchema
from service.api.wire.refusals import InFlight, ShownOnce
from service.errors import Fault, Invalid, ServiceError

SHARED = frozenset({400, 401, 403, 404, 406, 408, 412, 413, 415, 428, 429, 503})
"""The statuses whose causes are the same in every view."""

RETRY = {"Retry-After": {"description": "The seconds to wait.", "required": True, "schema": {"type": "integer", "minimum": 1}}}
# Headers of problems: how to go on after them.
GOING_ON: dict[int, dict[str, Any]] = {
    401: {"WWW-Authenticate": {"description": "The scheme to authenticate by.", "required": True, "schema": {"type": "string"}}},
    429: RETRY
    | {
        "RateLimit-Policy": {"description": "The limit of a minute: whose it is, and how many requests.", "schema": {"type": "string"}},
        "RateLimit": {"description": "How many requests are left, and the seconds until the next minute.", "schema": {"type": "string"}},
    },
    503: RETRY,
}
UNKNOWN = "unheard-of"


def shared(problem: Problem) -> dict[str, Any]:
    """The answer that a problem is, as a component."""
    response = answered(problem.title, {problem.slug: document(problem, problem.explanation)})
    return response | ({"headers": GOING_ON[problem.status]} if problem.status in GOING_ON else {})


def of_view(view: View, status: int) -> dict[str, Any]:
    """An answer whose causes are the view's own."""
    if status == 422:
        return answered(
            PROBLEMS[Invalid].title, {name: document(PROBLEMS[Invalid], Invalid(faults).detail, faults) for name, faults in wrongs(view)}
        )
    causes = [(cause, PROBLEMS[cause]) for cause in conflicts(view)]
    titles = "; or: ".join(problem.title for _, problem in causes)
    response = answered(titles, {problem.slug: conflict(cause, problem) for cause, problem in causes})
    # Of these only a twin in flight is worth waiting for.
    return response | ({"headers": {"Retry-After": {**RETRY["Retry-After"], "required": False}}} if view.keyed else {})


def conflicts(view: View) -> tuple[type[ServiceError], ...]:
    """The errors that a view answers by 409: its own, and those of its key."""
    of_key: tuple[type[ServiceError], ...] = (InFlight,) if view.keyed else ()
    return view.conflicts + of_key + ((ShownOnce,) if view.keyed == ONCE else ())


def conflict(cause: type[ServiceError], problem: Problem) -> dict[str, Any]:
    """An example of a 409."""
    faults = [Fault("", cause.code, CODES[cause.code])] if cause.code in CODES else []
    return document(problem, problem.explanation, faults)


def wrongs(view: View) -> list[tuple[str, list[Fault]]]:
    """Names of ways to be wrong, each with the faults that the service finds in such a request."""
    found: list[tuple[str, list[Fault]]] = []
    if view.body:
        found.append(("body", load(view.body, {UNKNOWN: 1})[1]))
    found.append(("query", wrong_query(view.query)))
    if view.keyed:
        found.append(("key", [Fault("", "key_reused", CODES["key_reused"], parameter=HEADER)]))
    return found


def wrong_query(schema: type[Schema] | None) -> list[Fault]:
    """The faults of a query with a key that the route does not have."""
    if schema is None:
        return [Fault("", "unknown_field", "this route takes no query", parameter=UNKNOWN)]
    return [Fault("", fault.code, fault.detail, parameter=fault.pointer[1:]) for fault in load(schema, {UNKNOWN: "1"})[1]]


def answered(title: str, named: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """An answer by problem documents."""
    shown = {name: {"value": value} for name, value in named.items()}
    return {"description": title, "content": {MEDIA_TYPE: {"schema": ProblemSchema, "examples": shown}}}

"""Refusals in the published document: by which problems a view may refuse, each with an example.

Responsible for the answers that several views share, and for those whose causes are a view's own (409, 422). Refuses to
decide what a view refuses, and to make up how: what was recorded says so.
"""

from typing import Any

from service.api.document.recorded import recorded
from service.api.exchange.problems import MEDIA_TYPE, PROBLEMS, Problem, document
from service.api.exchange.views import ONCE, View
from service.api.schemas.problems import Problem as ProblemSchema
from service.api.wire.refusals import InFlight, ShownOnce
from service.errors import Invalid, ServiceError

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


def shared(problem: Problem) -> dict[str, Any]:
    """The answer that a problem is, as a component."""
    response = answered(problem.title, {problem.slug: document(problem, problem.explanation)})
    return response | ({"headers": GOING_ON[problem.status]} if problem.status in GOING_ON else {})


def of_view(view: View, status: int) -> dict[str, Any]:
    """An answer whose causes are the view's own, with what was recorded of each."""
    shown = recorded().get(view.operation, {}).get(str(status), {})
    if status == 422:
        return answered(PROBLEMS[Invalid].title, shown)
    response = answered("; or: ".join(PROBLEMS[cause].title for cause in conflicts(view)), shown)
    # Of these only a twin in flight is worth waiting for.
    return response | ({"headers": {"Retry-After": {**RETRY["Retry-After"], "required": False}}} if view.keyed else {})


def conflicts(view: View) -> tuple[type[ServiceError], ...]:
    """The errors that a view answers by 409: its own, and those of its key."""
    of_key: tuple[type[ServiceError], ...] = (InFlight,) if view.keyed else ()
    return view.conflicts + of_key + ((ShownOnce,) if view.keyed == ONCE else ())


def answered(title: str, named: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """An answer by problem documents."""
    shown = {name: {"value": value} for name, value in named.items()}
    return {"description": title, "content": {MEDIA_TYPE: {"schema": ProblemSchema, "examples": shown}}}

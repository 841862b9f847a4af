"""What every exchange shares: its id, its headers, and problems instead of crashes.

Responsible for X-Request-Id, caching headers, problem documents for every error, and the log line of
each request. Refuses to log a body, a token or an Idempotency-Key.
"""

import re
import time
import traceback
import uuid

import structlog
from flask import Flask, Response, current_app, g, request
from werkzeug import exceptions

from service.api.exchange.auth import challenge
from service.api.exchange.interior import Interior
from service.api.exchange.paths import nowhere
from service.api.exchange.problems import INTERNAL, MEDIA_TYPE, Problem, describe, document, faults_of
from service.api.exchange.readiness import refusal
from service.api.exchange.trails import Allowance, headers_of, links
from service.api.wire.answers import pack, wants_gzip
from service.api.wire.json import Unparseable, render
from service.api.wire.refusals import MethodNotAllowed, Postponed, TooLarge, Unread
from service.errors import Fault, ServiceError, Unauthenticated
from service.limits import REQUEST_ID_PATTERN
from service.store.troubles import TROUBLES, trouble

# A caller's id stands in the log: only one that cannot break a line of it is taken over.
REQUEST_ID = re.compile(REQUEST_ID_PATTERN)
# Under this key of the environment stands the status of what the server could not read.
REFUSED = "kitchen_prep.refused"
# What an answer depends on besides its address; caches between must not give it to others.
VARY = ("Accept", "Accept-Encoding", "Authorization")
log = structlog.get_logger("service.api")


def install(app: Flask) -> None:
    """Give an application's requests ids, headers, problems and log lines."""
    app.before_request(begin)
    app.after_request(finish)
    app.teardown_request(end)
    app.register_error_handler(ServiceError, answer_error)
    app.register_error_handler(exceptions.HTTPException, answer_http_error)
    for kind in TROUBLES:
        app.register_error_handler(kind, answer_unavailable)
    app.register_error_handler(Exception, answer_crash)


def begin() -> None:
    """Name the request, and start its clock."""
    g.request_id = name_request(request.headers.get("X-Request-Id", ""))
    g.started = time.monotonic()
    structlog.contextvars.clear_contextvars()
    structlog.contextvars.bind_contextvars(request_id=g.request_id)
    if REFUSED in request.environ:
        raise Unread(request.environ[REFUSED])


def name_request(given: str) -> str:
    """The id of a request: what the caller gave, where it has the right shape, else a new one."""
    return given if REQUEST_ID.fullmatch(given) else uuid.uuid4().hex


def finish(response: Response) -> Response:
    """Add the headers that every answer has, and log the request."""
    response.headers["X-Request-Id"] = g.request_id
    response.headers["X-Content-Type-Options"] = "nosniff"
    # A browser may keep an answer, and asks with its ETag whether it still holds.
    response.headers.setdefault("Cache-Control", "private, no-cache")
    response.vary.update(VARY)
    # Whether an origin is allowed is in the answer too, also where it is not.
    if Interior.of(current_app).config.cors_origins:
        response.vary.add("Origin")
    lead_on(response)
    identity = g.get("identity")
    record(
        Interior.of(current_app),
        time.monotonic() - g.started,
        route=request.url_rule.rule if request.url_rule else None,
        method=request.method,
        status=response.status_code,
        token=identity.token_id or None if identity else None,
    )
    return response


def lead_on(response: Response) -> None:
    """Tell where the answer leads, what is left of the limit that the request was counted for, and whether its route is going to end."""
    allowance: Allowance | None = g.get("allowance")
    if allowance is not None:
        response.headers.update(allowance.headers())
    view = Interior.of(current_app).views.get(request.endpoint or "")
    ending = view.deprecated if view else None
    if ending is not None:
        response.headers.update(headers_of(ending))
    if view is not None and response.status_code < 400:
        response.headers["Link"] = links(request, g.get("links", {}), ending)


def record(interior: Interior, seconds: float, *, route: str | None, method: str, status: int, token: str | None, **told: str) -> None:
    """Count a request, and log it: as a warning where it was slow."""
    interior.metrics.count_request(route, method, status, seconds)
    slow = seconds * 1000 > interior.config.slow_milliseconds
    (log.warning if slow else log.info)(
        "slow request" if slow else "request",
        method=method,
        route=route,
        status=status,
        token=token,
        milliseconds=round(seconds * 1000, 1),
        **told,
    )


def end(error: BaseException | None) -> None:
    """Close the session; what was not committed is rolled back. What is logged from here on is no longer of this request."""
    del error
    session = g.pop("session", None)
    if session is not None:
        session.close()
    structlog.contextvars.clear_contextvars()


def answer_error(error: ServiceError) -> Response:
    """The problem document of an error that the service raised on purpose."""
    response = problem_response(describe(error), error.detail, faults_of(error))
    if isinstance(error, Unauthenticated):
        response.headers["WWW-Authenticate"] = challenge(request)
    if isinstance(error, MethodNotAllowed):
        response.headers["Allow"] = ", ".join(error.allowed)
    if isinstance(error, Postponed):
        response.headers["Retry-After"] = str(error.seconds)
    return response


def answer_http_error(error: exceptions.HTTPException) -> Response:
    """The problem document of an error that the web framework raised."""
    if isinstance(error, exceptions.NotFound):
        return answer_error(nowhere(request.path, [view.path for view in Interior.of(current_app).views.values()]))
    if isinstance(error, exceptions.MethodNotAllowed):
        return answer_error(MethodNotAllowed(error.valid_methods or ()))
    if isinstance(error, exceptions.RequestEntityTooLarge):
        return answer_error(TooLarge("The body is too large."))
    if isinstance(error, exceptions.BadRequest):
        return answer_error(Unparseable("The request cannot be read."))
    return answer_crash(error)


def answer_unavailable(error: Exception) -> Response:
    """503 where the database is in trouble; answer and log say in a word which, and the log where."""
    word = trouble(error)
    log_crash("database unavailable", error, database=word)
    return answer_error(refusal(word))


def answer_crash(error: Exception) -> Response:
    """500 for a fault of the service itself."""
    log_crash("request failed", error)
    return problem_response(INTERNAL, "The request was not carried out; the fault was logged under its X-Request-Id.", [])


def log_crash(event: str, error: Exception, **told: str) -> None:
    """Log where an error arose; its message stays out, because it may quote a body."""
    frames = traceback.format_tb(error.__traceback__)
    log.error(event, method=request.method, error=type(error).__name__, frames="".join(frames), **told)


def instance_of(request_id: str) -> str | None:
    """The URN of a request, where its id is a UUID: a caller's own id need not be one.

    >>> instance_of("9c55ec0c038842df8fc97281ee54a477"), instance_of("till-7")
    ('urn:uuid:9c55ec0c-0388-42df-8fc9-7281ee54a477', None)
    """
    try:
        return uuid.UUID(request_id).urn
    except ValueError:
        return None


def problem_response(problem: Problem, detail: str, faults: list[Fault]) -> Response:
    """A problem document as a response."""
    content = render(document(problem, detail, faults, instance_of(g.request_id)))
    return pack(content, problem.status, MEDIA_TYPE, gzipped=wants_gzip(request))

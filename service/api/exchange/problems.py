"""Errors as RFC 9457 problem documents.

Responsible for the one table from error classes to statuses, slugs and titles, and for the document
itself. Refuses to decide what is an error.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from service import errors
from service.api.wire import refusals
from service.api.wire.json import Unparseable
from service.errors import Fault, Room, ServiceError
from service.limits import DETAIL_SHOWN

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True)
class Problem:
    """How one class of error is answered, and what its page says."""

    status: int
    slug: str
    title: str
    explanation: str


PROBLEMS: dict[type[ServiceError], Problem] = {
    Unparseable: Problem(
        400,
        "unparseable",
        "The body cannot be read",
        "The body is not strict JSON in UTF-8 (RFC 8259), or its gzip stream is broken. A key that stands twice in one object, NaN, "
        "Infinity, a number of more than 32 digits and nesting past 32 levels are refused as well. Nothing was changed.",
    ),
    errors.Unauthenticated: Problem(
        401,
        "unauthenticated",
        "A valid token is required",
        "Send Authorization: Bearer followed by a token that has neither expired nor been revoked. A director creates tokens at "
        "/v1/tokens; the first one is made with kitchen-prep token create.",
    ),
    errors.Forbidden: Problem(
        403,
        "forbidden",
        "The token may not do this",
        "The token is valid, but its role does not include this route, or it pushes as another source than the one that is sent. "
        "GET /v1/whoami tells role and source; a director can create another token.",
    ),
    errors.NotFound: Problem(
        404,
        "not-found",
        "There is nothing here",
        "The path, or a thing that the path names, does not exist or is not the token's to see: both get the same answer. A code is "
        "made of a-z, 0-9 and -, up to 64 characters; a date in a path is YYYY-MM-DD from 2000 to 2099; anything else names nothing.",
    ),
    refusals.MethodNotAllowed: Problem(
        405,
        "method-not-allowed",
        "The path does not take this method",
        "The Allow header lists the methods that the path takes.",
    ),
    refusals.NotAcceptable: Problem(
        406,
        "not-acceptable",
        "No acceptable media type",
        "The Accept header admits none of the media types that the route can answer. Send Accept: application/json.",
    ),
    refusals.TooLarge: Problem(
        413,
        "too-large",
        "The body is too large",
        "A body may have 1 MiB, a push of forecasts 2 MiB, an import 32 MiB, all counted after decompression, and none more than a million "
        "values or a thousand gzip members. Send it in parts.",
    ),
    refusals.UnsupportedMediaType: Problem(
        415,
        "unsupported-media-type",
        "The body must be application/json",
        "Send Content-Type: application/json, in UTF-8. The only Content-Encoding that is read is gzip.",
    ),
    errors.Invalid: Problem(
        422,
        "invalid",
        "The request is well formed but wrong",
        "Every fault is listed in errors: pointer (RFC 6901) says where in the body, or parameter which query key or header; code says "
        "which rule; detail says what to write instead. Faults of shape come together, then, once the shape is right, faults of meaning.",
    ),
    errors.KitchenError: Problem(
        422,
        "invalid",
        "The request is well formed but wrong",
        "A rule of the kitchen refuses the request; errors says which.",
    ),
    errors.MatchRequired: Problem(
        428,
        "match-required",
        "If-Match is required",
        "Replacing or deleting a thing needs the If-Match header with the ETag of the state to be replaced (from a GET), or *.",
    ),
    errors.Stale: Problem(
        412,
        "stale",
        "The thing has changed meanwhile",
        "The ETag in If-Match is not the current one (or If-None-Match: * found that the thing exists). GET it again, look at what "
        "changed, then repeat the request with the new ETag.",
    ),
    errors.InUse: Problem(
        409,
        "in-use",
        "The thing is in use",
        "Something else still refers to what should be removed; errors names the users.",
    ),
    errors.NothingToPublish: Problem(
        409,
        "nothing-to-publish",
        "There is nothing to publish",
        "Draft, from and sites all equal those of the newest version that is not withdrawn.",
    ),
    refusals.InFlight: Problem(
        409,
        "in-flight",
        "The same request is being answered",
        "A request under the same Idempotency-Key has not been answered yet. Repeat it after the seconds that Retry-After tells: "
        "it gets the answer of the first.",
    ),
    refusals.ShownOnce: Problem(
        409,
        "shown-once",
        "The secret was shown once",
        "A token or a sheet link was made under this Idempotency-Key; its secret stood in the first answer and is kept nowhere. If that "
        "answer was lost, find what was made in its list, revoke it, and make another under a new key.",
    ),
    refusals.TooMany: Problem(
        429,
        "too-many-requests",
        "Too many requests in this minute",
        "A token may make 1,200 requests in a clock minute, an address 30 failed authentications, unless the service is configured "
        "otherwise. Nothing was changed. Repeat the request after the seconds that Retry-After tells.",
    ),
    refusals.Busy: Problem(
        503,
        "busy",
        "As much is being planned, or imported, as can be at a time",
        "Nothing was changed. Repeat the request after the seconds that Retry-After tells; a list that the caller has already is "
        "answered 304 without planning, if its ETag is sent in If-None-Match.",
    ),
    refusals.Unavailable: Problem(
        503,
        "unavailable",
        "The service cannot answer now",
        "The database is locked by others, unreachable, full or read-only; the detail says which. Nothing was changed. Repeat the request "
        "after the seconds that Retry-After tells.",
    ),
}

# By their status: what the server could not read, so that no route and no role was asked. 400 and 413 are told as elsewhere.
UNREAD: dict[int, Problem] = {
    400: PROBLEMS[Unparseable],
    408: Problem(
        408,
        "too-slow",
        "The request did not arrive in time",
        "Headers must arrive within 10 seconds, the whole request within 30, unless the service is configured otherwise. Nothing was "
        "changed. Send it in smaller parts, or gzipped.",
    ),
    413: PROBLEMS[refusals.TooLarge],
    414: Problem(414, "uri-too-long", "The address is too long", "The first line of a request has at most 8 KiB."),
    417: Problem(417, "expectation-failed", "The expectation is not met", "The only Expect header that is met is 100-continue."),
    431: Problem(431, "headers-too-large", "The headers are too large", "A request's first line and headers have at most 32 KiB together."),
    501: Problem(501, "not-implemented", "The transfer coding is not known", "The only Transfer-Encoding that is read is chunked."),
    505: Problem(505, "version-not-supported", "The version of HTTP is not spoken here", "Send HTTP/1.1 or HTTP/1.0."),
}

INTERNAL = Problem(
    500,
    "internal",
    "The service failed",
    "A fault of the service, not of the request. It was logged under the X-Request-Id of the answer; nothing was changed.",
)


def describe(error: ServiceError) -> Problem:
    """The table's row for an error: that of its class, else of the nearest class above it."""
    if isinstance(error, refusals.Unread):
        return UNREAD[error.status]
    for kind in type(error).__mro__:
        if kind in PROBLEMS:
            return PROBLEMS[kind]
    return INTERNAL


def faults_of(error: ServiceError) -> list[Fault]:
    """The entries of ``errors`` for an error that has any."""
    if isinstance(error, errors.Invalid):
        return list(error.faults)
    if isinstance(error, errors.KitchenError):
        return [Fault("", error.code, error.detail)]
    if isinstance(error, errors.ForeignSource):
        return [Fault("/source", error.code, error.detail)]
    if isinstance(error, errors.InUse) and error.users:
        return [Fault("", error.code, user) for user in error.users]
    if isinstance(error, (errors.InUse, errors.NothingToPublish)):
        return [Fault("", error.code, error.detail)]
    return []


def document(problem: Problem, detail: str, faults: Sequence[Fault] = (), instance: str | None = None) -> dict[str, Any]:
    """The problem document; past the limit of shown errors ``more`` counts the rest."""
    shown = Room().shown(faults)
    body: dict[str, Any] = {
        "type": f"/problems/{problem.slug}",
        "title": problem.title,
        "status": problem.status,
        "detail": detail[:DETAIL_SHOWN],
        "errors": [fault_entry(fault) for fault in shown],
    }
    if instance is not None:
        body["instance"] = instance
    if len(faults) > len(shown):
        body["more"] = len(faults) - len(shown)
    return body


def fault_entry(fault: Fault) -> dict[str, str]:
    """One fault as the interface writes it: with ``parameter`` for a query key or header, else with ``pointer``."""
    where = {"pointer": fault.pointer} if fault.parameter is None else {"parameter": fault.parameter}
    return {**where, "code": fault.code, "detail": fault.detail}

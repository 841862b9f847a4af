"""What the interface itself refuses, before any rule of the kitchen is asked.

Responsible for the errors of the HTTP exchange (a media type, a size, a method). Refuses to know
what the answer to them looks like.
"""

from collections.abc import Iterable

from service.errors import ServiceError


class MethodNotAllowed(ServiceError):
    """A path that exists, asked with a method that it does not take."""

    code = "method_not_allowed"

    def __init__(self, allowed: Iterable[str]) -> None:
        self.allowed = tuple(sorted(allowed))
        super().__init__(f"This path takes {', '.join(self.allowed)}.")


class NotAcceptable(ServiceError):
    """No media type that the caller accepts can be answered."""

    code = "not_acceptable"


class TooLarge(ServiceError):
    """A body past the limit of its route, counted after decompression."""

    code = "too_large"


class UnsupportedMediaType(ServiceError):
    """A body that is not application/json, or is packed in a way other than gzip."""

    code = "unsupported_media_type"


class Unread(ServiceError):
    """A request that the server could not read, and by which status it says so."""

    code = "unread"

    def __init__(self, status: int) -> None:
        super().__init__("The server could not read this request; what is at fault, the problem's page says.")
        self.status = status


class Postponed(ServiceError):
    """The same request may succeed after some seconds."""

    def __init__(self, detail: str, seconds: int = 1) -> None:
        super().__init__(detail)
        self.seconds = seconds


class InFlight(Postponed):
    """A request under the same Idempotency-Key that is still being answered."""

    code = "in_flight"


class ShownOnce(ServiceError):
    """A repeated request whose first answer held a secret, which is kept nowhere."""

    code = "shown_once"


class TooMany(Postponed):
    """More requests in a minute than a token, or failed authentications than an address, may make."""

    code = "too_many_requests"


class Unavailable(Postponed):
    """The service cannot answer now."""

    code = "unavailable"


class Busy(Postponed):
    """As much is being planned or imported as is at a time."""

    code = "busy"

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


class Unavailable(ServiceError):
    """The service cannot answer now; the same request may succeed a moment later."""

    code = "unavailable"

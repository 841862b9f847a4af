"""Trails: what an answer says, beside itself, of where to go on and of what may still be asked.

Responsible for Link (RFC 8288), for the RateLimit fields (RFC 9651's lists), and for Deprecation (RFC 9745) and Sunset (RFC 8594)
of a route that is going to end. Refuses to know nouns and to count requests.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from email.utils import format_datetime
from typing import NamedTuple
from urllib.parse import quote

from flask import Request

from service.api.exchange.views import Deprecation

DOCUMENT, DOCS = "/v1/openapi.json", "/docs/"
LONGEST = 2_000
QUERY = "=&%,:;+-._~!*'()"


class Allowance(NamedTuple):
    """What is left of a limit of a clock minute, and the seconds until the next one; ``policy`` names whom it is counted for."""

    policy: str
    limit: int
    left: int
    seconds: int

    def headers(self) -> dict[str, str]:
        """The fields that tell it.

        >>> Allowance("token", 1200, 1180, 17).headers()["RateLimit"]
        '"token";r=1180;t=17'
        """
        return {
            "RateLimit-Policy": f'"{self.policy}";q={self.limit};w=60',
            "RateLimit": f'"{self.policy}";r={self.left};t={self.seconds}',
        }


def headers_of(ending: Deprecation) -> dict[str, str]:
    """The fields of a route that is going to end: since when nobody should begin with it, and when it is gone."""
    return {"Deprecation": f"@{int(ending.since.timestamp())}", "Sunset": http_date(ending.sunset)}


def http_date(moment: datetime) -> str:
    """A moment as HTTP writes it, in GMT."""
    return format_datetime(moment, usegmt=True)


def links(request: Request, led: Mapping[str, str], ending: Deprecation | None) -> str:
    """The links of an answer: itself, where the view ``led``, and what describes it."""
    return ", ".join(f'<{target}>; rel="{relation}"' for relation, target in _links(request, led, ending))


def _links(request: Request, led: Mapping[str, str], ending: Deprecation | None) -> Iterator[tuple[str, str]]:
    asked = request.query_string.decode("latin-1")
    here = quote(request.path) + (f"?{quote(asked, safe=QUERY)}" if asked else "")
    # Nobody needs to be told an address that fills a header.
    if len(here) <= LONGEST:
        yield "self", here
    yield from led.items()
    yield "describedby", DOCUMENT
    yield "service-doc", DOCS
    if ending is not None:
        yield "deprecation", DOCS
        if ending.successor is not None:
            yield "successor-version", ending.successor

"""Declarations of views: everything about a route but its two to eight lines.

Responsible for one place where method, path, role, body, query and answers of a view are stated; the
routing layer and the published document both read it. Refuses to run anything.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from marshmallow import Schema

from service.api.exchange.call import Call
from service.api.exchange.roles import DIRECTOR, OPEN
from service.api.wire.answers import JSON, Answer
from service.errors import ServiceError
from service.limits import BODY_BYTES

WHOLE, BODY, NEEDED = "whole", "body", "needed"
REPEAT, ONCE = "repeat", "once"
Function = Callable[[Call], Answer | Mapping[str, Any]]
Check = Callable[[Call], None]
Prepare = Callable[[Call], Any]
Keep = Callable[[Call], None]
Made = Callable[[Call, str], Any]


@dataclass(frozen=True, slots=True)
class Described:
    """One answer of a view for the published document: a sentence, a shape, an example."""

    detail: str
    schema: type[Schema] | None = None
    example: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Deprecation:
    """That a route is going to end: from when on nobody should begin with it, when it is gone, and the path of what comes instead."""

    since: datetime
    sunset: datetime
    successor: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One method of one path; ``name`` is a verb and a noun, where that of the function is none.

    ``within`` checks what the path names before the body is read; ``conditional`` asks for If-Match, ``matching`` heeds it if it is there;
    ``echo`` names path parameters that a body may repeat; texts under the key ``tolerant`` are checked later, one by one.
    ``prepare`` computes, with a session that reads, what the function then writes; where that raises Moved, both run once more.
    ``keep`` writes in the function's place, which then only makes the answer of what was prepared, before anybody waits for it.
    ``conflicts`` names the errors by which it refuses what does not go with what is stored (409), besides those of its key.
    ``asks`` marks a POST that changes nothing, so that it waits for no writer.
    ``keyed`` tells that it takes an Idempotency-Key: a repetition is answered as the first time (REPEAT), or refused
    because that answer held a secret (ONCE). ``made`` reads again what it answered, where that is kept as a thing at the address
    of its Location: then no copy is kept for repetitions.
    ``plans`` tells what of the view plans and needs a slot for it: all of it, or all that it prepares (WHOLE); only making
    the body of its answer (BODY), so that a caller who has that state already needs none; or what it does within the
    call's ``planning`` (NEEDED).
    ``local`` tells that it writes nothing but what is the site's in its path, and goes by nothing but that and the catalogue: on
    PostgreSQL others write for other sites meanwhile.
    ``places`` tells that it goes by the order of all changes: those that have no place in it yet are given one first.
    ``stands`` tells that the same request of the same token is answered the same for as long as its answer's standing holds.
    ``alone`` tells that a worker carries out one such request at a time, since it takes much of its time and memory.
    """

    method: str
    path: str
    function: Function
    noun: str
    name: str = ""
    roles: Collection[str] = DIRECTOR
    body: type[Schema] | None = None
    query: type[Schema] | None = None
    answers: Mapping[int, Described] = field(default_factory=dict)
    within: Check | None = None
    conditional: bool = False
    matching: bool = False
    prepare: Prepare | None = None
    keep: Keep | None = None
    echo: tuple[str, ...] = ()
    tolerant: str | None = None
    conflicts: tuple[type[ServiceError], ...] = ()
    asks: bool = False
    keyed: str | None = None
    made: Made | None = None
    plans: str | None = None
    local: bool = False
    places: bool = False
    stands: bool = False
    alone: bool = False
    limit: int = BODY_BYTES
    produces: tuple[str, ...] = (JSON,)
    example: Any = None
    deprecated: Deprecation | None = None

    @property
    def operation(self) -> str:
        """A verb and a noun by which clients call the view: its name, else that of its function."""
        return self.name or self.function.__name__

    @property
    def summary(self) -> str:
        """The docstring's first line."""
        return (self.function.__doc__ or "").strip().split("\n")[0]

    @property
    def description(self) -> str:
        """What follows the docstring's first line."""
        lines = (self.function.__doc__ or "").strip().split("\n")[1:]
        return "\n".join(line.strip() for line in lines).strip()

    @property
    def open(self) -> bool:
        """Whether the view asks for no token."""
        return self.roles == OPEN

    @property
    def matches(self) -> bool:
        """Whether the view reads If-Match."""
        return self.conditional or self.matching

    @property
    def writes(self) -> bool:
        """Whether the view may change anything."""
        return self.method != "GET" and not self.asks


class Noun:
    """The views of one noun, in the order of their declaration."""

    def __init__(self, name: str, description: str) -> None:
        self.name = name
        self.description = description
        self.views: list[View] = []

    def view(self, method: str, path: str, **declaration: Any) -> Callable[[Function], Function]:
        """Declare the decorated function as a view."""

        def declare(function: Function) -> Function:
            self.views.append(View(method=method, path=path, function=function, noun=self.name, **declaration))
            return function

        return declare

"""A request as a view sees it: who, when, on what, with which body, in one session.

Responsible for carrying these. Refuses to know HTTP beyond them.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from service.config import Config
from service.operations.tokens import Identity

Expected = frozenset[str] | None


@dataclass(slots=True, kw_only=True)
class Call:
    """One authorised request. ``session`` is a reader until all is read and ``prepared``, then a writer for requests that write.

    ``links`` takes the paths that the answer leads to, by their relation.
    ``planning`` gives a slot to plan in, where the view does not always plan.
    """

    session: Session
    identity: Identity
    now: datetime
    config: Config
    path: dict[str, Any]
    address: str
    query: dict[str, Any] = field(default_factory=dict)
    body: Any = None
    expected: Expected = None
    prepared: Any = None
    planning: Callable[[], AbstractContextManager[None]] = nullcontext
    arguments: list[tuple[str, str]] = field(default_factory=list)
    links: dict[str, str] = field(default_factory=dict)

    @property
    def code(self) -> str:
        """The code in the path."""
        return str(self.path["code"])

    @property
    def site(self) -> str:
        """The site in the path."""
        return str(self.path["site"])

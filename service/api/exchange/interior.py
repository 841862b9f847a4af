"""What the interface needs of the rest of the house, hung on the application once.

Responsible for handing configuration, sessions and the table of views to the routing layer. Refuses
to make any of them.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from flask import Flask
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.api.exchange.idempotency import Twins
from service.api.exchange.metrics import Metrics
from service.api.exchange.readiness import Readiness
from service.api.exchange.slots import Slots
from service.api.exchange.traffic import Traffic
from service.api.exchange.views import Noun, View
from service.api.wire.kept import KeptBytes
from service.config import Config

KEY = "kitchen_prep"


@dataclass(slots=True, kw_only=True)
class Interior:
    """Configuration, engine, the makers of sessions, the nouns, every view by its endpoint, and what watches the load.

    A hasty writer hardly waits for its turn. Requests that plan take one of the ``slots``, one that is to be ``alone`` the only one.
    """

    config: Config
    engine: Engine
    readers: Callable[[], Session]
    writers: Callable[[], Session]
    hasty_writers: Callable[[], Session]
    traffic: Traffic
    slots: Slots
    alone: Slots
    twins: Twins
    metrics: Metrics
    readiness: Readiness
    kept: KeptBytes = field(default_factory=KeptBytes)
    nouns: list[Noun] = field(default_factory=list)
    views: dict[str, View] = field(default_factory=dict)

    def hang(self, app: Flask) -> None:
        """Hang this on an application."""
        app.extensions[KEY] = self

    @staticmethod
    def of(app: Flask) -> "Interior":
        """What hangs on an application."""
        interior: Interior = app.extensions[KEY]
        return interior

"""The application: the only place where the parts of the house are put together.

Responsible for wiring configuration, database, interface and log. Refuses to hold any rule.
"""

import sys
from typing import Any

import structlog
from flask import Flask
from flask_cors import CORS
from werkzeug.middleware.proxy_fix import ProxyFix

from service.api.document import docs, openapi
from service.api.exchange import exchange, routing
from service.api.exchange.idempotency import Twins
from service.api.exchange.interior import Interior
from service.api.exchange.metrics import Metrics
from service.api.exchange.readiness import Readiness
from service.api.exchange.slots import Slots
from service.api.exchange.standing import StandingAnswers
from service.api.exchange.traffic import Traffic
from service.api.nouns.allergens import allergens
from service.api.nouns.capacity import capacity
from service.api.nouns.catalogue import equipment, ingredients, menu_items, sites, stations
from service.api.nouns.costs import costs
from service.api.nouns.counts import counts, overrides
from service.api.nouns.forecasts import forecasts
from service.api.nouns.imports import imports
from service.api.nouns.orders import orders
from service.api.nouns.prep_lists import prep_lists
from service.api.nouns.prints import printing
from service.api.nouns.recipes import recipes
from service.api.nouns.running import running
from service.api.nouns.schedules import schedules
from service.api.nouns.sheet_links import sheet_links
from service.api.nouns.tokens import tokens
from service.api.nouns.versions import versions
from service.api.schemas.stored import completions
from service.config import Config
from service.store.documents import complete_by
from service.store.engine import AT_ONCE_SECONDS, at_once_factory, make_engine, session_factory

NOUNS = [
    prep_lists,
    schedules,
    printing,
    sheet_links,
    orders,
    forecasts,
    overrides,
    counts,
    capacity,
    stations,
    equipment,
    ingredients,
    recipes,
    versions,
    menu_items,
    allergens,
    costs,
    sites,
    imports,
    tokens,
    running,
]
EXPOSED = [
    *("ETag", "Location", "Link", "X-Request-Id", "Retry-After", "RateLimit", "RateLimit-Policy"),
    *("Idempotent-Replayed", "Deprecation", "Sunset"),
]
ALLOWED = ["Authorization", "Content-Type", "Content-Encoding", "If-Match", "If-None-Match", "Idempotency-Key", "X-Request-Id"]


def create_app(config: Config) -> Flask:
    """The web application of a configuration; the database must be there by the first request."""
    configure_log(config.log_level)
    complete_by(completions())
    engine = make_engine(config.database_url)
    app = Flask("service", static_folder=None)
    readers, writers = session_factory(engine, read_only=True), session_factory(engine)
    traffic, slots = Traffic(at_once_factory(engine)), Slots(config.plans_at_once, f"{config.plans_at_once} lists are being planned here")
    interior = Interior(
        config=config,
        engine=engine,
        readers=readers,
        writers=writers,
        hasty_writers=session_factory(engine, wait=AT_ONCE_SECONDS),
        traffic=traffic,
        slots=slots,
        alone=Slots(1, "Another import is being checked here"),
        twins=Twins(),
        metrics=Metrics(),
        readiness=Readiness(engine, at_once_factory(engine)),
    )
    interior.hang(app)
    app.wsgi_app = StandingAnswers(app.wsgi_app, interior)  # type: ignore[method-assign]
    if config.proxies:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=config.proxies, x_proto=config.proxies, x_host=0)  # type: ignore[method-assign]
    exchange.install(app)
    routing.register(app, NOUNS)
    docs.install(app)
    if config.cors_origins:
        CORS(app, origins=list(config.cors_origins), allow_headers=ALLOWED, expose_headers=EXPOSED, max_age=600)
    return app


def published_document() -> str:
    """The OpenAPI document of the interface, as the text of the committed file."""
    return openapi.write(NOUNS)


def configure_log(level: str) -> None:
    """Write the log as one JSON object a line on standard error, from a level on."""
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.JSONRenderer(),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(level),
        logger_factory=log_to_standard_error,
        cache_logger_on_first_use=False,
    )


def log_to_standard_error(*_: Any) -> structlog.WriteLogger:
    """A logger on the standard error of the moment, which tests and servers may exchange.

    A line is written in one go with its end: in two, lines of two workers would run into one another.
    """
    return structlog.WriteLogger(sys.stderr)

"""Metrics: what a watcher of the service counts and measures, as Prometheus reads it.

Responsible for the names, and for one page over all workers. Refuses to label anything by what callers
choose (paths, tokens): routes are named by their rule. Where PROMETHEUS_MULTIPROC_DIR names a folder when
this module is first imported, every worker keeps its numbers in files there, and each answers for all.
"""

import os
import platform
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from time import monotonic

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily, InfoMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from service import __version__

FOLDER = "PROMETHEUS_MULTIPROC_DIR"
METHODS = frozenset({"GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE"})
REQUEST_BUCKETS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)
WRITER_BUCKETS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)
PLANNING_BUCKETS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)
OUTCOMES = ("stored", "unchanged", "superseded", "refused", "unmapped", "past")


class Metrics:
    """The numbers of one application."""

    def __init__(self) -> None:
        self.registry = here = CollectorRegistry()
        self.requests = Counter("kitchen_prep_requests", "Requests answered.", ["route", "method", "status"], registry=here)
        self.seconds = Histogram(
            "kitchen_prep_request_seconds",
            "Seconds from a request's headers to its answer.",
            ["route", "method"],
            buckets=REQUEST_BUCKETS,
            registry=here,
        )
        self.planned = Histogram(
            "kitchen_prep_planning_seconds",
            "Seconds of loading, planning and writing in a planning slot.",
            ["route"],
            buckets=PLANNING_BUCKETS,
            registry=here,
        )
        self.waited = Histogram(
            "kitchen_prep_writer_wait_seconds",
            "Seconds that a request waited for its turn to write.",
            ["route", "method"],
            buckets=WRITER_BUCKETS,
            registry=here,
        )
        self.wrote = Histogram(
            "kitchen_prep_writer_seconds",
            "Seconds of a request's turn to write, in which nobody else writes what it goes by.",
            ["route", "method"],
            buckets=WRITER_BUCKETS,
            registry=here,
        )
        self.entries = Counter(
            "kitchen_prep_forecast_entries", "Entries of forecast pushes, by what became of them.", ["outcome"], registry=here
        )
        for outcome in OUTCOMES:
            self.entries.labels(outcome)

    def count_request(self, route: str | None, method: str, status: int, seconds: float) -> None:
        """Count one answered request; methods and routes that the service does not have are counted as one."""
        named = (route or "none", method if method in METHODS else "other")
        self.requests.labels(*named, str(status)).inc()
        self.seconds.labels(*named).observe(seconds)

    def count_push(self, answer: Mapping[str, object]) -> None:
        """Count the entries of a push by the answer to it; unmapped ones are among the others too."""
        for outcome in OUTCOMES:
            entries = answer[outcome]
            self.entries.labels(outcome).inc(entries if isinstance(entries, int) else len(entries))  # type: ignore[arg-type]

    @contextmanager
    def planning(self, route: str) -> Iterator[None]:
        """Measure how long a block plans."""
        started = monotonic()
        try:
            yield
        finally:
            self.planned.labels(route).observe(monotonic() - started)

    @contextmanager
    def turn(self, route: str, method: str) -> Iterator[Callable[[], None]]:
        """Measure how long a block waits for its turn to write, and from there how long it writes; it tells when its turn has come."""
        started = monotonic()
        come: list[float] = []
        try:
            yield lambda: come.append(monotonic())
        finally:
            ended = monotonic()
            self.waited.labels(route, method).observe((come[0] if come else ended) - started)
            if come:
                self.wrote.labels(route, method).observe(ended - come[0])

    def page(self, heard: Mapping[str, datetime] | None, now: datetime) -> bytes:
        """The numbers of all workers as text, the newest moment of each source as an age; ``heard`` is None where no database tells."""
        registry = self.registry
        if FOLDER in os.environ:
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call] # The library leaves it so.
        # An age is the same in each worker: it must not be among the numbers that are added up over them.
        told = CollectorRegistry()
        told.register(Told(heard, now))
        return generate_latest(registry) + generate_latest(told)


class Told(Collector):
    """What is read when it is asked for, and kept nowhere."""

    def __init__(self, heard: Mapping[str, datetime] | None, now: datetime) -> None:
        self.heard = heard
        self.now = now

    def collect(self) -> Iterable[Metric]:
        """The age of the newest forecast of each source, and what runs here."""
        ages = GaugeMetricFamily(
            "kitchen_prep_newest_forecast_age_seconds", "Seconds since the newest as_of that a source pushed.", labels=["source"]
        )
        for source, as_of in (self.heard or {}).items():
            ages.add_metric([source], max(0.0, (self.now - as_of).total_seconds()))
        yield ages
        yield GaugeMetricFamily(
            "kitchen_prep_database_answers", "1 where the database could be read for this page.", self.heard is not None
        )
        build = InfoMetricFamily("kitchen_prep_build", "What runs here.")
        build.add_metric([], {"version": __version__, "python": platform.python_version()})
        yield build

"""Executors: who plans a whole group, processes of this machine or the workers of a cluster.

Responsible for the choice, for one engine in each worker, and for lists as lines of JSON. Refuses to know how blocks of sites are
dealt out, and how a list is planned.
"""

import atexit
import multiprocessing
import os
import signal
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache, partial
from typing import Any, NamedTuple

from sqlalchemy import Engine, make_url
from sqlalchemy.orm import Session

from service import shell
from service.api.wire.json import render
from service.config import Config
from service.errors import ServiceError
from service.garbage import search_seldom
from service.operations.groups import Block, Crew, answers, blocks_of, plan_once, summarise
from service.operations.lists import ListRequest
from service.operations.loading import load_catalogue
from service.store.engine import session_factory

CLUSTER_SECONDS = 10


class NoCluster(Exception):
    """The group cannot be planned on a cluster; the message says what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupRequest:
    """Which lists are asked for: of a date, from ``first`` unless each site's own, ``whole`` or what they amount to, all at one moment."""

    config: Config
    on: date
    first: date | None
    whole: bool
    now: datetime


class SiteLine(NamedTuple):
    """What is written of a site: a line of JSON, and why there is no list where there is none."""

    site: str
    text: str
    refused: str | None


def processes(number: int | None) -> Crew:
    """Processes of this machine: so many, else as many as there are cores. They are started anew, so that none inherits a connection."""
    workers = number or os.cpu_count() or 1
    # An interrupt reaches the whole group of processes; the command alone decides what becomes of it.
    start = partial(
        ProcessPoolExecutor,
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),
    )
    return Crew(start, workers)


def cluster(config: Config, address: str) -> Crew:
    """The workers that a scheduler has now, which retries by itself what they die of; raises NoCluster."""
    if make_url(config.database_url).get_backend_name() == "sqlite":
        raise NoCluster("the workers of a cluster share one PostgreSQL: set DATABASE_URL to it, SQLite is for one machine")
    try:
        from distributed import Client, KilledWorker  # noqa: PLC0415 - it is an extra, and takes long to load
    except ModuleNotFoundError as error:
        raise NoCluster("to plan on a cluster, install kitchen-prep[cluster]") from error

    @contextmanager
    def connected() -> Iterator[Client]:
        try:
            client = Client(address, timeout=CLUSTER_SECONDS)
        except (OSError, ValueError) as error:
            raise NoCluster(f"no scheduler answers at {address}: {error}") from error
        with client:
            yield client

    @contextmanager
    def start() -> Iterator[Executor]:
        with connected() as client, client.get_executor(pure=False) as executor:
            yield executor

    with connected() as client:
        workers = sum(client.nthreads().values())
    if not workers:
        raise NoCluster(f"the scheduler at {address} has no workers yet: start some")
    return Crew(start, workers, (KilledWorker,))


def plan_sites(crew: Crew, asked: GroupRequest, sites: Sequence[str]) -> Iterator[Sequence[SiteLine]]:
    """The lines of all sites, each once, a block at a time as they are planned."""
    for block, lines in answers(crew, partial(plan_block, asked), blocks_of(sites, crew.workers)):
        yield [_refused(asked, site, "its worker ended again and again") for site in block] if lines is None else lines


def plan_block(asked: GroupRequest, block: Block) -> list[SiteLine]:
    """The lines of some sites, in a worker; they are planned from one state of the database."""
    with session_factory(_engine(asked.config), read_only=True)() as session:
        return [_line(session, asked, site) for site in block]


@cache
def _engine(config: Config) -> Engine:
    """The engine of this process, opened once; the catalogue stays loaded for it."""
    opened = ExitStack()
    atexit.register(opened.close)
    engine = opened.enter_context(shell.current_engine(config))
    with session_factory(engine, read_only=True)() as session:
        load_catalogue(session)
    search_seldom()
    return engine


def _line(session: Session, asked: GroupRequest, site: str) -> SiteLine:
    request = ListRequest(site=site, on=asked.on, first=asked.first, pinned=asked.config.pinned is not None)
    try:
        document = plan_once(session, request, asked.now)
    except ServiceError as error:
        return _refused(asked, site, shell.explain(error))
    return SiteLine(site, _text(document if asked.whole else summarise(document)), None)


def _refused(asked: GroupRequest, site: str, why: str) -> SiteLine:
    return SiteLine(site, _text({"site": site, "date": asked.on.isoformat(), "error": why}), why)


def _text(value: Any) -> str:
    return render(value).decode()

"""A whole group: the lists of a date of many sites, planned in blocks by whatever executor there is.

Responsible for what is told of each site, for dealing out blocks, and for every block being answered once although workers die.
Refuses to know where the workers are, how they reach the database, and how a list is planned.
"""

from collections import Counter, deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from service.kitchen.lists.documents import PrepList
from service.operations.lists import ListRequest, document_of, first_date, known_site, plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid

Answer = TypeVar("Answer")
Block = tuple[str, ...]

# Small enough that workers end together and little waits to be written, large enough that dealing out costs nothing beside planning.
BLOCK = 8
# Each worker has a block to go on with while the answer to the last one is on its way.
AHEAD = 2
# How often a block may be among those that a dying executor held before it is tried by itself, and how often then.
TRIES = 2


@dataclass(frozen=True, slots=True)
class Crew:
    """Workers: how to start an executor of them, how many there are, and what it raises of a block that it has tried often enough."""

    start: Callable[[], AbstractContextManager[Executor]]
    workers: int
    gives_up: tuple[type[Exception], ...] = ()


def plan_once(session: Session, request: ListRequest, now: datetime) -> PrepList:
    """A list as ``lists.prep_list`` plans it, without keeping the plan: nobody asks for another slice of it. Raises as that does."""
    catalogue = load_catalogue(session)
    site = known_site(catalogue, request.site)
    first = first_date(catalogue, site, request, now)
    return document_of(session, plan_without(session, catalogue, site, first, request.on, Unsaid()), catalogue, site, request, now)


def summarise(document: PrepList) -> dict[str, Any]:
    """What a list amounts to: how many tasks, late ones, pulls, left-over lots and warnings it has."""
    tasks = [task for station in document["stations"] for task in station["tasks"]]
    return {
        "site": document["site"],
        "date": document["date"],
        "from": document["from"],
        "tasks": len(tasks),
        "late": sum(task["late"] for task in tasks),
        "pulls": len(document["pulls"]),
        "left_over": len(document["left_over"]),
        "warnings": len(document["warnings"]),
    }


def blocks_of(sites: Sequence[str], workers: int) -> Iterator[Block]:
    """The sites in blocks: smaller ones where there are few sites, so that every worker has some."""
    size = max(1, min(BLOCK, len(sites) // (AHEAD * workers)))
    return (tuple(sites[start : start + size]) for start in range(0, len(sites), size))


def answers(crew: Crew, work: Callable[[Block], Answer], blocks: Iterable[Block]) -> Iterator[tuple[Block, Answer | None]]:
    """Each block once, as it is answered, with what the work made of it; None of one that its workers died of again and again.

    What the work raises ends it all.
    """
    left, losses = deque(blocks), Counter[Block]()
    while left:
        with crew.start() as executor:
            lost = yield from _answered(crew, executor, work, left)
        losses.update(lost)
        left.extendleft(block for block in lost if losses[block] < TRIES)
        for block in lost:
            if losses[block] >= TRIES:
                # It may have been beside the one to blame each time.
                yield block, _answer_alone(crew, work, block)


def _answered(
    crew: Crew, executor: Executor, work: Callable[[Block], Answer], left: deque[Block]
) -> Generator[tuple[Block, Answer | None], None, list[Block]]:
    """Take blocks from those that are left until all are answered or the executor dies; returns those that it held then."""
    flying: dict[Future[Answer], Block] = {}
    lost: list[Block] = []
    while flying or (left and not lost):
        while left and not lost and len(flying) < AHEAD * crew.workers:
            block = left.popleft()
            try:
                flying[executor.submit(work, block)] = block
            except BrokenExecutor:
                lost.append(block)
        for future in wait(flying, return_when=FIRST_COMPLETED).done:
            block = flying.pop(future)
            try:
                answer = future.result()
            except BrokenExecutor:
                lost.append(block)
            except crew.gives_up:
                yield block, None
            else:
                yield block, answer
    return lost


def _answer_alone(crew: Crew, work: Callable[[Block], Answer], block: Block) -> Answer | None:
    """What becomes of a block while its executor does nothing else."""
    for _ in range(TRIES):
        with crew.start() as executor:
            try:
                return executor.submit(work, block).result()
            except BrokenExecutor:
                continue
    return None

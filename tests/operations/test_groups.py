"""A whole group is planned a block at a time, each site once, whatever becomes of the workers."""

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, ThreadPoolExecutor
from contextlib import contextmanager

import pytest

from service.operations.groups import AHEAD, BLOCK, TRIES, Block, Crew, answers, blocks_of


class Mortal(ThreadPoolExecutor):
    """Workers of which all die when one does: by a block that ``kills`` says."""

    def __init__(self, kills: Callable[[Block], bool]) -> None:
        super().__init__(2)
        self.kills, self.dead = kills, threading.Event()

    def answer(self, block: Block) -> str:
        if self.kills(block):
            self.dead.set()
        if self.dead.is_set():
            raise BrokenExecutor
        return "+".join(block)


class Crews:
    """Starts mortal executors and counts them."""

    def __init__(self, kills: Callable[[Block], bool]) -> None:
        self.kills, self.started = kills, 0
        self.crew = Crew(self.start, 2)

    @contextmanager
    def start(self) -> Iterator[Executor]:
        self.started += 1
        with Mortal(self.kills) as self.executor:
            yield self.executor

    def answers(self, blocks: Sequence[Block]) -> list[tuple[Block, str | None]]:
        return list(answers(self.crew, self.work, blocks))

    def work(self, block: Block) -> str:
        return self.executor.answer(block)


SITES = [f"site-{number}" for number in range(50)]
BLOCKS = [(site,) for site in SITES]


@pytest.mark.parametrize("workers", [1, 2, 7, 64])
@pytest.mark.parametrize("number", [0, 1, 3, 50, 1000])
def test_every_site_is_in_one_block_and_every_worker_has_some(number: int, workers: int) -> None:
    sites = [f"site-{each}" for each in range(number)]
    blocks = list(blocks_of(sites, workers))
    assert [site for block in blocks for site in block] == sites
    assert all(1 <= len(block) <= BLOCK for block in blocks)
    assert len(blocks) >= min(number, workers)


def test_blocks_are_answered_once_each() -> None:
    crews = Crews(lambda block: False)
    assert sorted(crews.answers(BLOCKS)) == sorted((block, block[0]) for block in BLOCKS)
    assert crews.started == 1


def test_a_death_loses_nothing_and_repeats_nothing() -> None:
    dying = ["site-20", "site-33"]
    crews = Crews(lambda block: block[0] in dying and not dying.remove(block[0]))  # type: ignore[func-returns-value]
    assert sorted(crews.answers(BLOCKS)) == sorted((block, block[0]) for block in BLOCKS)
    assert crews.started == 3


def test_a_block_that_kills_whoever_takes_it_is_given_up_alone() -> None:
    crews = Crews(lambda block: block == ("site-20",))
    found = dict(crews.answers(BLOCKS))
    assert [block for block, answer in found.items() if answer is None] == [("site-20",)]
    assert len(found) == len(BLOCKS)
    assert crews.started <= 1 + TRIES + TRIES * 2 * AHEAD


def test_a_block_that_its_engine_gives_up_is_told() -> None:
    class Given(Exception):
        pass

    def work(block: Block) -> str:
        if block == ("site-3",):
            raise Given
        return block[0]

    crew = Crew(lambda: ThreadPoolExecutor(2), 2, (Given,))
    assert dict(answers(crew, work, BLOCKS)) == {block: None if block == ("site-3",) else block[0] for block in BLOCKS}


def test_what_the_work_raises_ends_it_all() -> None:
    def work(block: Block) -> str:
        raise ZeroDivisionError(block)

    with pytest.raises(ZeroDivisionError):
        list(answers(Crew(lambda: ThreadPoolExecutor(2), 2), work, BLOCKS))


def test_no_more_blocks_are_taken_than_the_workers_can_go_on_with() -> None:
    taken = []
    lock = threading.Lock()

    def work(block: Block) -> str:
        with lock:
            taken.append(block)
        return block[0]

    for number, _ in enumerate(answers(Crew(lambda: ThreadPoolExecutor(2), 2), work, BLOCKS)):
        with lock:
            assert len(taken) <= number + 2 * AHEAD + 1

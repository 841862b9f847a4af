"""Cooks who report as fast as they are answered, in a process of their own, which tells what it and the watched ones took.

Responsible for asking as cheaply as can be: whoever measures shares the machine with what is measured. Refuses to know what is served.
"""

import os
import socket
import threading
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import count, cycle
from multiprocessing import get_context

from service.kitchen.planning.names import work_of
from tests.load.poller import cpu_seconds

OWN = "the cooks"


@dataclass(frozen=True, slots=True)
class Paper:
    """A printed list as a cook holds it: its address, the token of the kitchen, and its tasks."""

    day: str
    token: str
    tasks: Sequence[str]


@dataclass(slots=True)
class Shift:
    """Some seconds of cooks: how long each report took, the statuses of what was refused, and seconds of CPU by who took them."""

    seconds: float = 0.0
    waits: list[float] = field(default_factory=list)
    refused: Counter[int] = field(default_factory=Counter)
    cpu: dict[str, float] = field(default_factory=dict)

    @property
    def rate(self) -> float:
        """Reports a second."""
        return len(self.waits) / self.seconds


def work(port: int, papers: Sequence[Paper], watched: Mapping[str, int], *, cooks: int, warm: float, seconds: float) -> Shift:
    """Let so many cooks report, spread over the papers, and count after a warm-up; ``watched`` are processes by name."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(_work, port, papers, watched, cooks, warm, seconds).result()


def _work(port: int, papers: Sequence[Paper], watched: Mapping[str, int], cooks: int, warm: float, seconds: float) -> Shift:
    shift, counting, over = Shift(), threading.Event(), threading.Event()
    lines = [Line(port, paper.token) for paper, _ in zip(cycle(papers), range(cooks), strict=False)]
    threads = [
        threading.Thread(target=_cook, args=(line, papers[place % len(papers)].day, tasks, shift, counting, over))
        for place, (line, tasks) in enumerate(zip(lines, shares(papers, cooks), strict=True))
    ]
    for thread in threads:
        thread.start()
    time.sleep(warm)
    processes = {**watched, OWN: os.getpid()}
    began, before = time.monotonic(), {name: cpu_seconds(process) for name, process in processes.items()}
    counting.set()
    time.sleep(seconds)
    counting.clear()
    shift.seconds = time.monotonic() - began
    shift.cpu = {name: cpu_seconds(process) - before[name] for name, process in processes.items()}
    over.set()
    for thread in threads:
        thread.join()
    return shift


def shares(papers: Sequence[Paper], cooks: int) -> list[list[str]]:
    """The tasks that each cook reports: work of their own, as long as there is any; nobody reports a run while another does."""
    given = []
    for place in range(cooks):
        tasks = papers[place % len(papers)].tasks
        works = list(dict.fromkeys(work_of(task)[1] for task in tasks))
        own = works[place // len(papers) :: -(-cooks // len(papers))] or works
        given.append([task for task in tasks if work_of(task)[1] in own])
    return given


def _cook(line: "Line", day: str, tasks: Sequence[str], shift: Shift, counting: threading.Event, over: threading.Event) -> None:
    for number, task in zip(count(), cycle(tasks)):
        if over.is_set():
            break
        began = time.monotonic()
        status = line.put(f"{day}/tasks/{task}/progress", b'{"state":"done","note":"%d"}' % number)
        if status != 200:
            shift.refused[status] += 1
            time.sleep(0.1)
        elif counting.is_set():
            shift.waits.append(time.monotonic() - began)
    line.close()


class Line:
    """A line that is kept open, over which one thing after the other is put."""

    def __init__(self, port: int, token: str) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=60)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.file = self.socket.makefile("rb")
        self.head = f"Host: cooks\r\nAuthorization: Bearer {token}\r\nContent-Type: application/json\r\nContent-Length: "

    def put(self, path: str, body: bytes) -> int:
        """The status of the answer."""
        self.socket.sendall(f"PUT {path} HTTP/1.1\r\n{self.head}{len(body)}\r\n\r\n".encode() + body)
        status, length = int(self.file.readline().split()[1]), 0
        while (header := self.file.readline()) != b"\r\n":
            if header.lower().startswith(b"content-length:"):
                length = int(header.partition(b":")[2])
        self.file.read(length)
        return status

    def close(self) -> None:
        """Hang up."""
        self.file.close()
        self.socket.close()

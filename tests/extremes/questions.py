"""Questions: every route that computes, asked of one catalogue, each within so many seconds of CPU.

Responsible for asking, for ending what takes too long, and for the most memory that was held. Refuses to know the catalogues.
"""

import json
import signal
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any, NamedTuple

from tests.bench.scene import Scene, call
from tests.extremes.shapes import FLOUR, LEAF, SITE, START, Document

ALLOWED = 60.0
"""After so many seconds of CPU a question is ended."""
SECONDS, MEGABYTES = 10.0, 400
"""What an answer should take at most."""
LISTS = f"/v1/sites/{SITE}/prep-lists"
LAST = START + timedelta(62)


class Question(NamedTuple):
    """A request, by a name."""

    name: str
    method: str
    path: str
    content: Any = None
    headers: Mapping[str, str] = {}


class Asked(NamedTuple):
    """A question with its answer: the CPU seconds that it took (infinite where it was ended), the most MB that the process held
    meanwhile, its status and its content.
    """

    name: str
    seconds: float
    megabytes: int
    status: int
    content: bytes


class TooLong(BaseException):
    """A question took all that it was allowed; whatever handles errors must not take it for one."""


@contextmanager
def ended_after(seconds: float) -> Iterator[None]:
    """End a block once it has used so much CPU."""

    def end(*_: Any) -> None:
        raise TooLong

    before = signal.signal(signal.SIGVTALRM, end)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def answers(scene: Scene, asked: Iterable[Question], allowed: float = ALLOWED) -> Iterator[Asked]:
    """Every question, one after the other; what was published for one stays for the next."""
    for name, method, path, content, headers in asked:
        forget_peak()
        began = time.process_time()
        try:
            with ended_after(allowed):
                answer, status = call(scene.app, scene.request(method, path, content, **headers))
        except TooLong:
            yield Asked(name, float("inf"), peak(), 0, b"")
        else:
            yield Asked(name, time.process_time() - began, peak(), status, answer)


def forget_peak() -> None:
    """Measure the most memory from now on (proc(5), clear_refs)."""
    Path("/proc/self/clear_refs").write_text("5", "utf-8")


def peak() -> int:
    """The most memory that this process held since it was forgotten, in MB."""
    lines = Path("/proc/self/status").read_text("utf-8").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM:")) // 1024


def questions(body: Document) -> Iterator[Question]:
    """All that is asked of one catalogue."""
    top, dish = body["recipes"][0]["code"], body["menu_items"][0]["code"]
    draft = {key: value for key, value in body["recipes"][-1].items() if key not in ("code", "publish_from")}
    imported = json.dumps(body).encode()
    publication = {"from": str(START), "acknowledge": ["rye"]}
    yield Question("import", "POST", "/v1/imports", imported)
    yield Question("import it again", "POST", "/v1/imports", imported)
    yield Question("push", "POST", "/v1/forecasts", pushed(body))
    for noun, code in (("recipes", top), ("menu-items", dish)):
        yield Question(f"cost of {noun}", "GET", f"/v1/{noun}/{code}/cost?site={SITE}")
        yield Question(f"allergens of {noun}", "GET", f"/v1/{noun}/{code}/allergens?site={SITE}")
    yield Question("uses", "GET", f"/v1/ingredients/{FLOUR}/uses")
    yield Question("put a draft", "PUT", f"/v1/recipes/{LEAF}/draft", {**draft, "title": "Another leaf"}, {"If_Match": "*"})
    yield Question("preview", "POST", f"/v1/recipes/{LEAF}/draft/preview", publication)
    yield Question("publish", "POST", f"/v1/recipes/{LEAF}/versions", publication)
    flour = {**body["ingredients"][0], "contains": ["wheat", "rye"]}
    yield Question("put an ingredient", "PUT", f"/v1/ingredients/{FLOUR}?acknowledge=rye", flour, {"If_Match": "*"})
    scaled = {"to": {"quantity": grams_of(body)}, "site": SITE}
    yield Question("scale to a quantity", "POST", f"/v1/recipes/{top}/scalings", scaled)
    have = {"item": {"ingredient": FLOUR}, "quantity": {"amount": 5, "unit": "kg"}}
    yield Question("scale to what there is", "POST", f"/v1/recipes/{top}/scalings", {"to": {"have": have}, "site": SITE})
    yield Question("list", "GET", f"{LISTS}/{START}")
    yield Question("list with its trace", "GET", f"{LISTS}/{START}?trace=true")
    yield Question("list as a sheet", "GET", f"{LISTS}/{START}", None, {"Accept": "text/html"})
    yield Question("list in 62 days", "GET", f"{LISTS}/{LAST}")
    if "shifts" in body["sites"][0]:
        yield Question("schedule", "GET", f"/v1/sites/{SITE}/schedules/{START}")
        yield Question("schedule without helps", "GET", f"/v1/sites/{SITE}/schedules/{START}?helps=false")
    yield Question("print", "POST", f"{LISTS}/{START}/prints")
    yield Question("changes", "GET", f"{LISTS}/{START}/changes?since=1")
    yield Question("order list", "GET", f"/v1/sites/{SITE}/order-lists?from={START}&to={LAST}")
    yield Question("lists of all sites", "GET", f"/v1/prep-lists/{START}")


def grams_of(body: Document) -> Document:
    """Five batches of the topmost recipe."""
    made: Document = body["recipes"][0]["yield"]
    return {**made, "amount": 5 * made["amount"]}


def pushed(body: Document) -> Document:
    """As many guests as may be, on as many dates and for as many menu items as one push holds."""
    entries = [
        {"site": SITE, "date": str(START + timedelta(days)), "period": period["code"], "menu_item": sold["code"], "count": 1_000_000}
        for days in range(63)
        for sold in body["menu_items"][:12]
        for period in body["sites"][0]["periods"]
    ]
    return {"source": "till", "as_of": "2026-12-02T06:00:00Z", "entries": entries[:10_000]}

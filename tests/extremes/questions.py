"""Questions: every route that computes, asked of one catalogue, each within so many seconds of CPU.

Responsible for asking, and for ending what takes too long. Refuses to know the catalogues.
"""

import json
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any, NamedTuple

from tests.bench.scene import Scene, call
from tests.extremes.shapes import FLOUR, LEAF, SITE, START, Document

ALLOWED = 60.0
LISTS = f"/v1/sites/{SITE}/prep-lists"
LAST = START + timedelta(62)


class Asked(NamedTuple):
    """A question with its answer: the CPU seconds that it took (infinite where it was ended), its status and its content."""

    name: str
    seconds: float
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


def answers(scene: Scene, body: Document, allowed: float = ALLOWED) -> Iterator[Asked]:
    """Every question, one after the other; what was published for one stays for the next."""
    for name, method, path, content, headers in questions(body):
        began = time.process_time()
        try:
            with ended_after(allowed):
                answer, status = call(scene.app, scene.request(method, path, content, **headers))
        except TooLong:
            yield Asked(name, float("inf"), 0, b"")
        else:
            yield Asked(name, time.process_time() - began, status, answer)


def questions(body: Document) -> Iterator[tuple[str, str, str, Any, dict[str, str]]]:
    """Name, method, path, body and headers of each question."""
    top, dish = body["recipes"][0]["code"], body["menu_items"][0]["code"]
    draft = {key: value for key, value in body["recipes"][-1].items() if key not in ("code", "publish_from")}
    publication = {"from": str(START), "acknowledge": ["rye"]}
    yield "import", "POST", "/v1/imports", json.dumps(body).encode(), {}
    yield "import it again", "POST", "/v1/imports", json.dumps(body).encode(), {}
    yield "push", "POST", "/v1/forecasts", pushed(body), {}
    for noun, code in (("recipes", top), ("menu-items", dish)):
        yield f"cost of {noun}", "GET", f"/v1/{noun}/{code}/cost?site={SITE}", None, {}
        yield f"allergens of {noun}", "GET", f"/v1/{noun}/{code}/allergens?site={SITE}", None, {}
    yield "uses", "GET", f"/v1/ingredients/{FLOUR}/uses", None, {}
    yield "put a draft", "PUT", f"/v1/recipes/{LEAF}/draft", {**draft, "title": "Another leaf"}, {"If_Match": "*"}
    yield "preview", "POST", f"/v1/recipes/{LEAF}/draft/preview", publication, {}
    yield "publish", "POST", f"/v1/recipes/{LEAF}/versions", publication, {}
    flour = {**body["ingredients"][0], "contains": ["wheat", "rye"]}
    yield "put an ingredient", "PUT", f"/v1/ingredients/{FLOUR}?acknowledge=rye", flour, {"If_Match": "*"}
    scaled = {"to": {"quantity": grams_of(body)}, "site": SITE}
    yield "scale to a quantity", "POST", f"/v1/recipes/{top}/scalings", scaled, {}
    have = {"item": {"ingredient": FLOUR}, "quantity": {"amount": 5, "unit": "kg"}}
    yield "scale to what there is", "POST", f"/v1/recipes/{top}/scalings", {"to": {"have": have}, "site": SITE}, {}
    yield "list", "GET", f"{LISTS}/{START}", None, {}
    yield "list with its trace", "GET", f"{LISTS}/{START}?trace=true", None, {}
    yield "list as a sheet", "GET", f"{LISTS}/{START}", None, {"Accept": "text/html"}
    yield "list in 62 days", "GET", f"{LISTS}/{LAST}", None, {}
    if "shifts" in body["sites"][0]:
        yield "schedule", "GET", f"/v1/sites/{SITE}/schedules/{START}", None, {}
        yield "schedule without helps", "GET", f"/v1/sites/{SITE}/schedules/{START}?helps=false", None, {}
    yield "print", "POST", f"{LISTS}/{START}/prints", None, {}
    yield "changes", "GET", f"{LISTS}/{START}/changes?since=1", None, {}
    yield "order list", "GET", f"/v1/sites/{SITE}/order-lists?from={START}&to={LAST}", None, {}
    yield "lists of all sites", "GET", f"/v1/prep-lists/{START}", None, {}


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

"""The picture: cooks and machines of a date over its hours, as a bar chart of one drawing.

Responsible for where each row, band and box of it lies (domain K7, K10, K12), in units of its own, and for what a reader of it is told
in words. Refuses to compute: every moment stands in the document already; and to know how lines and hatches look.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal, NamedTuple, TypeVar

from service.api.sheets.clock import Clock
from service.kitchen.lists.documents import PrepList, TaskEntry
from service.kitchen.lists.parts import CookDay, CookWork, MachineDay, MachineStay
from service.kitchen.lists.schedule_documents import Schedule

LABEL, WIDTH, HEAD, ROW, GAP = 150, 1090, 18, 21, 3
HOUR = timedelta(hours=1)
# About how wide a letter is, and how far a text stands from the edge of its box.
LETTER, MARGIN = 5.1, 2.5
Look = Literal["hands", "stay", "shared", "left-out"]
Piece = TypeVar("Piece")


class LeftOut(NamedTuple):
    """A load without a place, where it would stand by the plan."""

    task: str
    load: int
    title: str
    starts: str
    ends: str


class Shown(NamedTuple):
    """What is to be drawn: cooks, machines, loads without a place, and the number and the count of loads of each task."""

    cooks: Sequence[CookDay]
    machines: Sequence[MachineDay]
    left_out: Sequence[LeftOut]
    numbers: Mapping[str, int]
    loads: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A piece of work: where it lies, what stands in it and what it tells; ``after`` is how wide the turn-round behind it is."""

    look: Look
    x: float
    width: float
    label: str
    told: str
    after: float = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A cook, a machine, or what finds no place: its name, its hours on duty, and its boxes."""

    name: str
    y: float
    bands: list[tuple[float, float]] = field(default_factory=list)
    boxes: list[Box]


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """The drawing: its size, the hours over it, each with where it lies, and its rows from the top down."""

    width: float
    height: float
    hours: list[tuple[float, str]]
    rows: list[Row]
    told: str


def of_list(document: PrepList, clock: Clock, numbers: Mapping[str, int], station: str | None = None) -> Picture | None:
    """The picture of a list, or of the rows of one station of it; None where its site states no capacity, or nothing is to be drawn."""
    if "capacity" not in document:
        return None
    capacity = document["capacity"]
    tasks = [task for each in document["stations"] if station in (None, each["code"]) for task in each["tasks"]]
    own = {task["id"] for task in tasks}
    return picture(
        Shown(
            cooks=[cook for cook in capacity["cooks"] if station is None or station in cook["stations"]],
            machines=[row for row in capacity["equipment"] if station is None or any(stay["task"] in own for stay in row["work"])],
            left_out=[each for task in tasks for each in _left_out(task)],
            numbers=numbers,
            loads={task["id"]: _count(task) for each in document["stations"] for task in each["tasks"]},
        ),
        clock,
    )


def of_schedule(document: Schedule, clock: Clock, numbers: Mapping[str, int]) -> Picture | None:
    """The picture of a schedule; None where nothing is to be drawn."""
    left_out = [each for each in document["loads"] if not each["fits"]]
    return picture(
        Shown(
            cooks=document["cooks"],
            machines=document["equipment"],
            left_out=[LeftOut(each["task"], each["number"], each["title"], each["starts"], each["ready"]) for each in left_out],
            numbers=numbers,
            loads={each["task"]: each["of"] for each in document["loads"]},
        ),
        clock,
    )


def picture(shown: Shown, clock: Clock) -> Picture | None:
    """Cooks, then machines, then what finds no place, a row each, over the hours from the first of them to the last."""
    moments = list(map(datetime.fromisoformat, _moments(shown)))
    if not moments:
        return None
    # Hours are those of the clock at the site, which may be an odd half of one away from others.
    starts, ends = min(moments).replace(minute=0, second=0), max(moments)
    number = max(1, -((starts - ends) // HOUR))
    scale = (WIDTH - LABEL) / number
    drawn = _Drawing(shown, clock, starts, scale / 60)
    rows = list(drawn.rows())
    # A step of an hour of elapsed time: on a date on which clocks change, the label follows them.
    hours = [(LABEL + index * scale, f"{(starts + index * HOUR).astimezone(starts.tzinfo):%H}") for index in range(number + 1)]
    told = f"What {len(shown.cooks)} cooks and {len(shown.machines)} machines do, hour by hour"
    return Picture(width=WIDTH, height=HEAD + len(rows) * (ROW + GAP) + GAP, hours=hours, rows=rows, told=told)


class _Drawing:
    """The rows of a picture, one below the other."""

    def __init__(self, shown: Shown, clock: Clock, starts: datetime, per_minute: float) -> None:
        self.shown, self.clock, self.starts, self.per_minute = shown, clock, starts, per_minute
        self.number = 0

    def rows(self) -> Iterator[Row]:
        for cook in self.shown.cooks:
            yield self._row(f"{cook['shift']} {cook['number']}", map(self._hands, cook["work"]), [(cook["from"], cook["until"])])
        for machine in self.shown.machines:
            name = machine["name"] if machine["shared"] or machine["number"] is None else f"{machine['name']} {machine['number']}"
            for stays in _side_by_side(machine["work"], _stays) or [[]]:
                yield self._row(name, (self._stay(stay, shared=machine["shared"]) for stay in stays))
        for loads in _side_by_side(self.shown.left_out, _stands):
            yield self._row("no place", map(self._left_out, loads))

    def _row(self, name: str, boxes: Iterable[Box], hours: Iterable[tuple[str, str]] = ()) -> Row:
        y = HEAD + GAP + self.number * (ROW + GAP)
        self.number += 1
        bands = [(self._x(starts), self._x(ends) - self._x(starts)) for starts, ends in hours]
        return Row(name=name, y=y, bands=bands, boxes=list(boxes))

    def _x(self, moment: str) -> float:
        minutes = (datetime.fromisoformat(moment) - self.starts) / timedelta(minutes=1)
        return round(min(WIDTH, max(LABEL, LABEL + minutes * self.per_minute)), 1)

    def _hands(self, work: CookWork) -> Box:
        return self._box("hands", work["task"], work["load"], work["title"], (work["starts"], work["ends"]), f"step {work['step']}")

    def _stay(self, stay: MachineStay, *, shared: bool) -> Box:
        amount = "" if stay["quantity"] is None else stay["quantity"]["display"]
        until = stay["free_again"]
        told = amount if until == stay["ends"] else f"{amount}, free again {self.clock.near(until)}"
        look: Look = "shared" if shared else "stay"
        return self._box(look, stay["task"], stay["load"], stay["title"], (stay["starts"], stay["ends"]), told, until)

    def _left_out(self, load: LeftOut) -> Box:
        return self._box("left-out", load.task, load.load, load.title, (load.starts, load.ends), "no place found")

    def _box(
        self, look: Look, task: str | None, load: int | None, title: str, times: tuple[str, str], detail: str, until: str | None = None
    ) -> Box:
        x, end = map(self._x, times)
        of = self.shown.loads.get(task or "", 1)
        which = f" {load}/{of}" if of > 1 else ""
        number = self.shown.numbers.get(task or "")
        label = _fitting((f"{number} {title}{which}", f"{number}{which}", f"{number}") if number else (f"{title}{which}",), end - x)
        told = f"{title}{which}, {self.clock.near(times[0])} to {self.clock.near(times[1])}"
        after = 0.0 if until is None else round(self._x(until) - end, 1)
        return Box(look=look, x=x, width=round(end - x, 1), label=label, told=f"{told}, {detail}" if detail else told, after=after)


def _fitting(texts: Iterable[str], width: float) -> str:
    """The first text that a box of a width holds; nothing where none does."""
    return next((text for text in texts if len(text) * LETTER + 2 * MARGIN <= width), "")


def _stays(stay: MachineStay) -> tuple[str, str]:
    return stay["starts"], stay["free_again"]


def _stands(load: LeftOut) -> tuple[str, str]:
    return load.starts, load.ends


def _count(task: TaskEntry) -> int:
    return 0 if task["kind"] == "use" else len(task.get("loads", ()))


def _left_out(task: TaskEntry) -> Iterator[LeftOut]:
    if task["kind"] != "use":
        for load in task.get("loads", ()):
            if not load["fits"]:
                yield LeftOut(task["id"], load["number"], task["item"]["title"], load["starts"], load["ready"])


def _moments(shown: Shown) -> Iterator[str]:
    """All moments that a picture must reach to: those of duties and work; what lies in a machine over night only near them."""
    for cook in shown.cooks:
        yield from (cook["from"], cook["until"])
    for load in shown.left_out:
        yield from (load.starts, load.ends)
    for machine in shown.machines if not shown.cooks else ():
        for stay in machine["work"]:
            yield from (stay["starts"], stay["ends"])


def _side_by_side(pieces: Iterable[Piece], span: Callable[[Piece], tuple[str, str]]) -> list[list[Piece]]:
    """Pieces of work in as many rows as lie side by side at most."""
    rows: list[list[Piece]] = []
    ends: list[datetime] = []
    for piece in sorted(pieces, key=lambda each: datetime.fromisoformat(span(each)[0])):
        starts, until = map(datetime.fromisoformat, span(piece))
        free = next((number for number, end in enumerate(ends) if end <= starts), len(rows))
        if free == len(rows):
            rows.append([])
            ends.append(until)
        rows[free].append(piece)
        ends[free] = until
    return rows

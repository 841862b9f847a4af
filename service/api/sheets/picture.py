"""The picture: cooks and machines of a date over its hours, as a bar chart of one drawing.

Responsible for where each row, band and box of it lies (domain K7, K10, K12), in units of its own, and for what a reader of it is told
in words. Refuses to compute: every moment stands in the document already; and to know how lines and hatches look.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Literal, NamedTuple, TypeVar

from service.api.sheets.clock import Clock
from service.kitchen.lists.documents import PrepList, TaskEntry
from service.kitchen.lists.parts import CookDay, CookWork, MachineDay, MachineStay
from service.kitchen.lists.schedule_documents import Schedule

# As wide as a page across, and as one upright: a unit is about a third of a millimetre on both.
WIDE, NARROW = 900, 620
HEAD, ROW, GAP, EDGE = 16, 18, 2, 6
HOUR = timedelta(hours=1)
# About how wide a letter is, and one of a name; how far a text stands from the edge of its box; what holds a number on its side.
LETTER, BOLD, MARGIN, SIDEWAYS = 4.5, 5.2, 1.5, 6.0
# Of a title that is cut short some letters must be left, or it tells nothing.
LEAST_LETTERS = 4
NO_PLACE = "no place"
Look = Literal["hands", "stay", "shared", "elsewhere", "left-out"]
Piece = TypeVar("Piece")


class LeftOut(NamedTuple):
    """A load without a place, where it would stand by the plan."""

    task: str
    load: int
    title: str
    starts: str
    ends: str


class Shown(NamedTuple):
    """What is to be drawn: cooks, machines, loads without a place, and the number and the count of loads of each task.

    ``own``: the tasks of the station whose rows they are; None where they are those of all.
    """

    cooks: Sequence[CookDay]
    machines: Sequence[MachineDay]
    left_out: Sequence[LeftOut]
    numbers: Mapping[str, int]
    loads: Mapping[str, int]
    own: Collection[str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A piece of work: where it lies, what it tells, and how wide the turn-round ``after`` it is.

    ``texts``: what may stand in it, the longest first, and last its number alone. What does stand is its ``label``, which begins
    at ``label_x``: in the box, in it on its ``side``, or after it.
    """

    look: Look
    x: float
    width: float
    told: str
    texts: tuple[str, ...]
    after: float = 0
    label: str = ""
    label_x: float = 0
    side: bool = False


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
    """The picture of a list; None where its site states no capacity, or nothing is to be drawn.

    That of a ``station`` has the cooks and machines that work for it on that date.
    """
    if "capacity" not in document:
        return None
    capacity = document["capacity"]
    tasks = [task for each in document["stations"] if station in (None, each["code"]) for task in each["tasks"]]
    own = {task["id"] for task in tasks}
    cooks, machines = capacity["cooks"], capacity["equipment"]
    if station is not None:
        cooks = [cook for cook in cooks if any(work["task"] in own for work in cook["work"])]
        machines = [row for row in machines if any(stay["task"] in own for stay in row["work"])]
    return _picture(
        Shown(
            cooks=cooks,
            machines=machines,
            left_out=[each for task in tasks for each in _left_out(task)],
            numbers=numbers,
            loads={task["id"]: _count(task) for each in document["stations"] for task in each["tasks"]},
            own=None if station is None else own,
        ),
        clock,
        WIDE if station is None else NARROW,
    )


def of_schedule(document: Schedule, clock: Clock, numbers: Mapping[str, int]) -> Picture | None:
    """The picture of a schedule; None where nothing is to be drawn."""
    left_out = [each for each in document["loads"] if not each["fits"]]
    return _picture(
        Shown(
            cooks=document["cooks"],
            machines=document["equipment"],
            left_out=[LeftOut(each["task"], each["number"], each["title"], each["starts"], each["ready"]) for each in left_out],
            numbers=numbers,
            loads={each["task"]: each["of"] for each in document["loads"]},
        ),
        clock,
        WIDE,
    )


def _picture(shown: Shown, clock: Clock, width: int) -> Picture | None:
    """Cooks, then machines, then what finds no place, a row each, over the hours from the first of them to the last."""
    moments = list(map(datetime.fromisoformat, _moments(shown)))
    if not moments:
        return None
    # Hours are those of the clock at the site, which may be an odd half of one away from others.
    starts, ends = min(moments).replace(minute=0, second=0), max(moments)
    number = max(1, -((starts - ends) // HOUR))
    drawing = _Drawing(shown, clock, starts, number, width)
    rows = list(drawing.rows())
    # A step of an hour of elapsed time: on a date on which clocks change, the label follows them.
    moments = [starts + index * HOUR for index in range(number + 1)]
    hours = [(drawing.x(moment), f"{moment.astimezone(starts.tzinfo):%H}") for moment in moments]
    spans = " to ".join(clock.near(moment.isoformat()) for moment in (moments[0], moments[-1]))
    told = f"What {len(shown.cooks)} cooks and {len(shown.machines)} machines do, hour by hour from {spans}"
    return Picture(width=width, height=HEAD + len(rows) * (ROW + GAP) + GAP, hours=hours, rows=rows, told=told)


class _Drawing:
    """The rows of a picture, one below the other, right of their names."""

    def __init__(self, shown: Shown, clock: Clock, starts: datetime, hours: int, width: int) -> None:
        self.shown, self.clock, self.starts = shown, clock, starts
        names = [*map(_cook, shown.cooks), *map(_machine, shown.machines), *([NO_PLACE] if shown.left_out else [])]
        self.first = round(max(map(len, names)) * BOLD + EDGE, 1)
        self.last = width - EDGE
        self.per_hour = (self.last - self.first) / hours
        self.number = 0

    def x(self, moment: datetime) -> float:
        """Where a moment lies; what is outside of the hours lies at their edge."""
        return round(min(self.last, max(self.first, self.first + (moment - self.starts) / HOUR * self.per_hour)), 1)

    def rows(self) -> Iterator[Row]:
        """All rows from the top down."""
        for cook in self.shown.cooks:
            yield self._row(_cook(cook), map(self._hands, cook["work"]), [(cook["from"], cook["until"])])
        for machine in self.shown.machines:
            for stays in _side_by_side(machine["work"], _stays) or [[]]:
                yield self._row(_machine(machine), (self._stay(stay, shared=machine["shared"]) for stay in stays))
        for loads in _side_by_side(self.shown.left_out, _stands):
            yield self._row(NO_PLACE, map(self._left_out, loads))

    def _row(self, name: str, boxes: Iterable[Box], hours: Iterable[tuple[str, str]] = ()) -> Row:
        y = HEAD + GAP + self.number * (ROW + GAP)
        self.number += 1
        bands = [(self._x(starts), round(self._x(ends) - self._x(starts), 1)) for starts, ends in hours]
        found = sorted((box for box in boxes if box.width), key=lambda box: box.x)
        free = [*(box.x for box in found[1:]), self.last]
        return Row(name=name, y=y, bands=bands, boxes=list(map(_labelled, found, free)))

    def _x(self, moment: str) -> float:
        return self.x(datetime.fromisoformat(moment))

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
        width = round(end - x, 1)
        short = _shortened(title, width - (len(f"{number or ''}{which}") + 1) * LETTER)
        texts = (f"{number} {title}{which}", f"{number} {short}{which}" if short else "", f"{number}{which}", f"{number}")
        told = f"{title}{which}, {self.clock.near(times[0])} to {self.clock.near(times[1])}"
        return Box(
            look=look if self.shown.own is None or task in self.shown.own or look == "shared" else "elsewhere",
            x=x,
            width=width,
            told=", ".join(part for part in (f"{number} {told}" if number else told, detail) if part),
            texts=texts if number else (title, short),
            after=0.0 if until is None else round(self._x(until) - end, 1),
        )


def _cook(cook: CookDay) -> str:
    return f"{cook['shift']} {cook['number']}"


def _machine(machine: MachineDay) -> str:
    return machine["name"] if machine["shared"] or machine["number"] is None else f"{machine['name']} {machine['number']}"


def _shortened(title: str, width: float) -> str:
    """As much of a title as a width holds, where that is enough to know it by; else nothing."""
    letters = int((width - 2 * MARGIN) / LETTER) - 1
    return f"{title[:letters].rstrip()}…" if LEAST_LETTERS <= letters < len(title) else ""


def _labelled(box: Box, free_until: float) -> Box:
    """A box with the first of its texts that it holds, else with its number on its side, else after it where nothing else is."""
    for text in filter(None, box.texts):
        if len(text) * LETTER + 2 * MARGIN <= box.width:
            return replace(box, label=text, label_x=round(box.x + MARGIN, 1))
    number = box.texts[-1]
    if len(box.texts) > 2 and box.width >= SIDEWAYS:
        return replace(box, label=number, label_x=round(box.x + box.width / 2, 1), side=True)
    after = box.x + box.width + box.after
    if len(box.texts) > 2 and after + len(number) * LETTER + MARGIN <= free_until:
        return replace(box, label=number, label_x=round(after + MARGIN, 1))
    return box


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
    """All moments that a picture must reach to: those of duties, and where what has no place begins; without cooks those of all else.

    What lies in a machine over night, or would rest then, is of no interest for that long.
    """
    for cook in shown.cooks:
        yield from (cook["from"], cook["until"])
    for load in shown.left_out:
        starts, ends = map(datetime.fromisoformat, (load.starts, load.ends))
        yield from (load.starts, min(ends, starts + HOUR).isoformat() if shown.cooks else load.ends)
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

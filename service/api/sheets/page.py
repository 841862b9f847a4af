"""The page: a prep list as a sheet of HTML to print and to read on a tablet.

Responsible for the order of a sheet's parts and for a page that can load nothing and run nothing. Refuses to
compute, and to know any wording.
"""

import base64
import hashlib
from collections.abc import Callable, Collection, Hashable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from service.api.sheets import words
from service.api.sheets.clock import Clock, date_of, long_date
from service.api.sheets.picture import Picture, of_list, of_schedule
from service.api.sheets.ways import Ways
from service.kitchen.lists.documents import ExpectedRow, MakeTask, PrepList, PullEntry, StationTasks, TaskEntry
from service.kitchen.lists.schedule_documents import Schedule

PLACE = Path(__file__).parent
# As the page includes it: without the file's last newline.
STYLE = (PLACE / "sheet.css").read_text(encoding="utf-8").removesuffix("\n")
STYLE_HASH = "sha256-" + base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
CONTENT_SECURITY_POLICY = f"default-src 'none'; style-src '{STYLE_HASH}'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
Row = TypeVar("Row")
Key = TypeVar("Key", bound=Hashable)
MOST_TICKS = 12
FULL = 6
STORES = ("frozen", "cold", "dry", None)

PAGES = Environment(
    loader=FileSystemLoader(PLACE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, auto_reload=False
)
PAGES.globals.update(words=words, most_ticks=MOST_TICKS)


@dataclass(frozen=True, slots=True, kw_only=True)
class StationSheet:
    """A station's tasks in their order, those of them that have a card, how many are late and overdue, and when the first other starts."""

    code: str
    name: str
    active: str
    tasks: list[TaskEntry]
    cards: list[MakeTask]
    late: int
    overdue: int
    first: str | None
    timeline: Picture | None = None

    @property
    def small(self) -> bool:
        """Whether it is too little for a page of its own."""
        return not self.cards and len(self.tasks) < FULL


def sheet_html(
    document: PrepList,
    site_name: str | None = None,
    *,
    cards: bool = True,
    stations: Collection[str] | None = None,
    ways: Ways | None = None,
) -> str:
    """The sheet of a prep list's document; without a site's name its code stands at the head, without ``cards`` none are shown.

    The sheet of some ``stations`` shows the pulls that they take, and those of which an older print does not tell who takes them; that
    of one runs on from page to page. With ``ways`` it leads to others.

    The sheet needs ``CONTENT_SECURITY_POLICY`` as its header of that name: it allows the one style of the page.
    """
    clock = Clock.of(document)
    numbers = numbers_of(document)
    return PAGES.get_template("sheet.html.j2").render(
        sheet=document,
        site=site_name or document["site"],
        day=long_date(document["date"]),
        planned_from=long_date(document["from"]),
        clock=clock,
        alone=stations is not None and len(stations) == 1,
        ways=ways and ways.from_sheet(document),
        expected=_by_time(document.get("expected", [])),
        timeline=None if stations else of_list(document, clock, numbers),
        numbers=numbers,
        stations=[
            _station(each, of_list(document, clock, numbers, each["code"]), cards=cards)
            for each in document["stations"]
            if stations is None or each["code"] in stations
        ],
        names={station["code"]: station["name"] for station in document["stations"]},
        pulls=_by_store(
            pull for pull in document["pulls"] if stations is None or not {*stations}.isdisjoint(pull.get("stations", stations))
        ),
        left_over=_grouped(document["left_over"], clock.until),
        discard=_grouped(document.get("discard", []), lambda row: row["why"]),
    )


def schedule_html(document: Schedule, site_name: str) -> str:
    """The page of a schedule's document: its picture, what finds no place and what would help, and each load with why it is when it is.

    The page needs ``CONTENT_SECURITY_POLICY`` as its header of that name.
    """
    clock = Clock(date_of(document["date"]))
    tasks = dict.fromkeys(load["task"] for load in document["loads"])
    numbers = {id_: number for number, id_ in enumerate(tasks, start=1)}
    return PAGES.get_template("schedule.html.j2").render(
        sheet=document,
        site=site_name,
        day=long_date(document["date"]),
        planned_from=long_date(document["from"]),
        clock=clock,
        timeline=of_schedule(document, clock, numbers),
        numbers=numbers,
        names={},
    )


def numbers_of(document: PrepList) -> dict[str, int]:
    """The tasks of a list that has a picture, counted in their order: boxes too small for words bear the number alone."""
    if "capacity" not in document:
        return {}
    tasks = (task["id"] for station in document["stations"] for task in station["tasks"])
    return {id_: number for number, id_ in enumerate(tasks, start=1)}


def _station(station: StationTasks, timeline: Picture | None, *, cards: bool) -> StationSheet:
    tasks = station["tasks"]
    return StationSheet(
        code=station["code"],
        name=station["name"],
        active=station["active"],
        tasks=tasks,
        cards=[task for task in tasks if task["kind"] == "make"] if cards else [],
        late=sum(task["late"] for task in tasks),
        overdue=sum(_overdue(task) and not task["late"] for task in tasks),
        first=min((task["start_by"] for task in tasks if not (task["late"] or _overdue(task))), default=None),
        timeline=timeline,
    )


def _overdue(task: TaskEntry) -> bool:
    return task.get("overdue", False)


def _by_time(expected: list[ExpectedRow]) -> list[tuple[str, str, list[ExpectedRow]]]:
    """What is expected at each moment, with the period or event that it is for."""
    return [(at, when, rows) for (at, when), rows in _grouped(expected, lambda row: (row["at"], words.occasion(row)))]


def _by_store(pulls: Iterable[PullEntry]) -> list[tuple[str, list[PullEntry]]]:
    """The pulls of one store after another, in their order: late first, then by time."""
    groups = dict(_grouped(pulls, lambda pull: pull["storage"]))
    return [(words.STORES[store], groups[store]) for store in STORES if store in groups]


def _grouped(rows: Iterable[Row], key: Callable[[Row], Key]) -> list[tuple[Key, list[Row]]]:
    """Rows with one key together, in the order of the first of each."""
    groups: dict[Key, list[Row]] = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return list(groups.items())

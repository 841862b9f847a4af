"""The page: a prep list as a sheet of HTML to print and to read on a tablet.

Responsible for the order of a sheet's parts and for a page that can load nothing and run nothing. Refuses to
compute, and to know any wording.
"""

import base64
import hashlib
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from service.api.sheets import words
from service.api.sheets.clock import Clock, long_date
from service.kitchen.lists.documents import PrepList, PullEntry, StationTasks, TaskEntry, UseTask

PLACE = Path(__file__).parent
# As the page includes it: without the file's last newline.
STYLE = (PLACE / "sheet.css").read_text(encoding="utf-8").removesuffix("\n")
STYLE_HASH = "sha256-" + base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
CONTENT_SECURITY_POLICY = f"default-src 'none'; style-src '{STYLE_HASH}'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
# Last of all moments, as text: what keeps comes after whatever must be used.
KEEPS = "~"
MOST_TICKS = 12

PAGES = Environment(
    loader=FileSystemLoader(PLACE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, auto_reload=False
)
PAGES.globals.update(words=words, most_ticks=MOST_TICKS)


@dataclass(frozen=True, slots=True, kw_only=True)
class StationSheet:
    """A station with what lots give set apart from what is to do, late first in both."""

    code: str
    name: str
    active: str
    uses: list[UseTask]
    work: list[TaskEntry]
    late: int
    first: str | None


def sheet_html(document: PrepList, site_name: str | None = None) -> str:
    """The sheet of a prep list's document; without a site's name its code stands at the head.

    The sheet needs ``CONTENT_SECURITY_POLICY`` as its header of that name: it allows the one style of the page.
    """
    return PAGES.get_template("sheet.html.j2").render(
        sheet=document,
        site=site_name or document["site"],
        day=long_date(document["date"]),
        planned_from=long_date(document["from"]),
        clock=Clock.of(document),
        stations=[_station(each) for each in document["stations"]],
        pulls=_by_store(document["pulls"]),
    )


def _station(station: StationTasks) -> StationSheet:
    tasks = station["tasks"]
    return StationSheet(
        code=station["code"],
        name=station["name"],
        active=station["active"],
        uses=sorted((task for task in tasks if task["kind"] == "use"), key=_use_order),
        work=sorted((task for task in tasks if task["kind"] != "use"), key=_is_not_late),
        late=sum(task["late"] for task in tasks),
        first=min((task["start_by"] for task in tasks if not task["late"]), default=None),
    )


def _is_not_late(entry: TaskEntry | PullEntry) -> bool:
    """Sorts late entries first and leaves the list's own order otherwise."""
    return not entry["late"]


def _use_order(task: UseTask) -> tuple[bool, str, str]:
    """Late ones first, then what must be used soonest."""
    return (_is_not_late(task), task["use_by"] or KEEPS, task["start_by"])


def _by_store(pulls: list[PullEntry]) -> list[tuple[str, list[PullEntry]]]:
    """The pulls of each walk: first what must thaw, then one store after another; late first in each."""
    groups: dict[str, list[PullEntry]] = {}
    for pull in sorted(pulls, key=_is_not_late):
        name = "Out to thaw" if pull["thaw"] else words.STORES.get(pull["storage"], words.STORES[None])
        groups.setdefault(name, []).append(pull)
    order = ["Out to thaw", *(words.STORES[store] for store in ("frozen", "cold", "dry", None))]
    return [(name, groups[name]) for name in order if name in groups]

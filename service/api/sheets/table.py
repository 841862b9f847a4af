"""The table: a prep list as CSV for spreadsheets.

Responsible for columns, one row a line of a task, and for cells that no spreadsheet takes for a formula.
Refuses to compute: amounts and moments stand as in the document, but for a use-by at the end of a date.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from service.kitchen.book.item import Reference
from service.kitchen.lists.documents import BatchLine, ListEntry, PrepList, TaskEntry
from service.kitchen.lists.parts import AtRisk, ComputedQuantity, LoadRow, Portion
from service.kitchen.lists.wording import end_of

Row = dict[str, str]

ENTRY = ("site", "date", "print", "station", "kind", "id", "item", "title", "version", "stage", "stages", "late", "overdue")
TIMES = ("start_by", "ready_by", "need_by", "use_by", "use_by_date", "last_start", "active", "thaw", "storage", "pieces", "stations")
AMOUNTS = ("need", "have", "quantity", "surplus")
LINE = ("line", "line_kind", "batch", "batch_count")
LINE_ITEM = ("line_item", "line_title")
LINE_END = ("step", "critical", "note")
END = ("for", "at_risk", "contains", "may_contain", "progress")
# A list whose site states a capacity has them, and no other (K1).
LOAD = ("load", "load_starts", "load_ready", "load_equipment", "load_cook", "load_held", "load_slack")


def _measured(name: str) -> tuple[str, str, str]:
    """The columns of a quantity: its exact amount, the unit of that, and what the cook reads."""
    return (f"{name}_amount", f"{name}_unit", f"{name}_display")


COLUMNS = (
    *ENTRY,
    *TIMES,
    *(column for name in AMOUNTS for column in _measured(name)),
    *LINE,
    *_measured("batch_quantity"),
    *LINE_ITEM,
    *_measured("line_quantity"),
    *LINE_END,
    *END,
)
# What spreadsheets take for the start of a formula, with the full-width twins that some of them read alike.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
GUARD = "'"
JOINT = "; "


def sheet_csv(document: PrepList) -> str:
    """A list's document as CSV (RFC 4180): a header row, then a row a line of each task; pulls; what is left over, and what to discard."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    columns = COLUMNS if "capacity" not in document else (*COLUMNS, *LOAD)
    writer.writerow(columns)
    for row in rows(document):
        writer.writerow([guarded(row.get(column, "")) for column in columns])
    return out.getvalue()


def guarded(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: a leading apostrophe stands before what could start one.

    >>> guarded("=1+1"), guarded("1+1")
    ("'=1+1", '1+1')
    """
    return GUARD + cell if cell.startswith(FORMULA_STARTS) else cell


def rows(document: PrepList) -> Iterator[Row]:
    """The rows of a list: each begins with what the list and the entry are, so that any row can be read alone."""
    shared = {"site": document["site"], "date": document["date"], "print": written(document["print"])}
    for station in document["stations"]:
        for task in station["tasks"]:
            entry = shared | {"station": station["code"], "kind": task["kind"]} | _entry(task)
            lines = list(_lines(task)) or [{}]
            for number, line in enumerate(lines, start=1):
                yield entry | {"line": str(number)} | line
    for pull in document["pulls"]:
        yield shared | {"kind": "pull", "line": "1"} | _entry(pull)
    for row in document["left_over"]:
        yield shared | {"kind": "left_over", "line": "1"} | _entry(row)
    for gone in document.get("discard", ()):
        yield shared | {"kind": "discard", "line": "1", "note": gone["why"]} | _entry(gone)


def _entry(entry: ListEntry) -> Row:
    """What a task, pull or left-over row is: the columns that are the same for each of its lines."""
    # These columns are named as the keys that they show; an entry without such a key leaves them empty.
    keys: Mapping[str, object] = entry
    row = {name: written(keys.get(name)) for name in ("id", "version", "late", "overdue", *TIMES)}
    row["stations"] = JOINT.join(entry.get("stations", ())) if "storage" in entry else ""
    row |= {"item": reference(entry["item"]), "title": entry["item"]["title"]} | quantity("quantity", entry["quantity"])
    if entry.get("use_by_date"):
        row["use_by"] = end_of(date.fromisoformat(row["use_by_date"]))
    if "stage" in entry:
        row |= {"stage": written(entry["stage"]["number"]), "stages": written(entry["stage"]["of"])}
        row |= quantity("need", entry["need"]) | quantity("have", entry["have"]) | quantity("surplus", entry["surplus"])
    if "allergens" in entry:
        allergens = entry["allergens"]
        row |= {"contains": JOINT.join(allergens["contains"]), "may_contain": JOINT.join(allergens["may_contain"])}
    if "progress" in entry:
        row |= {"for": JOINT.join(entry["for"]), "at_risk": JOINT.join(map(_risk, entry["at_risk"]))}
        row["progress"] = entry["progress"]["state"] if entry["progress"] else ""
    return row


def _lines(task: TaskEntry) -> Iterator[Row]:
    """The lines of a task: what to weigh for each batch, what is taken in all, what comes of it besides, and its loads."""
    if task["kind"] == "use":
        return
    for number, card in enumerate(task["batches"] if task["kind"] == "make" else (), start=1):
        size = {"batch": str(number), "batch_count": written(card["count"])} | quantity("batch_quantity", card["quantity"])
        weighed = [_line("weigh", line) | _weighed(line) for line in card["lines"]]
        yield from (size | line for line in weighed or [{"line_kind": "weigh"}])
    yield from (_line("take", row) for row in task["draw"])
    yield from (_line("give", row) for row in task["gives"])
    yield from map(_load, task.get("loads", ()))


def _load(row: LoadRow) -> Row:
    """When a load starts and is ready, who and what has it, and how long it is held."""
    cooks = [f"{step['cook']['shift']} {step['cook']['number']}" for step in row["steps"] if step["cook"]]
    machines = [f"{stay['equipment']} {written(stay['number'])}".rstrip() for step in row["steps"] if (stay := step["equipment"])]
    return {
        "line_kind": "load",
        "load": str(row["number"]),
        "load_starts": row["starts"],
        "load_ready": row["ready"],
        "load_equipment": JOINT.join(dict.fromkeys(machines)),
        "load_cook": JOINT.join(dict.fromkeys(cooks)),
        "load_held": row["held"],
        "load_slack": written(row["slack"]),
    } | quantity("line_quantity", row["quantity"])


def _line(kind: str, row: Portion) -> Row:
    return {"line_kind": kind, "line_item": reference(row["item"]), "line_title": row["item"]["title"]} | quantity(
        "line_quantity", row["quantity"]
    )


def _weighed(line: BatchLine) -> Row:
    return {"step": written(line["step"]), "critical": written(line["critical"]), "note": line["note"]}


def _risk(row: AtRisk) -> str:
    when = " ".join(part for part in (row["date"], row["period"], row["event"]) if part)
    return f"{row['menu_item']} {when}: {written(row['portions'])}"


def quantity(name: str, value: ComputedQuantity) -> Row:
    """The cells of a quantity."""
    return dict(zip(_measured(name), (written(value["amount"]), value["unit"], value["display"]), strict=True))


def reference(item: Reference) -> str:
    """An item in one cell, as the interface compares it.

    >>> reference({"ingredient": "onion", "form": "small-dice"}), reference({"recipe": "lentil-soup"})
    ('onion/small-dice', 'lentil-soup')
    """
    code = item.get("recipe") or item["ingredient"]
    return f"{code}/{item['form']}" if item.get("form") else str(code)


def written(value: Any) -> str:
    """A value as the document writes it; nothing for null.

    >>> written(True), written(2.50), written(Decimal("1E+2")), written(None)
    ('true', '2.5', '100', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:f}" if isinstance(value, Decimal) else str(value)

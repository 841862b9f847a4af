"""The table: a prep list as CSV for spreadsheets.

Responsible for columns, one row a line of a task, and for cells that no spreadsheet takes for a formula.
Refuses to compute: amounts and moments stand as in the document.
"""

import csv
import io
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

Part = dict[str, Any]
Row = dict[str, str]

ENTRY = ("site", "date", "print", "station", "kind", "id", "item", "title", "version", "stage", "stages", "late")
TIMES = ("start_by", "ready_by", "need_by", "use_by", "active", "thaw", "storage")
AMOUNTS = ("need", "have", "quantity", "surplus")
LINE = ("line", "line_kind", "batch", "batch_count")
LINE_ITEM = ("line_item", "line_title")
LINE_END = ("step", "critical", "note")
END = ("for", "at_risk", "contains", "may_contain", "progress")


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


def sheet_csv(document: Part) -> str:
    """A list's document as CSV (RFC 4180): a header row, then a row a line of each task; pulls; what is left over."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for row in rows(document):
        writer.writerow([guarded(row.get(column, "")) for column in COLUMNS])
    return out.getvalue()


def guarded(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: a leading apostrophe stands before what could start one.

    >>> guarded("=1+1"), guarded("1+1")
    ("'=1+1", '1+1')
    """
    return GUARD + cell if cell.startswith(FORMULA_STARTS) else cell


def rows(document: Part) -> Iterator[Row]:
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


def _entry(entry: Part) -> Row:
    """What a task, pull or left-over row is: the columns that are the same for each of its lines."""
    stage, allergens = entry.get("stage") or {}, entry.get("allergens") or {}
    found = {name: written(entry.get(name)) for name in ("id", "version", "late", *TIMES)}
    found |= {"item": reference(entry["item"]), "title": entry["item"]["title"]}
    found |= {"stage": written(stage.get("number")), "stages": written(stage.get("of"))}
    for name in AMOUNTS:
        found |= quantity(name, entry.get(name))
    found["for"] = JOINT.join(entry.get("for") or ())
    found["at_risk"] = JOINT.join(_risk(row) for row in entry.get("at_risk") or ())
    found |= {name: JOINT.join(allergens.get(name) or ()) for name in ("contains", "may_contain")}
    found["progress"] = (entry.get("progress") or {}).get("state") or ""
    return found


def _lines(task: Part) -> Iterator[Row]:
    """The lines of a task: what to weigh for each batch, what is taken in all, and what comes of it besides."""
    for number, batch in enumerate(task.get("batches") or (), start=1):
        size = {"batch": str(number), "batch_count": written(batch["count"])} | quantity("batch_quantity", batch["quantity"])
        lines = [_line("weigh", line) | {name: written(line.get(name)) for name in LINE_END} for line in batch["lines"]]
        yield from (size | line for line in lines or [{"line_kind": "weigh"}])
    yield from (_line("take", row) for row in task.get("draw") or ())
    yield from (_line("give", row) for row in task.get("gives") or ())


def _line(kind: str, row: Part) -> Row:
    return {"line_kind": kind, "line_item": reference(row["item"]), "line_title": row["item"]["title"]} | quantity(
        "line_quantity", row["quantity"]
    )


def _risk(row: Part) -> str:
    when = " ".join(str(row[key]) for key in ("date", "period", "event") if row.get(key))
    return f"{row['menu_item']} {when}: {written(row['portions'])}"


def quantity(name: str, value: Part | None) -> Row:
    """The cells of a quantity; empty ones where there is none."""
    cells = ("", "", "") if value is None else (written(value["amount"]), value["unit"], value["display"])
    return dict(zip(_measured(name), cells, strict=True))


def reference(item: Part) -> str:
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

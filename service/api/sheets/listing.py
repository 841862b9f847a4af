"""A prep list as text for the shell: what a cook reads top to bottom.

Responsible for words and columns. Refuses to compute: every number stands in the list already.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from service.kitchen.lists.documents import BatchCard, BatchLine, Portion, PrepList, PullEntry, TaskEntry


def write(prep_list: PrepList) -> str:
    """The whole list as lines: stations with their tasks, pulls, what is left over, warnings and cautions."""
    return "\n".join(lines(prep_list))


def lines(prep_list: PrepList) -> Iterator[str]:
    """The lines of a list, from its heading down."""
    day = prep_list["date"]
    yield f"Prep list of {prep_list['site']} for {day}, planned from {prep_list['from']}"
    for station in prep_list["stations"]:
        yield ""
        yield f"{station['name'].upper()} ({clock_time(station['active'])} hands-on)"
        for task in station["tasks"]:
            yield from task_lines(task, day)
    yield from pull_lines(prep_list["pulls"], day)
    yield from section("LEFT OVER", [f"{name(row)}: {shown(row)}, {until(row['use_by'], day)}" for row in prep_list["left_over"]])
    yield from section("WARNINGS", [warning["detail"] for warning in prep_list["warnings"]])
    yield from section("TAKE CARE", prep_list["cautions"])


def section(heading: str, rows: list[str]) -> Iterator[str]:
    """A heading with its rows, or nothing at all."""
    if rows:
        yield ""
        yield heading
        yield from (f"  {row}" for row in rows)


def task_lines(task: TaskEntry, day: str) -> Iterator[str]:
    """One task: when, what and how much; then what it is made of and for whom."""
    part = f" (stage {task['stage']['number']} of {task['stage']['of']})" if task["kind"] != "use" and task["stage"]["of"] > 1 else ""
    late = "LATE, " if task["late"] else ""
    yield f"  {late}{moment(task['start_by'], day)}  {task['kind']:<4}  {name(task)}{part}: {shown(task)}"
    if task["kind"] == "make":
        for batch in task["batches"]:
            yield f"           {batch['count']} × {shown(batch)}"
            yield from (f"             {shown(line)} {name(line)}{note(line)}" for line in batch["lines"])
        yield from (f"           {step['number']}. {step['text']}" for step in task["steps"])
    if task["kind"] == "prep" and task["draw"]:
        yield f"           from {portions(task['draw'])}"
    if task["kind"] != "use" and task["gives"]:
        yield f"           gives {portions(task['gives'])}"
    if task["for"]:
        yield f"           for {'; '.join(task['for'])}"
    if task["use_by"]:
        yield f"           {until(task['use_by'], day)}"


def pull_lines(pulls: list[PullEntry], day: str) -> Iterator[str]:
    """What is taken from store, with the thawing that begins early."""
    rows = []
    for pull in pulls:
        late = "LATE, " if pull["late"] else ""
        thaw = f", thaws {clock_time(pull['thaw'])}" if pull["thaw"] else ""
        rows.append(f"{late}{moment(pull['start_by'], day)}  {name(pull)}: {shown(pull)}{thaw}")
    yield from section("PULL FROM STORE", rows)


def name(row: Portion | TaskEntry | PullEntry) -> str:
    """What a cook calls the item of a row."""
    return row["item"]["title"]


def shown(row: Portion | TaskEntry | PullEntry | BatchCard) -> str:
    """The quantity of a row in the site's measures."""
    return row["quantity"]["display"]


def portions(rows: Sequence[Portion]) -> str:
    """Items with how much of each, one after the other."""
    return ", ".join(f"{shown(row)} {name(row)}" for row in rows)


def note(line: BatchLine) -> str:
    """A line's note, set apart."""
    return f" ({line['note']})" if line["note"] else ""


def until(use_by: str | None, day: str) -> str:
    """The last moment of use in words."""
    return f"use by {moment(use_by, day)}" if use_by else "keeps"


def moment(text: str, day: str) -> str:
    """A moment's clock time, with the date where it is another than the list's.

    >>> moment("2026-12-03T08:10:00-05:00", "2026-12-03"), moment("2026-12-02T17:00:00-05:00", "2026-12-03")
    ('08:10', 'Wed 2 Dec 17:00')
    """
    at = datetime.fromisoformat(text)
    return f"{at:%H:%M}" if at.date().isoformat() == day else f"{at:%a} {at.day} {at:%b %H:%M}"


def clock_time(duration: str) -> str:
    """An ISO duration in words.

    >>> clock_time("PT1H35M"), clock_time("P1DT12H"), clock_time("PT0S")
    ('1 h 35 min', '1 d 12 h', '0 s')
    """
    words = {"D": " d ", "H": " h ", "M": " min ", "S": " s "}
    return "".join(words.get(letter, letter) for letter in duration if letter not in "PT").strip()

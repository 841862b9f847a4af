"""A prep list as text for the shell: what a cook reads top to bottom.

Responsible for words and columns. Refuses to compute: every number stands in the list already.
"""

from collections.abc import Iterator, Sequence

from service.api.sheets import words
from service.api.sheets.clock import Clock, date_of
from service.kitchen.lists.documents import BatchCard, BatchLine, Kept, MakeTask, PrepList, PullEntry, StepRow, TaskEntry
from service.kitchen.lists.parts import Portion
from service.kitchen.measures.calendar import spoken


def write(prep_list: PrepList) -> str:
    """The whole list as lines: stations with their tasks, pulls, what is left over, warnings and cautions."""
    return "\n".join(lines(prep_list))


def lines(prep_list: PrepList) -> Iterator[str]:
    """The lines of a list, from its heading down."""
    clock = Clock(date_of(prep_list["date"]))
    yield f"Prep list of {prep_list['site']} for {prep_list['date']}, planned from {prep_list['from']}"
    for station in prep_list["stations"]:
        yield ""
        yield f"{station['name'].upper()} ({spoken(station['active'])} hands-on)"
        for task in station["tasks"]:
            yield from task_lines(task, clock)
    yield from pull_lines(prep_list["pulls"], clock)
    yield from section("LEFT OVER", [f"{name(row)}: {shown(row)}, {until(row, clock)}" for row in prep_list["left_over"]])
    yield from section("DISCARD", [f"{name(row)}: {shown(row)}, {row['why']}" for row in prep_list.get("discard", ())])
    yield from section("WARNINGS", [warning["detail"] for warning in prep_list["warnings"]])
    yield from section("TAKE CARE", prep_list["cautions"])


def section(heading: str, rows: list[str]) -> Iterator[str]:
    """A heading with its rows, or nothing at all."""
    if rows:
        yield ""
        yield heading
        yield from (f"  {row}" for row in rows)


def task_lines(task: TaskEntry, clock: Clock) -> Iterator[str]:
    """One task: when, what and how much; then what it is made of and for whom."""
    part = f" (stage {task['stage']['number']} of {task['stage']['of']})" if task["kind"] != "use" and task["stage"]["of"] > 1 else ""
    yield f"  [ ] {standing(task)}{clock.moment(task['start_by'])}  {task['kind']:<4}  {name(task)}{part}: {shown(task)}"
    yield from (f"           {text}" for text in behind(task, clock))
    if balance := words.balance(task):
        yield f"           {balance}"
    if task["kind"] == "make":
        yield from make_lines(task, clock)
    yield from (f"           load {row['number']}: {words.load(row, clock)}" for row in words.loads(task))
    if task["kind"] == "prep" and task["draw"]:
        yield f"           from {portions(task['draw'])}"
    if task["kind"] != "use" and task["gives"]:
        yield f"           gives {portions(task['gives'])}"
    if task["for"]:
        yield f"           for {'; '.join(task['for'])}"
    if task["use_by"]:
        yield f"           {until(task, clock)}"
    if contained := allergens(task):
        yield f"           allergens: {contained}"


def make_lines(task: MakeTask, clock: Clock) -> Iterator[str]:
    """What to weigh for each batch, and the steps with their rests as clock times and what they must keep to."""
    for batch in task["batches"]:
        yield f"           {batch['count']} × {shown(batch)}"
        yield from (f"             {shown(line)} {name(line)}{note(line)}" for line in batch["lines"])
    for index, step in enumerate(task["steps"]):
        rest = words.rest(task, index, clock)
        yield f"           {step['number']}. {step['text']}{setting(step)}{f' {rest}.' if rest else ''}"
        if step["safety"]:
            yield f"              Safety: {words.safety(step['safety'])}"


def pull_lines(pulls: list[PullEntry], clock: Clock) -> Iterator[str]:
    """What is taken from store, with the thawing that begins early."""
    rows = []
    for pull in pulls:
        thaw = f", thaws {spoken(pull['thaw'])}" if pull["thaw"] else ""
        rows.append(f"[ ] {standing(pull)}{clock.moment(pull['start_by'])}  {name(pull)}: {shown(pull)}{thaw}")
        rows += [f"    {text}" for text in behind(pull, clock)]
    yield from section("PULL FROM STORE", rows)


def standing(entry: TaskEntry | PullEntry) -> str:
    """Whether an entry should have begun, by the first date or by now (P7)."""
    return "LATE, " if entry["late"] else "OVERDUE, " if entry.get("overdue") else ""


def behind(entry: TaskEntry | PullEntry, clock: Clock) -> Iterator[str]:
    """Until when what is overdue can still begin, and what late or overdue work puts at risk (P7)."""
    if last := words.last_start(entry, clock):
        yield last
    if entry["at_risk"]:
        yield f"Puts at risk: {words.risks(entry['at_risk'])}"


def allergens(task: TaskEntry) -> str:
    """What a task contains and may contain, in words."""
    found = task["allergens"]
    may = f"may contain {words.listed(found['may_contain'])}" if found["may_contain"] else ""
    return "; ".join(part for part in (words.listed(found["contains"]), may) if part)


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


def setting(step: StepRow) -> str:
    """What oven, fryer or bath is set to for a step."""
    shown = step.get("set_to")
    return f" Set to {shown['display']}." if shown else ""


def until(kept: Kept, clock: Clock) -> str:
    """The last moment of use in words."""
    last = clock.until(kept)
    return f"use by {last}" if last else "keeps"

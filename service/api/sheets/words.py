"""Words: what a cook reads instead of the codes of a list's document.

Responsible for the wording of allergens, safety, risks, rests, pulls and reports on the sheet. Refuses to
know how they are laid out.
"""

import re
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from service.api.sheets.clock import Clock, date_of
from service.kitchen.lists.documents import Balance, BatchCard, ExpectedRow, GivenRow, MakeTask, ProgressRow, PullEntry, TaskEntry, UseTask
from service.kitchen.lists.parts import AtRisk, CapacityRow, LoadRow, Portion
from service.kitchen.lists.wording import MONTHS, WEEKDAYS, day
from service.kitchen.measures.batches import round_up
from service.kitchen.measures.calendar import spoken
from service.kitchen.safety.safety import StepSafety, cited

SAFETY = {
    "cook": "Cook through",
    "reheat": "Reheat",
    "hold_hot": "Hold hot",
    "hold_cold": "Hold cold",
    "cool": "Cool in two stages",
    "time_control": "Time is the control",
    "thaw": "Thaw safely",
}
# Of these the note says when they may be done so; of others, in which edition of the code a figure stands.
CONDITIONED = ("time_control", "thaw")
STORES = {None: "Store", "dry": "Dry store", "cold": "Cold store", "frozen": "Freezer"}
REPORTED = {"doing": "BEGUN", "done": "DONE"}
NOTHING = "PT0S"
MOST_DISHES = 2
MOST_AT_RISK = 3
DATED = re.compile(rf"(?P<what>.*), (?P<day>(?:{'|'.join(WEEKDAYS)}) \d{{1,2}} (?:{'|'.join(MONTHS)}))", re.DOTALL)


def plain(code: str) -> str:
    """A code or name of a closed list as words.

    >>> plain("brazil_nut"), plain("soup-bowl"), plain("fish:cod")
    ('brazil nut', 'soup bowl', 'fish (cod)')
    """
    kind, _, species = code.replace("_", " ").replace("-", " ").partition(":")
    return f"{kind} ({species})" if species else kind


def listed(names: Sequence[str]) -> str:
    """Names as one text, in their order."""
    return ", ".join(plain(name) for name in names)


def lasts(duration: str | None) -> str:
    """A duration in words; nothing where it is none.

    >>> lasts("PT1H35M"), lasts("PT0S"), lasts(None)
    ('1 h 35 min', '', '')
    """
    return "" if duration in (None, NOTHING) else spoken(str(duration))


def safety(rule: StepSafety) -> str:
    """What a step must keep to: the kind, what recipe and code say of it with the section, and what is on record beside them.

    >>> safety({"kind": "cook", "class": "poultry", "display": "82 °C; the code asks at least 74 °C, Food Code 3-401.11", "asks": {},
    ...         "section": "3-401.11(A)(3)", "edition": "Food Code", "note": None, "laxer": False, "reason": None})
    'Cook through, poultry: 82 °C; the code asks at least 74 °C, Food Code 3-401.11.'
    """
    kind = SAFETY.get(rule["kind"], plain(rule["kind"]))
    head = f"{kind}, {plain(rule['class'])}" if rule["class"] else kind
    # What was printed before the code's figures stood apart does not name the section in its text.
    source = "" if "asks" in rule else f", {cited(rule['edition'], rule['section'])}"
    text = f"{head}: {rule['display']}{source}"
    reason = f"{'Laxer than the code, by the reason' if rule['laxer'] else 'Reason'} on record: {rule['reason']}" if rule["reason"] else ""
    condition = rule["note"] if rule["kind"] in CONDITIONED else None
    return " ".join(part.rstrip(".") + "." for part in (text, condition, reason) if part)


def risk(row: AtRisk) -> str:
    """What a late task puts at risk: so many portions of a menu item, and for when.

    >>> risk({"menu_item": "soup-bowl", "date": "2026-12-03", "period": "lunch", "event": None, "portions": 40})
    '40 portions of soup bowl, lunch, Thu 3 Dec'
    """
    count = row["portions"]
    portions = f"{count} {'portion' if count == 1 else 'portions'} of {plain(row['menu_item'])}"
    return ", ".join((portions, plain(row["event"] or row["period"]), day(date_of(row["date"]))))


def risks(rows: Sequence[AtRisk]) -> str:
    """What an entry puts at risk, in short: the first few portions, how many menu items more, and the last date of these."""
    rest = rows[MOST_AT_RISK:]
    more = [f"and {len(rest)} more until {day(date_of(rest[-1]['date']))}"] if rest else []
    return "; ".join([*map(risk, rows[:MOST_AT_RISK]), *more])


def last_start(entry: TaskEntry | PullEntry, clock: Clock) -> str:
    """Until when what is overdue can still begin and be ready; nothing where that is no later than planned (P7)."""
    last = entry.get("last_start") if entry.get("overdue") else None
    return f"Last start {clock.near(last)}" if last and last != entry["start_by"] else ""


def occasion(row: ExpectedRow) -> str:
    """What guests are expected for: an event, else a period, as a heading.

    >>> occasion({"period": "early-dinner", "event": None})
    'Early dinner'
    """
    return plain(row["event"] or row["period"]).capitalize()


def whole(count: float | Decimal) -> int:
    """A count of guests up to a whole one; a billionth above one is none.

    >>> whole(79.92), whole(80.0000000001)
    (80, 80)
    """
    return round_up(float(count))


def batches(task: TaskEntry) -> str:
    """In which batches something is made: how many of each size; nothing where it is one."""
    cards = task["batches"] if task["kind"] == "make" else []
    several = sum(card["count"] for card in cards) > 1
    return ", ".join(f"{card['count']} × {card['quantity']['display']}" for card in cards) if several else ""


def by_step(batch: BatchCard) -> bool:
    """Whether what is weighed for a batch goes in at different steps."""
    return len({line["step"] for line in batch["lines"]}) > 1


def balance(row: Balance | GivenRow | UseTask) -> str:
    """What a quantity is beside what is needed: nothing where all of the need is made and no more (P9)."""
    if "need" not in row:
        return ""
    have = f"have {row['have']['display']}" if row["have"]["amount"] > 0 else ""
    over = f"{row['surplus']['display']} will be over" if row["surplus"]["amount"] > 0 else ""
    all_made = not have and row["need"]["display"] == row["quantity"]["display"]
    return "" if all_made else ", ".join(part for part in (f"need {row['need']['display']}", have, over) if part)


def rest(task: MakeTask, index: int, clock: Clock) -> str:
    """How long a step is left alone, as clock times: its window, or until the next step or the end of the task."""
    step = task["steps"][index]
    window, span = step["window"], lasts(step["passive"])
    if window:
        least, target, most = map(clock.near, (window["min"], window["target"], window["max"]))
        return f"Leave {span or 'it'}: ready from {least}, best at {target}, no later than {most}"
    later = task["steps"][index + 1 :]
    ends = later[0]["starts"] if later else task["ready_by"]
    return f"Leave {span}, until {clock.near(ends)}" if span else ""


def dishes(texts: Sequence[str]) -> str:
    """What an entry is for, in short: the first few dishes and pars, each once, and the last date that it serves.

    >>> dishes(["Soup bowl, lunch", "Soup bowl, dinner, Fri 4 Dec", "Slaw, side, lunch, Sat 5 Dec", "par 2 kg by 09:00"])
    'Soup bowl; Slaw, side and 1 more (until Sat 5 Dec)'
    """
    matches = [DATED.fullmatch(text) for text in texts]
    undated = [dated["what"] if dated else text for text, dated in zip(texts, matches, strict=True)]
    names = list(dict.fromkeys(text.rpartition(", ")[0] or text for text in undated))
    more = f" and {len(names) - MOST_DISHES} more" if len(names) > MOST_DISHES else ""
    days = [f" (until {dated['day']})" for dated in matches if dated]
    return "; ".join(names[:MOST_DISHES]) + more + "".join(days[-1:])


def reserve(row: CapacityRow) -> str:
    """Whether all that a date asks for fits, and if so, how much earlier all of it could begin.

    >>> reserve({"fits": True, "reserve": "PT25M", "left_out": 0, "cooks": [], "equipment": []})
    'all fits, with 25 min to spare'
    >>> reserve({"fits": False, "reserve": "PT25M", "left_out": 2, "cooks": [], "equipment": []})
    '2 loads have no place'
    """
    if row["fits"]:
        return f"all fits, with {lasts(row['reserve']) or 'nothing'} to spare"
    return f"{row['left_out']} {'load has' if row['left_out'] == 1 else 'loads have'} no place"


def cooks(task: TaskEntry) -> str:
    """Who works on a task, in the order in which they begin."""
    steps = sorted((step for each in _loads(task) for step in each["steps"]), key=lambda step: datetime.fromisoformat(step["starts"]))
    found = [step["cook"] for step in steps if step["cook"]]
    return ", ".join(dict.fromkeys(f"{cook['shift']} {cook['number']}" for cook in found))


def loads(task: TaskEntry) -> list[LoadRow]:
    """The loads of a task that are told one by one: where there are several, or the only one is in a machine or has no place."""
    found = _loads(task)
    return found if len(found) > 1 or any(not each["fits"] or _stays(each) for each in found) else []


def load(row: LoadRow, clock: Clock) -> str:
    """When a load goes into a machine and comes out, and how long it is held; of several also start, end and quantity."""
    steps, stays = row["steps"], _stays(row)
    starts, ends = (steps[0]["starts"], steps[-1]["ends"]) if steps else (row["starts"], row["ready"])
    parts = [f"{clock.near(stay.starts)} in, {clock.near(stay.ends)} out, {stay.machine}" for stay in stays]
    if not stays:
        parts = [f"{clock.near(starts)} to {clock.near(ends)}"]
    elif row["of"] > 1:
        parts = [
            *([f"start {clock.near(starts)}"] if starts != stays[0].starts else []),
            *parts,
            *([f"ready {clock.near(ends)}"] if ends != stays[-1].ends else []),
        ]
    parts += [row["quantity"]["display"]] if row["of"] > 1 else []
    parts += [f"held {lasts(row['held'])}"] if lasts(row["held"]) else []
    text = ", ".join(parts)
    return text if row["fits"] else f"NO PLACE, see the front page: {text}"


class _Stay(NamedTuple):
    """How long a load is in a machine."""

    machine: str
    starts: str
    ends: str


def _loads(task: TaskEntry) -> list[LoadRow]:
    return [] if task["kind"] == "use" else task.get("loads", [])


def _stays(row: LoadRow) -> list[_Stay]:
    """The stays of a load: steps in a row in one machine are one (K7)."""
    stays: list[_Stay] = []
    for step in row["steps"]:
        if step["equipment"]:
            number = step["equipment"]["number"]
            machine = plain(step["equipment"]["equipment"]) + ("" if number is None else f" {number}")
            before = stays.pop() if stays and (stays[-1].machine, stays[-1].ends) == (machine, step["starts"]) else None
            stays.append(_Stay(machine, before.starts if before else step["starts"], step["ends"]))
    return stays


def progress(said: ProgressRow | None) -> str:
    """What the kitchen has reported about a task or pull; nothing while it is open."""
    if said is None or said["state"] not in REPORTED:
        return ""
    amounts = [f"{word} {amount['display']}" for word, amount in (("made", said["made"]), ("took", said["drawn"])) if amount]
    text = ", ".join([REPORTED[said["state"]], *amounts])
    return f"{text}: {said['note']}" if said["note"] else text


def taken(task: MakeTask) -> list[Portion]:
    """What a task takes in all that its batch cards do not say already: of one batch only what reads otherwise there."""
    if sum(card["count"] for card in task["batches"]) != 1:
        return task["draw"]
    shown = [_read(line) for line in task["batches"][0]["lines"]]
    return [draw for draw in task["draw"] if _read(draw) not in shown]


def _read(row: Portion) -> tuple[str, str]:
    return (row["item"]["title"], row["quantity"]["display"])
